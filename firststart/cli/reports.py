"""A job's report in the form asked for, the diagnosis put in."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk
from firststart.bench.evidence import does_not_start
from firststart.bench.shop import book_of
from firststart.diagnosis.advice import Advice, Standing
from firststart.job.facts import Fact
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.report.build import build_report
from firststart.report.model import DiagnosisPart, NextCheck, Report, Suspect
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
    part = None
    if does_not_start(situation) or situation.repairs:
        advice = Adviser(rules, book_of(rules.library)).advice(situation)
        part = None if advice is None else diagnosis_part(advice)
    return build_report(facts, rules, now, part, situation.other_cranks)


def diagnosis_part(advice: Advice) -> DiagnosisPart:
    """The advice as the report takes it."""
    step = advice.next
    return DiagnosisPart(
        ruled_out=_suspects(advice.ruled_out),
        left=_suspects(advice.left),
        found=_suspects(advice.found),
        mended=_suspects(advice.of("mended")),
        next_check=NextCheck(step.name, step.do, advice.spoken, step.minutes, advice.why_not),
        reason=advice.spoken,
        outside=advice.outside,
        names={s.suspect: s.name for s in advice.standing},
    )


def _suspects(standing: Sequence[Standing]) -> tuple[Suspect, ...]:
    return tuple(Suspect(s.suspect, s.name, s.chance, s.word, s.reason or "", s.at) for s in standing)
