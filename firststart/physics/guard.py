"""Checks shared by the calculators: each returns its value or raises RangeError with field, value and range."""

from __future__ import annotations

from firststart.errors import RangeError
from firststart.units import in_range


def above(number: float, field: str, low: float, unit: str = "", why: str = "") -> float:
    """`number` itself when finite and strictly above `low`; else RangeError."""
    in_range(number, field, unit=unit)
    if number <= low:
        raise RangeError(field, number, low, None, unit, why or f"more than {low:g}")
    return number


def within(number: float, field: str, low: float | None, high: float | None, unit: str = "", why: str = "") -> float:
    """`number` itself when finite and inside [low, high]; else RangeError that says why."""
    in_range(number, field, unit=unit)
    if (low is not None and number < low) or (high is not None and number > high):
        raise RangeError(field, number, low, high, unit, why)
    return number
