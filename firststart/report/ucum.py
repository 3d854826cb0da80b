"""Measured values with UCUM codes: of the unit as given, and of the SI unit of its kind."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from firststart.report.wire import Quantity
from firststart.report.wording import kind_for, reading_text
from firststart.units import Measured, find_unit, from_si, kind_of

SI_CODES: Mapping[str, str] = MappingProxyType(
    {
        "pascal": "Pa", "meter": "m", "meter ** 2": "m2", "meter ** 3": "m3", "volt": "V", "ampere": "A",
        "ohm": "Ohm", "kelvin": "K", "second": "s", "radian": "rad", "hertz": "/s", "meter ** 3 / second": "m3/s",
        "dimensionless": "1", "newton * meter": "N.m", "kilogram": "kg", "watt": "W", "coulomb": "C", "joule": "J",
        "henry": "H", "farad": "F", "meter ** 2 / second": "m2/s", "pascal * second": "Pa.s",
        "kilogram / meter ** 3": "kg/m3",
    }
)  # fmt: skip
"""UCUM codes of the SI units that kinds name in the registry's words."""


def quantity(value: Measured) -> Quantity:
    """A measured value for machines. Raises UnitError when its unit is not one of its kind."""
    unit = find_unit(value.unit, value.kind)
    return Quantity(
        value=value.value, shown=reading_text(value), ucum=unit.ucum, kind=value.kind, si=value.si,
        si_ucum=SI_CODES[kind_of(value.kind).si],
    )  # fmt: skip


def step(value: Measured) -> Quantity:
    """An instrument's step: a difference, so that a step of a temperature in degrees is given in kelvin."""
    if value.kind == "temperature":
        return quantity(Measured(value.si, "K", value.kind, value.si))
    return quantity(value)


def bound(si: float | None, unit: str, kind: str) -> Quantity | None:
    """A limit given in SI, in the unit it was judged in; None when there is none or its unit is not known."""
    found = kind_for(unit, kind)
    return None if si is None or not found else quantity(from_si(si, unit, found))
