"""A report and its facts as the published document (`wire.Document`)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from firststart.job import facts as f
from firststart.report import model as m
from firststart.report import wire
from firststart.report.ucum import bound, quantity, step
from firststart.report.wording import one_line


def document(report: m.Report, facts: Sequence[f.Fact]) -> wire.Document:
    """The document of one job."""
    record: tuple[Any, ...] = tuple(facts)
    return wire.Document(
        made=report.made, tool=report.tool, job=report.job, engine=report.engine, place=report.place,
        opened=report.opened, newest=report.newest, closed=report.closed,
        profile=tuple(_profile(p) for p in report.profile),
        work=tuple(
            wire.Work(
                procedure=w.procedure, title=w.title, stage=w.stage, stand=w.stand, say=w.say, at=w.at, times=w.times
            )
            for w in report.work
        ),
        findings=tuple(
            wire.Finding(number=x.number, at=x.at, run=x.run, procedure=x.procedure, outcome=x.outcome, say=x.say)
            for x in report.findings
        ),
        holds=tuple(_hold(h) for h in report.holds),
        measurements=tuple(_measurement(r) for r in report.readings),
        verdicts=tuple(_verdict(v) for v in report.verdicts),
        starter=_starter(report.starter),
        repairs=tuple(
            wire.Repair(number=x.number, at=x.at, suspect=x.suspect, name=x.name, success=x.success)
            for x in report.repairs
        ),
        refusals=tuple(_refusal(x) for x in report.refusals),
        notes=tuple(_note(x) for x in report.notes),
        left=tuple(wire.Todo(procedure=t.procedure, title=t.title, minutes=t.minutes, why=t.why) for t in report.left),
        diagnosis=None if report.diagnosis is None else _diagnosis(report.diagnosis),
        cautions=report.cautions, does_not_say=report.silent, facts=record,
    )  # fmt: skip


def _profile(p: m.ProfileLine) -> wire.ProfileItem:
    word = p.value if p.number is None and p.known != "unknown" else None
    number = None if p.number is None else quantity(p.number)
    return wire.ProfileItem(field=p.field, known=p.known, word=word, quantity=number, source=p.source)


def _judgement(j: m.Judged, kind: str = "") -> wire.Judgement:
    return wire.Judgement(
        judge=j.judge, word=j.word, say=j.say, low=bound(j.low, j.unit, kind), high=bound(j.high, j.unit, kind),
        limit=j.limit, source=j.source, mark=j.mark, details=j.details,
    )  # fmt: skip


def _measurement(r: m.Reading) -> wire.Measurement:
    return wire.Measurement(
        number=r.number, at=r.at, run=r.run, procedure=r.procedure, name=r.name, cylinder=r.cylinder,
        quantity=quantity(r.value), instrument=r.instrument,
        resolution=None if r.resolution is None else step(r.resolution),
        judgement=None if r.judged is None else _judgement(r.judged, r.value.kind),
        counts=r.counts, why=r.why, corrects=r.corrects,
    )  # fmt: skip


def _verdict(v: m.SetVerdict) -> wire.SetVerdict:
    return wire.SetVerdict(number=v.number, at=v.at, run=v.run, judgement=_judgement(v.judged), stale=v.stale)


def _hold(h: m.HoldLine) -> wire.Hold:
    return wire.Hold(
        name=h.name, say=h.say, fresh=h.fresh, because=h.because, met=h.met, since=h.since, expires=h.expires,
        place=h.place,
    )  # fmt: skip


def _starter(s: m.StarterPart) -> wire.Starter:
    cranks = tuple(
        wire.Crank(
            number=c.number, began=c.began, seconds=c.seconds, sure=c.sure, seen=c.seen, permitted_s=c.limit_s,
            rested_s=c.rested_s, asked_s=c.asked_s, winding_k=c.winding_k,
        )
        for c in s.cranks
    )  # fmt: skip
    return wire.Starter(
        duty=s.duty, rule=s.rule, source=s.source, mark=s.mark, limit_k=s.limit_k, total_s=s.total_s, wait_s=s.wait_s,
        now=s.now, cranks=cranks,
    )  # fmt: skip


def _refusal(x: m.Refusal) -> wire.Refusal:
    return wire.Refusal(
        number=x.number, at=x.at, title=x.title, lacking=x.lacking, reason=x.reason, wait_s=x.wait_s
    )


def _note(x: m.NoteLine) -> wire.Note:
    kept = x.attachment
    return wire.Note(
        number=x.number, at=x.at, text=x.text,
        attachment=None if kept is None else wire.Attachment(
            sort=kept.sort, file=wire.place_of(kept), sha256=kept.digest, size=kept.size, media_type=kept.media,
            name=one_line(kept.name), width=kept.width, height=kept.height, seconds=kept.seconds, taken=kept.taken,
            removed=kept.removed,
        ),
    )  # fmt: skip


def _diagnosis(d: m.DiagnosisPart) -> wire.Diagnosis:
    return wire.Diagnosis(
        found=_suspects(d.found), left=_suspects(d.left), ruled_out=_suspects(d.ruled_out), mended=_suspects(d.mended),
        outside=d.outside, next_check=d.next_check.name if d.next_check else "",
        why=d.next_check.why if d.next_check else d.reason,
    )  # fmt: skip


def _suspects(group: Sequence[m.Suspect]) -> tuple[wire.Suspect, ...]:
    return tuple(
        wire.Suspect(id=s.id, name=s.name, chance=s.chance, word=s.word, reason=s.reason) for s in group
    )
