"""Judges of the leak-down test, by percentage or by the cylinder's gauge."""

from __future__ import annotations

import math

from firststart.errors import InputError
from firststart.judge.model import Context, Judge, Limit, Reading, Verdict
from firststart.judge.wording import amount, doubt, listed, per_cent
from firststart.physics.crankgeometry import crank_torque
from firststart.physics.guard import within
from firststart.physics.leakdown import leak_area_ratio, loss, restrictor_for, through_another
from firststart.physics.uncertainty import NEAR, PASS, Decision, decide, half_width
from firststart.units import from_si

WORDS = ("good", "fair", "worn", "failed", "unsure")
SUPPLY, RESTRICTOR = "leak-down.supply", "leak-down.restrictor"
_SAY = {
    "good": "seals well.",
    "fair": "is fair.",
    "worn": "is worn, but may run.",
    "failed": "leaks too much.",
}


def graded(share: float, half: float, context: Context) -> tuple[str, Limit, str, Decision]:
    """(word, the limit that decided, its name, the decision) for a loss `share` known to +-`half`. Raises RangeError.

    Too near to the limit of good or fair takes the worse grade, since work goes on after either; only beside the last
    limit, where the work ahead differs, is it too near to say.
    """
    for name in ("good", "fair"):
        limit = context.limits[f"leakdown.grade.{name}"]
        found = decide(limit.si() - share, half)
        if found.word == PASS:
            return name, limit, name, found
    last = context.limits["leakdown.grade.worn"]
    found = decide(last.si() - share, half)
    return {PASS: "worn", NEAR: "unsure"}.get(found.word, "failed"), last, "worn", found


def judge_percent(reading: Reading | None, context: Context) -> Verdict:
    """A loss read in per cent. Raises InputError, RangeError."""
    if reading is None or reading.value.kind != "percent":
        raise InputError("leak-down judges one percentage; give the loss with its unit, as in 12 %.")
    share = within(reading.value.si * 100, "leak-down", 0, 100, "%", "a share of the supply") / 100
    step = context.limits["leakdown.resolution"].si() if reading.resolution is None else reading.resolution
    return _verdict(share, half_width(step), str(reading.value), context)


def judge_pressure(reading: Reading | None, context: Context) -> Verdict:
    """The cylinder's gauge against the supply read before it. Raises InputError, RangeError."""
    if reading is None or reading.value.kind != "pressure":
        raise InputError("leak-down-pressure judges one pressure; give the cylinder's gauge and unit, as in 70 psi.")
    known = context.readings.get((SUPPLY, reading.cylinder)) or context.readings.get((SUPPLY, None))
    supply = context.limits["leakdown.supply"].si() if known is None else known.si
    share = loss(reading.value.si, supply)
    default = context.limits["leakdown.resolution"].si() * supply
    half = half_width(default if reading.resolution is None else reading.resolution) / supply
    unit = reading.value.unit
    note = () if known is not None else (f"the supply was not read; {amount(supply, unit, 'pressure')} assumed",)
    return _verdict(share, half, f"{reading.value}, {per_cent(share)} lost,", context, note)


def _verdict(share: float, half: float, shown: str, context: Context, notes: tuple[str, ...] = ()) -> Verdict:
    word, limit, name, found = graded(share, half, context)
    near = (doubt(found, "%", "percent"),) if word == "unsure" else ()
    say = f"{shown} {_SAY[word]}" if word in _SAY else f"{shown} is too near {limit.value} % to say."
    details = (*near, *notes, *_restrictor(share, context), *_rules(share, context), *_torque(context))
    return Verdict(
        word, say, None, limit.si(), "%", "percent", f"leakdown.grade.{name}", limit.source, limit.mark, details
    )


def _rules(share: float, context: Context) -> tuple[str, ...]:
    every = context.limits.under("leakdown.rule")
    passed = [n for n, v in every.items() if share <= v.si() * (1 + 1e-9)]
    failed = [n for n in every if n not in passed]
    lines = tuple(f"{n}: {'pass' if n in passed else 'fail'} ({v.source})" for n, v in every.items())
    if passed and failed:
        return (f"published limits disagree: {listed(passed)} would pass, {listed(failed)} would fail", *lines)
    return lines


def _restrictor(share: float, context: Context) -> tuple[str, ...]:
    """What the tester's own orifice has to do with the figure."""
    own = context.readings.get((RESTRICTOR, None))
    bore = context.profile.si("bore")
    lines = []
    if own is None:
        lines.append("the tester's restrictor is unknown, so this percentage compares only with the same tester's")
    if bore is not None:
        wide = amount(restrictor_for(bore), "in", "length")
        lines.append(f"AC 43.13-1B names {wide} for this bore; makers override it with 0.04 in for all")
    if own is None or not 0 < share < 0.999:
        return tuple(lines)
    supply = context.readings.get((SUPPLY, None))
    gauge_in = context.limits["leakdown.supply"].si() if supply is None else supply.si
    gauge = gauge_in * (1 - share)
    hole = own.si * math.sqrt(leak_area_ratio(gauge, gauge_in))
    lines.append(f"restrictor {own}; the leak is like a hole of {amount(hole, 'mm', 'length', 2)}")
    for name, limit in context.limits.under("leakdown.restrictor").items():
        if abs(limit.si() - own.si) > 1e-5:
            there = loss(through_another(gauge, gauge_in, own.si, limit.si()), gauge_in)
            lines.append(f"through {limit.value} {limit.unit} ({name}) it would show {per_cent(there)}")
    return tuple(lines)


def _torque(context: Context) -> tuple[str, ...]:
    """CAUTION with a number: what the supply does to a crank that is not quite at dead centre."""
    bore, stroke, rod = (context.profile.si(f) for f in ("bore", "stroke", "rod"))
    if bore is None or stroke is None or rod is None:
        return ()
    supply = context.readings.get((SUPPLY, None))
    gauge = context.limits["leakdown.supply"].si() if supply is None else supply.si
    angle = context.limits["leakdown.torque-caution"].si()
    torque = amount(crank_torque(gauge, angle, bore, stroke, rod), "Nm", "torque")
    degrees = f"{from_si(angle, 'deg', 'angle').value:g}"
    return (f"CAUTION: {degrees} degrees off dead centre this pressure turns the crank with {torque}",)


JUDGES: tuple[Judge, ...] = (
    Judge("leak-down", "percent", WORDS, judge_percent),
    Judge("leak-down-pressure", "pressure", WORDS, judge_pressure),
)
