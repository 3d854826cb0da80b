"""Judges of a whole set of compression readings: one verdict for all cylinders, and the trend between two tests."""

from __future__ import annotations

from collections.abc import Mapping

from firststart.judge.amounts import pressure_unit
from firststart.judge.expected import FLOOR, Expected, altitude, expected
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.judge.rules import PREFIX, Applied, apply, chosen, rules
from firststart.judge.wording import doubt, listed, per_cent
from firststart.physics.atmosphere import pressure_share
from firststart.physics.compression import at_sea_level, check_gauge
from firststart.physics.uncertainty import FAIL, NEAR, PASS, decide, half_width
from firststart.units import Measured

PRESSURE, DRY = "pressure", "compression.dry"


def judge_set(_: Reading | None, context: Context) -> Verdict:
    """All dry readings against the manual's rule or the default one. Raises RangeError, UnknownName."""
    series = context.series(DRY)
    missing = _missing(series, context)
    if not series or missing:
        what = f"Cylinder {listed(missing)} is not read yet." if series else "No cylinder is read yet."
        return Verdict("unsure", what, unit=pressure_unit(context), kind=PRESSURE)
    for value in series.values():
        check_gauge(value.si)
    height, _assumed = altitude(context.profile)
    flat = {c: at_sea_level(v.si, height) for c, v in series.items()}
    half = half_width(context.limits["compression.resolution"].si()) / pressure_share(height)
    rule, manual = chosen(context)
    applied = apply(rule, flat, half)
    word = _word(applied, flat, half, expected(context), pressure_share(height), context)
    return _verdict(word, series, applied, manual, context, _conflicts(flat, half, context))


def _missing(series: Mapping[int, Measured], context: Context) -> list[int]:
    count = context.profile.cylinders
    return [] if count is None else [c for c in range(1, count + 1) if c not in series]


def _word(
    applied: Applied, flat: Mapping[int, float], half: float, found: Expected, share: float, context: Context
) -> str:
    if all(p < context.limits["compression.none"].si() - half for p in flat.values()):
        return "none"
    if applied.low and applied.clear:
        return _which(applied.low, flat)
    if applied.word == NEAR:
        return "unsure"
    if applied.under:
        return "low-even" if len(applied.under) == len(flat) else _which(applied.under, flat)
    return _level(flat, half, found, share)


def _which(low: tuple[int, ...], flat: Mapping[int, float]) -> str:
    if len(low) == 1 and len(flat) > 1:
        return "one-low"
    if len(low) == 2 and len(flat) > 2 and low[1] - low[0] == 1:
        return "adjacent-low"
    return "uneven"


def _level(flat: Mapping[int, float], half: float, found: Expected, share: float) -> str:
    """Even: but is the level right? Judged by the mean, which one wild reading moves least."""
    mean = sum(flat.values()) / len(flat)
    asked = (found.surely_low if found.basis == FLOOR else found.low) / share
    return {FAIL: "low-even", NEAR: "unsure", PASS: "even"}[decide(mean - asked, half).word]


def _conflicts(flat: Mapping[int, float], half: float, context: Context) -> tuple[str, ...]:
    every = {name: apply(rule, flat, half) for name, rule in rules(context).items()}
    lines = [f"{n}: {a.face} ({a.rule.limit.note}; {a.rule.limit.source})" for n, a in every.items()]
    passed = [n for n, a in every.items() if a.face == PASS]
    if passed and len(passed) < len(every):
        failed = [n for n in every if n not in passed]
        lines.insert(0, f"the published rules disagree: {listed(passed)} would pass, {listed(failed)} would fail")
    return tuple(lines)


