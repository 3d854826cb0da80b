"""Judges of one cylinder's compression: dry, wet against dry, and how the reading builds up."""

from __future__ import annotations

import math

from firststart.errors import InputError
from firststart.judge.amounts import pressure_unit
from firststart.judge.compressionset import JUDGES as SET_JUDGES
from firststart.judge.cylinderoil import WET, cylinder_oil
from firststart.judge.expected import FLOOR, Expected, expected, pair
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.judge.wording import amount, doubt, per_cent
from firststart.physics.compression import check_gauge, clearance_volume, oil_factor
from firststart.physics.uncertainty import FAIL, NEAR, PASS, decide, half_width

PRESSURE = "pressure"
DRY, FIRST, WET_OIL = "compression.dry", "compression.first", "wet-oil"
_RELEASE = (
    "an automatic or hand decompressor makes this reading low by design (Suzuki RM-Z250 manual: 57 to 114 psi with it "
    "at work); then a leak-down test tells more"
)


def needed(reading: Reading | None, judge: str) -> Reading:
    """The reading itself. Raises InputError when there is none or it is not a gauge pressure above a vacuum."""
    if reading is None or reading.value.kind != PRESSURE:
        raise InputError(f"{judge} judges one pressure; give the gauge's reading with its unit, as in 118 psi.")
    check_gauge(reading.value.si)
    return reading


def half_step(reading: Reading | None, context: Context) -> float:
    """Half the gauge's step in Pa: its own resolution, else the default of the limits. Raises RangeError."""
    own = None if reading is None else reading.resolution
    return half_width(context.limits["compression.resolution"].si() if own is None else own)


def _verdict(word: str, say: str, found: Expected, unit: str, *details: str) -> Verdict:
    return Verdict(
        word, say, found.low, found.high, unit, PRESSURE, found.limit, found.source, found.mark,
        (*details, *found.details),
    )  # fmt: skip


def judge_dry(reading: Reading | None, context: Context) -> Verdict:
    """One dry reading against what this engine should give here. Raises InputError, RangeError."""
    taken = needed(reading, "compression-dry")
    found, half, unit = expected(context), half_step(reading, context), taken.value.unit
    value, shown = taken.value.si, str(taken.value)
    if value < context.limits["compression.none"].si() - half:
        return _verdict("none", f"{shown} is no compression to speak of.", found, unit, *_release(context))
    if found.basis == FLOOR:
        return _by_floor(value, shown, found, half, unit, context)
    low = decide(value - found.low, half)
    high = decide((found.high or value) - value, half)
    band = found.text(unit)
    if low.word == FAIL:
        return _verdict("low", f"{shown} is low. Expected {band}.", found, unit, *_low_notes(value, context))
    if high.word == FAIL:
        return _verdict("high", f"{shown} is over the expected {band}.", found, unit, _HIGH)
    if NEAR in (low.word, high.word):
        near = doubt(low if low.word == NEAR else high, unit, PRESSURE)
        return _verdict("unsure", f"{shown} is too near the edge of {band} to say.", found, unit, near)
    return _verdict("inside", f"{shown} is inside the expected {band}.", found, unit)


_HIGH = "carbon, oil or fuel in the cylinder raise it; so does a gauge with a smaller ratio of its own"


def _by_floor(value: float, shown: str, found: Expected, half: float, unit: str, context: Context) -> Verdict:
    if decide(value - found.low, half).word == PASS:
        return _verdict("inside", f"{shown} is enough for most engines.", found, unit)
    if decide(value - found.surely_low, half).word == FAIL:
        return _verdict("low", f"{shown} is low for any engine.", found, unit, *_release(context))
    say = f"{shown} is enough for some low-compression engines, too little for most."
    return _verdict("unsure", say, found, unit, "the compression ratio or the manual's figure would settle it")


def _low_notes(value: float, context: Context) -> tuple[str, ...]:
    floor = context.limits["compression.floor"]
    over = value >= floor.si()
    note = (f"still over the general floor of {floor.value} {floor.unit} ({floor.source})",) if over else ()
    return (*note, *_release(context))


def _release(context: Context) -> tuple[str, ...]:
    small = context.profile.word("kind") in ("motorcycle", "mower", "generator", "pump", "snowmobile")
    return (_RELEASE,) if small or context.profile.word("starting") in ("kick", "recoil", "hand") else ()


