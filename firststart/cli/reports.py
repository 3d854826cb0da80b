"""A job's report in the form asked for, the diagnosis put in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk
from firststart.bench.evidence import does_not_start
from firststart.bench.shop import book_of
from firststart.job.facts import Fact
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.report.build import build_report
from firststart.report.fromadvice import part_of
from firststart.report.model import Report
from firststart.report.rounds import rounds_of
from firststart.report.text import to_text


def render(rules: Rules, facts: Sequence[Fact], desk: Desk, form: str) -> str:
    """The report as html, text, json or csv."""
    report = report_of(rules, facts, desk.situation, desk.clock.now().astimezone())
    if form == "text":
        return to_text(report)
    if form == "html":
        from firststart.report.html import to_html

        return to_html(report)
    if form == "csv":
        from firststart.report.csvform import to_csv

        return to_csv(report)
    from firststart.report.jsonform import to_json

    return to_json(report, facts)


def text_report(rules: Rules, facts: Sequence[Fact], situation: Situation, now: datetime) -> str:
    """The report as text at a given moment."""
    return to_text(report_of(rules, facts, situation, now))


def report_of(rules: Rules, facts: Sequence[Fact], situation: Situation, now: datetime) -> Report:
    """The report as a value, with what the diagnosis says when the engine was tried and did not start."""
    book, part = book_of(rules.library), None
    if book is not None and (does_not_start(situation) or situation.repairs):
        adviser = Adviser(rules, book)
        advice = adviser.advice(situation)
        part = None if advice is None else part_of(advice, rounds_of(book, *adviser.case(situation, book)))
    return build_report(facts, rules, now, part, situation.other_cranks)
