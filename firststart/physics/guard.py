"""Checks shared by the calculators: each returns its value or raises RangeError with field, value and range."""

from __future__ import annotations

import math

from firststart.errors import RangeError
from firststart.units import in_range

_PSI = 6894.757293168  # Pa
_TOLD = {  # SI unit of the calculators -> (unit that people read, factor)
    "Pa": ("psi", 1 / _PSI), "m3": ("ml", 1e6), "m2": ("mm2", 1e6), "m3/s": ("ml/min", 6e7), "m2/s": ("mm2/s", 1e6),
    "rad": ("deg", 180 / math.pi), "1/s": ("rpm", 60.0), "Hz": ("rpm", 60.0), "m": ("mm", 1e3),
}  # fmt: skip
_FAR, _WARM = 2.0, 100.0  # m over which a length is told in metres; K over which a kelvin is a temperature


def _refused(
    number: float, field: str, low: float | None, high: float | None, unit: str, why: str, *, strict: bool = False
) -> RangeError:
    """The error, whose sentence is told in the units of the trade and whose attributes stay SI."""
    sizes = [abs(n) for n in (number, low, high) if n is not None and math.isfinite(n)]
    shown: tuple[str, float, float] | None = None
    if unit == "K" and max(sizes, default=0.0) > _WARM:
        shown = ("degC", 1.0, -273.15)
    elif unit in _TOLD and not (unit == "m" and max(sizes, default=0.0) > _FAR):
        shown = (*_TOLD[unit], 0.0)
    return RangeError(field, number, low, high, unit, why, shown, strict=strict)


def above(number: float, field: str, low: float, unit: str = "", why: str = "") -> float:
    """`number` itself when finite and strictly above `low`; else RangeError."""
    in_range(number, field, unit=unit)
    if number <= low:
        raise _refused(number, field, low, None, unit, why, strict=True)
    return number


def within(number: float, field: str, low: float | None, high: float | None, unit: str = "", why: str = "") -> float:
    """`number` itself when finite and inside [low, high]; else RangeError that says why."""
    in_range(number, field, unit=unit)
    if (low is not None and number < low) or (high is not None and number > high):
        raise _refused(number, field, low, high, unit, why)
    return number
