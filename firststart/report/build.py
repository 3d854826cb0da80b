"""build_report(facts, rules, now) -> Report: one job's facts turned into everything a report can say. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import datetime
from typing import Any

from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job.rules import Rules
from firststart.report.caveats import cautions, silent
from firststart.report.cranking import starter_part
from firststart.report.enginelines import profile_lines
from firststart.report.model import DiagnosisPart, NoteLine, Report
from firststart.report.readings import readings, verdicts
from firststart.report.timeline import spans, timeline
from firststart.report.walk import Walk, walk
from firststart.report.wording import clean, one_line
from firststart.report.worklines import answers, findings, hold_lines, refusals, repairs, todos, work_lines
from firststart.starter.permit import Crank


def build_report(
    facts: Sequence[f.Fact],
    rules: Rules,
    now: datetime,
    diagnosis: DiagnosisPart | None = None,
    other_cranks: Sequence[Crank] = (),
) -> Report:
    """The report of one job at the time of day `now` (aware; its zone is the zone of every time shown).

    `diagnosis` is what the diagnosis says of the job, None when there is nothing to diagnose;
    `other_cranks` are those of other jobs on the same starter (a Desk's `situation.other_cranks`).
    Raises InputError when there are no facts, the first is not the opening of a job, or `now` has no zone.
    """
    if now.tzinfo is None:
        raise InputError("The moment of a report needs a time zone; give one with it.")
    if not facts or not isinstance(facts[0], f.JobOpened):
        raise InputError("A report needs the facts of one job from its opening on.")
    w = walk(facts, rules, now, tuple(other_cranks))
    return _report(w, facts[0], diagnosis)


def _report(w: Walk, first: f.JobOpened, diagnosis: DiagnosisPart | None) -> Report:
    names = dict(diagnosis.names) if diagnosis is not None else {}
    profile, work, holds, taken = profile_lines(w), work_lines(w), hold_lines(w), readings(w)
    starter, left = starter_part(w), todos(w)
    return Report(
        job=one_line(first.job), engine=one_line(first.engine), tool=one_line(first.tool),
        place=one_line(w.situation.place), places=_places(w), opened=w.entries[0].at, newest=w.entries[-1].at,
        made=w.made, facts=len(w.entries), closed=w.situation.closed, stopped=w.situation.stopped,
        doubts=_doubts(w), under_way=tuple(w.title(r.procedure) for r in w.situation.runs), profile=profile, work=work,
        findings=findings(w), holds=holds, readings=taken, verdicts=verdicts(w), answers=answers(w), starter=starter,
        repairs=repairs(w, names), refusals=refusals(w), notes=_notes(w), timeline=timeline(w, names), spans=spans(w),
        left=left, minutes_left=sum(t.minutes for t in left), diagnosis=_cleaned(diagnosis),
        cautions=cautions(first.tool), silent=silent(profile, work, holds, taken, starter, diagnosis),
    )  # fmt: skip


def _cleaned(value: Any) -> Any:
    """A value of the diagnosis with every text in it on one line and harmless."""
    if isinstance(value, str):
        return one_line(value)
    if isinstance(value, tuple):
        return tuple(_cleaned(v) for v in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{x.name: _cleaned(getattr(value, x.name)) for x in fields(value)})
    return value


def _doubts(w: Walk) -> tuple[str, ...]:
    """What the person has not confirmed since work was taken up again."""
    date = "the date is in question; rests and ages are counted to the careful side"
    place = "the place is in question; what holds in one place only is asked again"
    return tuple(
        text for text, doubted in ((date, w.situation.withheld_s > 0), (place, w.situation.place_doubted)) if doubted
    )


def _places(w: Walk) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one_line(fact.place) for _, fact in w.each(f.PlaceNamed)))


def _notes(w: Walk) -> tuple[NoteLine, ...]:
    found: list[NoteLine] = []
    for entry in w.entries:
        match entry.fact:
            case f.NoteAdded() as fact:
                found.append(NoteLine(entry.number, entry.at, clean(fact.text)))
            case f.AttachmentKept() as fact:
                found.append(NoteLine(entry.number, entry.at, clean(fact.text), fact.attachment))
    return tuple(found)
