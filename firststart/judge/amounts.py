"""The closed list of named amounts that a prompt may include as `{amount:NAME}`.

Each gives a short speakable text for this engine, and an honest phrase when the engine's facts are unknown.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from firststart.judge.cylinderoil import STORAGE, WET, cylinder_oil
from firststart.judge.expected import expected, pair
from firststart.judge.model import Context
from firststart.judge.wording import amount
from firststart.physics.compression import cranking_time
from firststart.physics.crankgeometry import piston_drop
from firststart.physics.timingmark import arc

DEFAULT_PRESSURE_UNIT = "psi"


def pressure_unit(context: Context) -> str:
    """The unit in which the person reads this engine's compression; psi until they have read one."""
    for (name, _), value in reversed(tuple(context.readings.items())):
        if name.startswith("compression.") and value.kind == "pressure":
            return value.unit
    manual = context.profile.numbers.get("manual-compression")
    return manual.unit if manual is not None else DEFAULT_PRESSURE_UNIT


def _cylinder_oil(context: Context) -> str:
    return cylinder_oil(context, STORAGE).text


def _wet_oil(context: Context) -> str:
    return cylinder_oil(context, WET).text


def _oil_fill(context: Context) -> str:
    known = context.profile.numbers.get("oil-capacity")
    return "the amount the manual gives" if known is None else str(known)


def cranking_seconds(context: Context) -> tuple[float, bool]:
    """(seconds for the fullest count of compression strokes, is the cranking speed a measured one)."""
    speed = context.readings.get(("cranking-speed", None))
    speed = None if speed is not None and speed.si <= 0 else speed
    per_second = context.limits["compression.cranking-speed"].si() if speed is None else speed.si
    strokes = pair(context.limits["compression.strokes"])[1]
    cycle = context.profile.word("cycle") or "four-stroke"
    return cranking_time(strokes, per_second, cycle), speed is not None


def _crank_compression(context: Context) -> str:
    seconds, measured_speed = cranking_seconds(context)
    text = amount(seconds, "s", "time")
    return text if measured_speed else f"about {text}"


def _expected_compression(context: Context) -> str:
    return expected(context).text(pressure_unit(context))


def _timing_mark(context: Context) -> str:
    profile = context.profile
    advance, wheel = profile.si("timing"), profile.si("flywheel")
    stroke, rod = profile.si("stroke"), profile.si("rod")
    if advance is None:
        return "the mark the manual shows"
    degrees = amount(advance, "deg", "angle")
    if wheel is not None:
        return f"{amount(arc(wheel, advance), 'mm', 'length')} along the wheel"
    if stroke is not None and rod is not None:
        return f"{amount(piston_drop(advance, stroke, rod), 'mm', 'length', 2)} of piston travel"
    return f"{degrees} on a timing disc"


def _oil_pressure_time(context: Context) -> str:
    return amount(context.limits["oil.pressure.time"].si(), "s", "time")


AMOUNTS: Mapping[str, Callable[[Context], str]] = MappingProxyType(
    {
        "cylinder-oil": _cylinder_oil,
        "wet-oil": _wet_oil,
        "oil-fill": _oil_fill,
        "oil-pressure-time": _oil_pressure_time,
        "crank-compression": _crank_compression,
        "expected-compression": _expected_compression,
        "timing-mark": _timing_mark,
    }
)

