"""Judges of ignition timing: by the piston's place when the points open, and true top dead centre by a stop."""

from __future__ import annotations

from firststart.judge.bands import ABOVE, BELOW, INSIDE, half_step, needed, pair, place
from firststart.judge.model import Context, Judge, Limit, Reading, Verdict
from firststart.judge.wording import amount, span
from firststart.physics.crankgeometry import angle_at_drop
from firststart.physics.guard import within
from firststart.physics.timingmark import stop_centre
from firststart.units import from_si

LENGTH, ANGLE = "length", "angle"
MANUAL, FIRST, SECOND = "manual.timing-piston", "stop.first", "stop.second"
_WORDS = {INSIDE: "inside", BELOW: "late", ABOVE: "early"}


def judge_piston(reading: Reading | None, context: Context) -> Verdict:
    """How far the piston stands below its top when it sparks, by the manual's millimetres, else by its degrees.

    Raises InputError; RangeError for a piston beyond its stroke.
    """
    taken = needed(reading, "timing-piston", LENGTH, "2.3 mm")
    manual, half = context.readings.get((MANUAL, None)), half_step(reading, context.limits["ignition.piston-step"])
    if manual is not None:
        name, limit = "ignition.timing.piston", context.limits["ignition.timing.piston"]
        low, high = manual.si - limit.si(), manual.si + limit.si()
        word = _WORDS.get(place(taken.value.si, low, high, half), "unsure")
        return _verdict(word, str(taken.value), span(low, high, "mm", LENGTH), (low, high), (name, limit), "mm")
    name, limit = "ignition.timing.tolerance", context.limits["ignition.timing.tolerance"]
    wanted, stroke = context.profile.si("timing"), context.profile.si("stroke")
    if wanted is None or stroke is None:
        say = f"{taken.value}: the manual's timing or the stroke is missing, so it cannot be compared."
        return Verdict("unsure", say, unit="mm", kind=LENGTH, limit=name, source=limit.source, mark=limit.mark)
    rod = context.profile.si("rod")
    rods = (rod,) if rod is not None else tuple(stroke * r for r in pair(context.limits["compression.rod-to-stroke"]))
    drop = within(taken.value.si, taken.name, 0, stroke, "m", "the piston moves only over its stroke")
    ends = [max(0.0, drop - half), min(stroke, drop + half)]
    angles = [angle_at_drop(d, stroke, r) for d in ends for r in rods]
    low, high = wanted - limit.si(), wanted + limit.si()
    middle, guard = (min(angles) + max(angles)) / 2, (max(angles) - min(angles)) / 2
    word = _WORDS.get(place(middle, low, high, guard), "unsure")
    shown = f"{taken.value}, {span(min(angles), max(angles), 'deg', ANGLE)},"
    assumed = () if rod is not None else ("usual rod length assumed",)
    return _verdict(word, shown, span(low, high, "deg", ANGLE), (low, high), (name, limit), "deg", assumed)


def _verdict(
    word: str, shown: str, band: str, bounds: tuple[float, float], named: tuple[str, Limit], unit: str,
    details: tuple[str, ...] = (),
) -> Verdict:  # fmt: skip
    name, limit = named
    say = {
        "inside": f"{shown} before the top: right.",
        "early": f"{shown} before the top: too early. Set {band}.",
        "late": f"{shown} before the top: too late. Set {band}.",
        "unsure": f"{shown} before the top: too near the edge of {band} to say.",
    }[word]
    kind = ANGLE if unit == "deg" else LENGTH
    return Verdict(word, say, *bounds, unit, kind, name, limit.source, limit.mark, details)


def judge_top(_: Reading | None, context: Context) -> Verdict:
    """Where the pointer stands at true top dead centre, from the marks where a stop met the piston. RangeError."""
    limit = context.limits["ignition.timing.stop"]
    first, second = context.readings.get((FIRST, None)), context.readings.get((SECOND, None))
    if first is None or second is None:
        say = "Both marks are needed: one from each way of turning."
        return Verdict("unsure", say, limit="ignition.timing.stop", source=limit.source, mark=limit.mark)
    apart = abs(from_si(first.si - second.si, "deg", ANGLE).value) % 360
    if min(apart, 360 - apart, abs(apart - 180)) < float(limit.value):
        say = "The two marks cannot tell where the top is. Set the stop deeper and mark again."
        return Verdict("unsure", say, limit="ignition.timing.stop", source=limit.source, mark=limit.mark)
    centre = stop_centre(first.si, second.si)
    say = f"The top is midway, at {amount(centre, 'deg', ANGLE, 1)} on the disc."
    details = (f"marks at {first} and {second}",)
    return Verdict(
        "found", say, None, None, "deg", ANGLE, "ignition.timing.stop", limit.source, limit.mark, details
    )  # fmt: skip


JUDGES: tuple[Judge, ...] = (
    Judge("timing-piston", LENGTH, ("inside", "early", "late", "unsure"), judge_piston),
    Judge("top-centre", "", ("found", "unsure"), judge_top),
)