def oil_rise(context: Context, cylinder: int | None) -> tuple[float, str]:
    """(most that the room of the wet-test oil alone multiplies the reading by, how that is known)."""
    profile, limits = context.profile, context.limits
    swept, ratio = profile.cylinder_volume, profile.si("ratio")
    if swept is None or ratio is None:
        found = limits["compression.wet.factor-unknown"]
        return float(found.value), "cylinder size or ratio unknown, so the room of the oil is taken at its worst"
    given = context.readings.get((WET_OIL, cylinder)) or context.readings.get((WET_OIL, None))
    oil = cylinder_oil(context, WET).volume if given is None else given
    room = clearance_volume(swept, ratio)
    if oil.si >= room:
        shown = amount(room, "ml", "volume")
        return math.inf, f"{oil} of oil fills the {shown} above the piston, so a rise proves nothing"
    factor = oil_factor(swept, ratio, oil.si, pair(limits["compression.exponent"])[1])
    return factor, f"the room taken by {oil} of oil alone can raise the reading {factor:.2f} times"


def _not_rings(context: Context) -> str:
    """What leaks when it is not the rings: a two-stroke has no valves over the piston."""
    return "the head gasket" if context.profile.word("cycle") == "two-stroke" else "valves and head gasket"


def judge_wet(reading: Reading | None, context: Context) -> Verdict:
    """The wet reading against the dry one of the same cylinder, the oil's own room taken out.

    "rises" only when the wet reading beats dry by more than the oil's room and the limit explain; "same" only when
    it does not even beat the limit with the oil's room left in. Raises InputError, RangeError.
    """
    taken = needed(reading, "compression-wet")
    dry = context.readings.get((DRY, taken.cylinder))
    limit = context.limits["compression.wet.rise"]
    if dry is None:
        say = "There is no dry reading of this cylinder to compare."
        return Verdict("unsure", say, source=limit.source, mark=limit.mark)
    factor, how = oil_rise(context, taken.cylinder)
    half, share = half_step(reading, context), float(limit.value)
    asked, guard = dry.si * (1 + share), half * (2 + share)
    sealed = decide(taken.value.si / factor - asked, guard).word
    plain = decide(taken.value.si - asked, guard).word
    word = "rises" if sealed == PASS else "same" if plain == FAIL else "unsure"
    say = {
        "rises": f"{dry} dry, {taken.value} wet. Oil helps: the rings or bore leak.",
        "same": f"{dry} dry, {taken.value} wet. Oil does not help: look at {_not_rings(context)}.",
        "unsure": f"{dry} dry, {taken.value} wet. Too near to say what leaks.",
    }[word]
    low = asked * factor if math.isfinite(factor) else None
    return Verdict(
        word, say, low, None, taken.value.unit, PRESSURE, "compression.wet.rise", limit.source, limit.mark, (how,)
    )


def judge_first(reading: Reading | None, context: Context) -> Verdict:
    """How a cylinder's reading grew from the first puff, which is judged, to the last. InputError, RangeError."""
    taken = needed(reading, "compression-first")
    climbs, stuck = context.limits["compression.puff.climbs"], context.limits["compression.puff.stuck"]
    last, found = context.readings.get((DRY, taken.cylinder)), expected(context)
    falls = last is not None and taken.value.si > last.si + 2 * half_step(reading, context)
    if last is None or falls or last.si <= 0:
        say = f"{taken.value} first, {last} last. Read again."
        say = say if last is not None else "There is no last reading to compare."
        return Verdict("unsure", say, source=climbs.source, mark=climbs.mark)
    share = taken.value.si / last.si
    low = last.si < found.surely_low
    word = "normal" if not low else _pattern(share, float(climbs.value), float(stuck.value))
    say = {
        "normal": f"{taken.value} first, {last} last: it reaches normal.",
        "climbs": f"{taken.value} first, {last} last: low and climbing. That points to rings.",
        "stuck": f"{taken.value} first, {last} last: low and staying. Look at {_not_rings(context)}.",
        "unsure": f"{taken.value} first, {last} last: no clear pattern.",
    }[word]
    return Verdict(
        word, say, found.low, found.high, pressure_unit(context), PRESSURE, "compression.puff", climbs.source,
        climbs.mark, (f"the first puff is {per_cent(share)} of the last",),
    )  # fmt: skip


def _pattern(share: float, climbs: float, stuck: float) -> str:
    return "climbs" if share <= climbs else "stuck" if share >= stuck else "unsure"


JUDGES: tuple[Judge, ...] = (
    Judge("compression-dry", PRESSURE, ("inside", "low", "none", "high", "unsure"), judge_dry),
    Judge("compression-wet", PRESSURE, ("rises", "same", "unsure"), judge_wet),
    Judge("compression-first", PRESSURE, ("normal", "climbs", "stuck", "unsure"), judge_first),
    *SET_JUDGES,
)
