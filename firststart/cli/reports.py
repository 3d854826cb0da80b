"""A job's report in the form asked for, the diagnosis put in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk
from firststart.bench.shop import book_of
from firststart.bench.trying import does_not_start
from firststart.errors import RecordReadOnly
from firststart.job.facts import Fact
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.place import write_private
from firststart.journal.port import Journal
from firststart.report.build import build_report
from firststart.report.fromadvice import part_of
from firststart.report.model import Report
from firststart.report.rounds import rounds_of
from firststart.report.shown import Get
from firststart.report.text import to_text


def render(rules: Rules, journal: Journal, desk: Desk, form: str, get: Get | None = None) -> str:
    """The report as html, text, json or csv; `schema` is the schema of the json. `get` gives photos and sounds."""
    if form == "schema":
        from firststart.report.wire import schema_text

        return schema_text()
    facts = journal.read(desk.job)
    report = report_of(rules, facts, desk.situation, desk.clock.now().astimezone())
    earlier = earlier_of(rules, journal, desk, report.made) if form in ("text", "html") else ()
    return written(report, facts, form, earlier, get)


def written(
    report: Report, facts: Sequence[Fact], form: str, earlier: Sequence[Report] = (), get: Get | None = None
) -> str:
    """A report as html, text, json or csv."""
    if form == "text":
        return to_text(report, earlier)
    if form == "html":
        from firststart.report.html import to_html

        return to_html(report, earlier, get)
    if form == "csv":
        from firststart.report.csvform import to_csv

        return to_csv(report)
    from firststart.report.jsonform import to_json

    return to_json(report, facts)


def page_and_export(rules: Rules, journal: Journal, desk: Desk, get: Get) -> tuple[str, str]:
    """The page and the export of a job at one moment."""
    facts = journal.read(desk.job)
    report = report_of(rules, facts, desk.situation, desk.clock.now().astimezone())
    earlier = earlier_of(rules, journal, desk, report.made)
    return written(report, facts, "html", earlier, get), written(report, facts, "json")


def earlier_of(rules: Rules, journal: Journal, desk: Desk, now: datetime) -> tuple[Report, ...]:
    """The reports of jobs on the same engine that were opened before this one, the oldest first."""
    lines = {line.job: line for line in journal.jobs() if line.engine == desk.situation.engine}
    if desk.job not in lines:
        return ()
    before = [line for line in lines.values() if line.job != desk.job and line.opened <= lines[desk.job].opened]
    return tuple(build_report(journal.read(x.job), rules, now) for x in sorted(before, key=lambda x: x.opened))


def write_out(path: Path, text: str, *, folder: bool = False) -> None:
    """A report in its file, the user's alone; with `folder` the folder is made. Raises RecordReadOnly."""
    try:
        if folder:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_private(path, text)
    except OSError as error:
        raise RecordReadOnly(f"The report {path} cannot be written ({error.strerror}); name another place.") from error


def file_name(job: str) -> str:
    """A job's name as that of a file."""
    return "".join(c if c.isalnum() or c in "-_" else "-" for c in job)[:80] or "job"


def report_of(rules: Rules, facts: Sequence[Fact], situation: Situation, now: datetime) -> Report:
    """The report as a value, with what the diagnosis says when the engine was tried and did not start."""
    book, part = book_of(rules.library), None
    if book is not None and (does_not_start(situation) or situation.repairs):
        adviser = Adviser(rules, book)
        advice = adviser.advice(situation)
        part = None if advice is None else part_of(advice, rounds_of(book, *adviser.case(situation, book)))
    return build_report(facts, rules, now, part, situation.other_cranks)
