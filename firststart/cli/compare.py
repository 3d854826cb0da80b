"""`firststart compare`: what changed between two jobs or two tests on one engine, beyond the instruments or not."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from firststart.bench.desk import resume_job
from firststart.cli.common import job_meant, job_shelf, load_rules, open_record, wall_clock
from firststart.cli.reports import report_of
from firststart.errors import InputError
from firststart.job.rules import Rules
from firststart.journal.sqlite import SqliteJournal
from firststart.report.compare import Comparison, compare_jobs, compare_runs
from firststart.report.comparetext import comparison_text
from firststart.report.model import Report
from firststart.report.wording import plural, stamp


def run_compare(arguments: argparse.Namespace) -> int:
    """Print the comparison, or the tests that can be compared."""
    if arguments.format == "schema":
        from firststart.report.comparejson import comparison_schema

        print(comparison_schema(), end="")
        return 0
    journal = open_record(arguments, write=False)
    try:
        shop = _Shop(arguments, load_rules(arguments), journal)
        if arguments.list:
            _list(shop.report(_one(shop, arguments.jobs)))
            return 0
        found = _compared(shop, arguments)
    finally:
        journal.close()
    if arguments.format == "json":
        from firststart.report.comparejson import comparison_json

        print(comparison_json(found), end="")
    else:
        print(comparison_text(found), end="")
    return 0


class _Shop:
    """Reports of the record's jobs."""

    def __init__(self, arguments: argparse.Namespace, rules: Rules, journal: SqliteJournal) -> None:
        self._arguments, self._rules, self.journal = arguments, rules, journal

    def report(self, job: str) -> Report:
        desk = resume_job(self._rules, self.journal, wall_clock(), job, job_shelf(self._arguments))
        facts = self.journal.read(job)
        return report_of(self._rules, facts, desk.situation, desk.clock.now().astimezone())

    def before(self, job: str) -> str | None:
        """The newest job on the same engine that was opened before this one."""
        lines = self.journal.jobs()
        this = next(line for line in lines if line.job == job)
        earlier = [x for x in lines if x.engine == this.engine and x.job != job and x.opened <= this.opened]
        return max(earlier, key=lambda x: x.opened).job if earlier else None


def _one(shop: _Shop, names: Sequence[str]) -> str:
    if len(names) > 1:
        raise InputError("Name one job, or none for the newest.")
    return job_meant(shop.journal, names[0] if names else None)


def _compared(shop: _Shop, arguments: argparse.Namespace) -> Comparison:
    names: Sequence[str] = arguments.jobs
    if len(names) > 2 or (len(names) == 2 and names[0] == names[1]):
        raise InputError("Name two different jobs, the earlier first; or one; or none for the newest.")
    if arguments.tests is not None:
        return compare_runs(shop.report(_one(shop, names)), *arguments.tests)
    if len(names) == 2:
        before, after = (job_meant(shop.journal, name) for name in names)
        return compare_jobs(shop.report(before), shop.report(after))
    after = _one(shop, names)
    earlier = shop.before(after)
    if earlier is not None:
        return compare_jobs(shop.report(earlier), shop.report(after))
    return _newest_tests(shop.report(after))


def _newest_tests(report: Report) -> Comparison:
    """The newest test that was made twice. Raises InputError when none was."""
    tests = _tests(report)
    for run, title in reversed(tests):
        same = [r for r, t in tests if t == title and r < run]
        if same:
            return compare_runs(report, same[-1], run)
    raise InputError(
        f"There is one job on {report.engine}, and no test in it was made twice: nothing can be compared yet."
    )


def _tests(report: Report) -> list[tuple[int, str]]:
    """Runs in which something was measured, with their titles."""
    measured = {x.run for x in report.readings}
    return [(span.run, span.title) for span in report.spans if span.run in measured]


def _list(report: Report) -> None:
    began = {span.run: span.began for span in report.spans}
    for run, title in _tests(report):
        count = plural(sum(1 for x in report.readings if x.run == run), "reading")
        print(f"{run}: {title}, {stamp(began[run])}, {count}")
    if not _tests(report):
        print(f"Nothing was measured in {report.job} yet.")
