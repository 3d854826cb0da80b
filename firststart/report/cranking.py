"""The starter's part: every crank, its rest, the computed winding temperature, and what it may do now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from firststart.errors import RangeError
from firststart.job import facts as f
from firststart.job.fold import seconds_of
from firststart.job.rules import NORMAL_AIR_K
from firststart.physics.winding import modes
from firststart.report.model import CrankLine, Sitting, StarterPart
from firststart.report.walk import Entry, Walk
from firststart.report.wording import celsius, label, one_line, seconds_text
from firststart.starter.crank import Crank, in_order
from firststart.starter.duty import DutyClass
from firststart.starter.heat import air_or_warm, amounts
from firststart.starter.permit import permit

APART_S = 2 * 3600.0  # cranks farther apart than this are shown as another sitting
_TAIL_S = 600.0  # cooling shown after the last crank of a sitting
_SHOWN = 6  # sittings with a temperature curve, the newest ones

_Counted = tuple[float, float]  # start and end as the starter's rules count them, seconds


@dataclass(frozen=True)
class _Turn:
    """One crank as the facts tell it."""

    entry: Entry
    crank: Crank
    title: str
    seen: bool
    limit_s: float | None


def starter_part(w: Walk) -> StarterPart:
    """Everything about the starter of this job's engine."""
    duty = w.rules.duty(w.situation)
    known = w.rules.profile(w.situation.profile).si("air-temperature")
    air = air_or_warm(known if known is not None else NORMAL_AIR_K)
    turns, others = tuple(_turns(w)), w.situation.other_cranks
    every = in_order([*others, *(t.crank for t in turns)], duty)
    electric = w.rules.starts_by_motor(w.situation)
    lines = tuple(_lines(turns, others, every, duty, air))
    lines = lines if electric else tuple(map(_by_hand, lines))
    now, wait = _now(w)
    told = celsius(air) if known is not None else f"{celsius(air)} (assumed)"
    return StarterPart(
        electric, label(duty.name), _rule(duty), one_line(duty.source), duty.mark, told,
        duty.limit_k, sum(t.seconds for t in lines), lines,
        _sittings(lines, every, duty, air) if electric else (), now, wait, len(others),
    )  # fmt: skip


def _by_hand(line: CrankLine) -> CrankLine:
    """What stays of a crank by cord, kick or handle: nothing rests and nothing heats."""
    return replace(line, limit_s=None, rested_s=None, asked_s=None, winding_k=None)


def _rule(duty: DutyClass) -> str:
    return (
        f"at most {duty.crank_s:g} s in one go, then {duty.rest_s:g} s of rest; {duty.tries} such cranks "
        f"in {seconds_text(duty.long_rest_s)}; winding up to {celsius(duty.limit_k)}"
    )


def _now(w: Walk) -> tuple[str, float]:
    """What the starter may do at the moment of the report: a sentence, and the seconds to wait."""
    if w.situation.open_crank is not None:
        return "A crank has begun that has no end in the record.", 0.0
    if not w.rules.starts_by_motor(w.situation):
        return "This engine is not started by a motor.", 0.0
    try:
        found = w.rules.permit(w.situation, w.now)
    except RangeError:
        return "The record holds a crank that ends after the moment of this report.", 0.0
    if found.wait_s:
        return found.reason, found.wait_s
    most = seconds_text(found.seconds)
    return f"Rested: by its class alone it may turn for {most} in one go. The hold points apply as well.", 0.0


def _turns(w: Walk) -> Iterator[_Turn]:
    """The cranks of this job in the order in which they were turned."""
    turns = []
    began: tuple[Entry, f.CrankBegan] | None = None
    for entry in w.entries:
        match entry.fact:
            case f.CrankBegan() as fact:
                began = (entry, fact)
            case f.CrankEnded() as fact if began is not None:
                start, first = began
                # As the fold has it: it ended now at the latest, so a longer one began earlier.
                first_s = min(seconds_of(start.effective), seconds_of(entry.effective) - fact.seconds)
                crank = Crank(first_s, fact.seconds, fact.sure)
                turns.append(_Turn(start, crank, w.title_of_run(first.run), True, first.limit_s))
                began = None
            case f.CrankTold() as fact:
                ago = seconds_of(entry.effective) - fact.ago_s - fact.seconds
                turns.append(_Turn(entry, Crank(ago, fact.seconds, False), "told afterwards", False, None))
    return iter(sorted(turns, key=lambda t: t.crank.start))


def _lines(
    turns: Sequence[_Turn], others: Sequence[Crank], every: Sequence[_Counted], duty: DutyClass, air: float
) -> tuple[CrankLine, ...]:
    """A line a crank. The counted stretches stand in the same order as the cranks sorted by their start."""
    owners = sorted([*((c.start, None) for c in others), *((t.crank.start, t) for t in turns)], key=lambda o: o[0])
    system = modes(duty.heat.masses)
    lines = []
    for n, (_, turn) in enumerate(owners):
        if turn is None:
            continue
        start, end = every[n]
        before = every[:n]
        winding = air + sum(amounts(every[: n + 1], end, duty, system))
        shift = timedelta(seconds=turn.crank.start - seconds_of(turn.entry.effective))
        lines.append(
            CrankLine(
                turn.entry.number, turn.entry.at + shift, start, turn.crank.seconds, turn.crank.sure or not turn.seen,
                turn.seen, turn.title, turn.limit_s, start - before[-1][1] if before else None,
                _asked(before, duty, air) if before else None, winding,
            )
        )  # fmt: skip
    return tuple(lines)


def _asked(before: Sequence[_Counted], duty: DutyClass, air: float) -> float:
    """The rest that the class asked for after `before`, for a crank of one second."""
    cranks = [Crank(s, e - s) for s, e in before]
    return permit(cranks, duty, before[-1][1], air).wait_s


def _sittings(
    lines: Sequence[CrankLine], every: Sequence[_Counted], duty: DutyClass, air: float
) -> tuple[Sitting, ...]:
    groups: list[list[CrankLine]] = []
    for line in lines:
        last = groups[-1][-1] if groups else None
        if last is None or line.start - (last.start + last.seconds) > APART_S:
            groups.append([])
        groups[-1].append(line)
    shown = len(groups) - _SHOWN
    return tuple(
        Sitting(g[0].began, tuple(g), _heat(g, every, duty, air) if n >= shown else ()) for n, g in enumerate(groups)
    )


def _heat(
    group: Sequence[CrankLine], every: Sequence[_Counted], duty: DutyClass, air: float
) -> tuple[tuple[float, float, float], ...]:
    """(seconds from the first crank, winding K, body K) through one sitting and its cooling."""
    first, last = group[0].start, group[-1].start + group[-1].seconds
    step = max((last + _TAIL_S - first) / 120, 1.0)
    times = {first + i * step for i in range(int((last + _TAIL_S - first) / step) + 1)}
    times |= {t for s, e in every for t in (s, e) if first <= t <= last}
    system = modes(duty.heat.masses)
    rows = []
    for time in sorted(times):
        through = [(s, min(e, time)) for s, e in every if s < time]
        winding, body = system.join(*amounts(through, time, duty, system))
        rows.append((time - first, air + winding, air + body))
    return tuple(rows)
