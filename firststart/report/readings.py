"""Measured values as recorded: unit, instrument, limit, source, verdict, and whether each still counts."""

from __future__ import annotations

from collections.abc import Sequence

from firststart.job import facts as f
from firststart.report.model import Counts, Judged, Reading, SetVerdict
from firststart.report.walk import Entry, Walk
from firststart.report.wording import band, capital, label, one_line
from firststart.units import Measured, find_unit, measured

Key = tuple[str, int | None]


def readings(w: Walk) -> tuple[Reading, ...]:
    """Every reading in order; nothing that was corrected or grew old is left out."""
    taken = list(w.each(f.ValueMeasured))
    fates = _fates(w, taken)
    return tuple(_reading(w, entry, fact, *fates[entry.number]) for entry, fact in taken)


def verdicts(w: Walk) -> tuple[SetVerdict, ...]:
    """Every verdict on readings taken together, in order."""
    stale = {o.number: o.stale for o in w.situation.observed}
    return tuple(
        SetVerdict(
            e.number, e.at, fact.run, w.title_of_run(fact.run), judged(fact.judged), one_line(stale.get(e.number, ""))
        )
        for e, fact in w.each(f.SetJudged)
    )


def judged(j: f.Judgement, kind: str = "") -> Judged:
    """A judgement in words, its limits in the unit it was judged in."""
    return Judged(
        one_line(j.judge), label(j.word), one_line(j.say), band(j.low, j.high, j.unit, kind), one_line(j.limit),
        one_line(j.source), one_line(j.mark), tuple(one_line(d) for d in j.details), j.low, j.high, one_line(j.unit),
    )  # fmt: skip


def _fates(w: Walk, taken: list[tuple[Entry, f.ValueMeasured]]) -> dict[int, tuple[Counts, str]]:
    """Whether each reading still counts, by its number; why not in words that name the one that does."""
    stale = {o.number: o.stale for o in w.situation.observed if o.stale}
    corrected = {fact.corrects: e.number for e, fact in taken if fact.corrects is not None}
    newest: dict[Key, tuple[int, int]] = {}
    fates: dict[int, tuple[Counts, str]] = {}
    for entry, fact in reversed(taken):
        key, number = (fact.name, fact.cylinder), entry.number
        later = newest.get(key)
        if number in corrected:
            fates[number] = ("corrected", f"corrected by entry {corrected[number]}")
        elif later is not None and later[1] == fact.run:
            fates[number] = ("corrected", f"read again as entry {later[0]}")
        elif later is not None:
            fates[number] = ("earlier", f"entry {later[0]} is newer")
        elif number in stale:
            fates[number] = ("stale", one_line(stale[number]))
        else:
            fates[number] = ("counts", "")
        newest[key] = (number, fact.run)
    return fates


def _reading(w: Walk, entry: Entry, fact: f.ValueMeasured, counts: Counts, why: str) -> Reading:
    started = w.runs.get(fact.run)
    return Reading(
        entry.number, entry.at, fact.run, started.procedure if started else "", w.title_of_run(fact.run), fact.name,
        capital(label(fact.name)), fact.cylinder, fact.value, one_line(fact.instrument),
        None if fact.resolution is None else difference(fact.resolution, fact.value),
        None if fact.judged is None else judged(fact.judged, fact.value.kind), counts, why,
        fact.corrects, one_line(fact.said), fact.channel,
    )  # fmt: skip


def same_rules(readings: Sequence[Reading]) -> dict[int, int]:
    """For each reading judged by the same limit, source and reasons as an earlier one: the number of the first."""
    first: dict[tuple[object, ...], int] = {}
    same: dict[int, int] = {}
    for r in readings:
        j = r.judged
        if j is None or not (j.source or j.details):
            continue
        number = first.setdefault((j.judge, j.limit_text, j.source, j.mark, j.details), r.number)
        if number != r.number:
            same[r.number] = number
    return same


def difference(si: float, value: Measured) -> Measured:
    """A difference given in SI, in the unit of a reading: one of temperatures has no zero point."""
    unit = find_unit(value.unit, value.kind).symbol
    zero, one = measured(0, unit, value.kind).si, measured(1, unit, value.kind).si
    return Measured(round(si / (one - zero), 9), unit, value.kind, si)