def _verdict(
    word: str,
    series: Mapping[int, Measured],
    applied: Applied,
    manual: bool,
    context: Context,
    conflicts: tuple[str, ...],
) -> Verdict:
    limit, height = applied.rule.limit, altitude(context.profile)[0]
    by = f"judged by {applied.rule.name}, {'as the manual names' if manual else 'as the manual names no rule'}"
    low = max(applied.required, applied.rule.floor or 0.0) * pressure_share(height)
    values = {c: v.si for c, v in series.items()}
    lowest, highest = min(values, key=values.__getitem__), max(values, key=values.__getitem__)
    spread = f"lowest {series[lowest]}, highest {series[highest]}"
    if not values[lowest]:
        spread += f", nothing at all on cylinder {listed(c for c, v in values.items() if not v)}"
    elif values[highest] > 0:
        spread += f", lowest is {per_cent(values[lowest] / values[highest])} of highest"
    near = (doubt(applied.nearest, pressure_unit(context), PRESSURE),) if applied.word == NEAR else ()
    details = (by, spread, *near, *_notes(word), *conflicts)
    return Verdict(
        word, _say(word, applied, series, context), low, None, pressure_unit(context), PRESSURE,
        f"{PREFIX}.{applied.rule.name}", limit.source, limit.mark, details,
    )  # fmt: skip


def _say(word: str, applied: Applied, series: Mapping[int, Measured], context: Context) -> str:
    low = listed(applied.low or applied.under)
    wanted = expected(context).text(pressure_unit(context))
    single = len(series) == 1
    return {
        "even": "The reading is right." if single else "All cylinders are even and high enough.",
        "low-even": f"{'The reading is low' if single else 'Even but low'}. Expected {wanted}.",
        "one-low": f"Cylinder {low} is low. The others are even.",
        "adjacent-low": f"Cylinders {low} are low. They are neighbours.",
        "none": "There is no compression to speak of.",
        "uneven": f"Uneven. Low: cylinder {low}.",
        "unsure": "Too near the limit to say. Read them again.",
    }[word]


def _notes(word: str) -> tuple[str, ...]:
    notes = {
        "low-even": "even readings mean that rings and seats seal alike and valve timing is right or off as one; "
        "a slow crank, a shut throttle, dry bores, a decompressor or late valve timing lower all of them",
        "adjacent-low": "two low neighbours point to the head gasket between them (TM 5-4210-230-14&P-1, Addendum 2); "
        "neighbours are taken by number, which on a V engine need not be side by side",
        "none": "valve timing, a held-open valve, a hole, or a gauge that does not seal",
    }
    return (notes[word],) if word in notes else ()


def judge_recheck(_: Reading | None, context: Context) -> Verdict:
    """This test against the earlier one, cylinder by cylinder. Raises RangeError."""
    limit = context.limits["compression.trend"]
    now = context.series(DRY)
    before = {c: context.earlier[(DRY, c)] for c in now if (DRY, c) in context.earlier}
    if not before:
        return Verdict("unsure", "There is no earlier test to compare.", source=limit.source, mark=limit.mark)
    step = context.limits["compression.resolution"].si()
    words = {c: _trend(now[c].si - before[c].si, before[c].si, step, float(limit.value)) for c in before}
    found = set(words.values()) - {"same"}
    word = "same" if not found else next(iter(found)) if len(found) == 1 else "unsure"
    say = {
        "better": f"Better on cylinder {listed(c for c, w in words.items() if w == 'better')}.",
        "same": "No change since the last test.",
        "worse": f"Worse on cylinder {listed(c for c, w in words.items() if w == 'worse')}.",
        "unsure": "Some cylinders are better and some are worse.",
    }[word]
    details = tuple(f"cylinder {c}: {before[c]} before, {now[c]} now, {w}" for c, w in words.items())
    return Verdict(
        word, say, unit=pressure_unit(context), kind=PRESSURE, limit="compression.trend", source=limit.source,
        mark=limit.mark, details=details,
    )  # fmt: skip


def _trend(change: float, before: float, step: float, share: float) -> str:
    """Two readings each known to half a step: smaller changes than a whole step, or than the share, are no change."""
    least = max(step, share * abs(before))
    return "better" if change > least else "worse" if change < -least else "same"


JUDGES: tuple[Judge, ...] = (
    Judge(
        "compression-set", "",
        ("even", "low-even", "one-low", "adjacent-low", "none", "uneven", "unsure"), judge_set,
    ),
    Judge("compression-recheck", "", ("better", "same", "worse", "unsure"), judge_recheck),
)
