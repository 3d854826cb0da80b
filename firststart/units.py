"""The one unit registry and the one strict parser of measured values.

A person's text never reaches pint's own parser, which reads "12,6 V" as 126 V. Number and unit are
split by a strict grammar here; the unit is looked up in a closed list of the trade's words; pint does
the conversion.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

from firststart.errors import NumberError, RangeError, UnitError

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True)
class Unit:
    """A unit as people write and say it; `pint` is its name in the registry."""

    symbol: str
    pint: str
    spoken: str
    words: tuple[str, ...] = ()
    ucum: str = ""


@dataclass(frozen=True)
class Kind:
    """A kind of quantity: its SI unit (a pint name) and the closed list of units accepted for it."""

    name: str
    si: str
    units: tuple[Unit, ...]


def _kinds(*kinds: Kind) -> dict[str, Kind]:
    return {k.name: k for k in kinds}


_MM = Unit("mm", "millimeter", "millimetres", ("millimeter", "millimetre"), "mm")
_CM = Unit("cm", "centimeter", "centimetres", ("centimeter", "centimetre"), "cm")
_M = Unit("m", "meter", "metres", ("meter", "metre"), "m")
_IN = Unit("in", "inch", "inches", ("inch", '"'), "[in_i]")
_FT = Unit("ft", "foot", "feet", ("foot",), "[ft_i]")
_THOU = Unit("thou", "0.001 * inch", "thou", ("mil",), "[mil_i]")

KINDS: dict[str, Kind] = _kinds(
    Kind("pressure", "pascal", (
        Unit("psi", "psi", "p s i", ("lb/in2", "pounds"), "[psi]"),
        Unit("bar", "bar", "bar", (), "bar"),
        Unit("kPa", "kilopascal", "kilopascals", ("kilopascal",), "kPa"),
        Unit("Pa", "pascal", "pascals", ("pascal",), "Pa"),
        Unit("kg/cm2", "98066.5 * pascal", "kilograms per square centimetre", ("kgf/cm2",), "kgf/cm2"),
        Unit("inHg", "inHg", "inches of mercury", (), "[in_i'Hg]"),
    )),
    Kind("length", "meter", (_MM, _CM, _M, _IN, _FT, _THOU)),
    Kind("volume", "meter ** 3", (
        Unit("ml", "milliliter", "millilitres", ("milliliter", "millilitre", "cc", "cm3"), "mL"),
        Unit("l", "liter", "litres", ("liter", "litre", "L"), "L"),
        Unit("fl oz", "fluid_ounce", "fluid ounces", ("fluid ounce",), "[foz_us]"),
        Unit("qt", "quart", "quarts", ("quart",), "[qt_us]"),
        Unit("in3", "inch ** 3", "cubic inches", ("cubic inch", "ci"), "[cin_i]"),
    )),
    Kind("voltage", "volt", (
        Unit("V", "volt", "volts", ("volt",), "V"),
        Unit("mV", "millivolt", "millivolts", ("millivolt",), "mV"),
        Unit("kV", "kilovolt", "kilovolts", ("kilovolt",), "kV"),
    )),
    Kind("current", "ampere", (
        Unit("A", "ampere", "amps", ("amp", "ampere", "amperes"), "A"),
        Unit("mA", "milliampere", "milliamps", ("milliamp",), "mA"),
    )),
    Kind("resistance", "ohm", (
        Unit("ohm", "ohm", "ohms", ("Ω", "R"), "Ohm"),
        Unit("kohm", "kiloohm", "kilohms", ("kΩ", "kilohm", "kiloohm", "k"), "kOhm"),
        Unit("mohm", "milliohm", "milliohms", ("mΩ", "milliohm"), "mOhm"),
    )),
    Kind("temperature", "kelvin", (
        Unit("degC", "degC", "degrees celsius", ("°C", "C", "celsius", "deg C"), "Cel"),
        Unit("degF", "degF", "degrees fahrenheit", ("°F", "F", "fahrenheit", "deg F"), "[degF]"),
        Unit("K", "kelvin", "kelvin", (), "K"),
    )),
    Kind("time", "second", (
        Unit("s", "second", "seconds", ("sec", "second"), "s"),
        Unit("ms", "millisecond", "milliseconds", ("millisecond",), "ms"),
        Unit("min", "minute", "minutes", ("minute",), "min"),
        Unit("h", "hour", "hours", ("hour",), "h"),
        Unit("d", "day", "days", ("day",), "d"),
        Unit("month", "30.4375 * day", "months", (), "mo_j"),
        Unit("year", "365.25 * day", "years", (), "a_j"),
    )),
    Kind("angle", "radian", (
        Unit("deg", "degree", "degrees", ("°", "degree"), "deg"),
    )),
    Kind("speed", "hertz", (
        Unit("rpm", "1 / minute", "r p m", ("rev/min", "revs"), "{rev}/min"),
    )),
    Kind("flow", "meter ** 3 / second", (
        Unit("ml/min", "milliliter / minute", "millilitres per minute", ("cc/min", "cm3/min"), "mL/min"),
        Unit("l/min", "liter / minute", "litres per minute", ("L/min",), "L/min"),
        Unit("l/h", "liter / hour", "litres per hour", ("L/h",), "L/h"),
    )),
    Kind("percent", "dimensionless", (
        Unit("%", "0.01", "per cent", ("percent", "per cent"), "%"),
    )),
    Kind("count", "dimensionless", (
        Unit("", "1", "", (), "1"),
    )),
    Kind("ratio", "dimensionless", (
        Unit(":1", "1", "to one", ("to 1", "to one"), "1"),
    )),
    Kind("relative density", "dimensionless", (
        Unit("SG", "1", "specific gravity", ("sg", "kg/l"), "1"),
    )),
    Kind("torque", "newton * meter", (
        Unit("Nm", "newton * meter", "newton metres", ("N m", "newton metre"), "N.m"),
        Unit("lbf ft", "pound_force * foot", "foot pounds", ("ft lb", "lb ft", "foot pound"), "[lbf_av].[ft_i]"),
    )),
    Kind("area", "meter ** 2", (
        Unit("mm2", "millimeter ** 2", "square millimetres", ("mm²",), "mm2"),
    )),
    Kind("mass", "kilogram", (
        Unit("kg", "kilogram", "kilograms", ("kilogram",), "kg"),
        Unit("g", "gram", "grams", ("gram",), "g"),
    )),
    Kind("power", "watt", (
        Unit("kW", "kilowatt", "kilowatts", ("kilowatt",), "kW"),
        Unit("W", "watt", "watts", ("watt",), "W"),
        Unit("hp", "horsepower", "horsepower", (), "[HP]"),
    )),
    Kind("charge", "coulomb", (
        Unit("Ah", "ampere * hour", "amp hours", ("amp hour", "amp hours"), "A.h"),
    )),
    Kind("energy", "joule", (
        Unit("mJ", "millijoule", "millijoules", ("millijoule",), "mJ"),
        Unit("J", "joule", "joules", ("joule",), "J"),
    )),
    Kind("inductance", "henry", (
        Unit("mH", "millihenry", "millihenries", ("millihenry",), "mH"),
    )),
    Kind("capacitance", "farad", (
        Unit("uF", "microfarad", "microfarads", ("µF", "microfarad"), "uF"),
    )),
    Kind("kinematic viscosity", "meter ** 2 / second", (
        Unit("mm2/s", "millimeter ** 2 / second", "square millimetres per second", ("cSt",), "mm2/s"),
    )),
    Kind("dynamic viscosity", "pascal * second", (
        Unit("mPas", "millipascal * second", "millipascal seconds", ("cP", "mPa s"), "mPa.s"),
    )),
    Kind("density", "kilogram / meter ** 3", (
        Unit("kg/m3", "kilogram / meter ** 3", "kilograms per cubic metre", (), "kg/m3"),
    )),
    Kind("concentration", "dimensionless", (
        Unit("ppm", "1e-6", "parts per million", (), "[ppm]"),
        Unit("vol%", "0.01", "per cent by volume", ("vol %",), "%{vol}"),
    )),
)


@dataclass(frozen=True)
class Measured:
    """A measured value: the number and unit as given, and its SI value."""

    value: float
    unit: str
    kind: str
    si: float

    def __str__(self) -> str:
        if self.kind == "count":  # a firing order of eight cylinders has eight figures, and none is rounded away
            return f"{self.value:.10g}"
        if self.unit in ("year", "month"):
            return f"{self.value:g} {self.unit}{'' if self.value == 1 else 's'}"
        return f"{self.value:g} {self.unit}".rstrip() if self.kind != "ratio" else f"{self.value:g}:1"


@cache
def registry() -> pint.UnitRegistry[Any]:
    """The one pint registry of the process."""
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=False, cache_folder=None)


@cache
def _scale(pint_unit: str, si_unit: str) -> tuple[float, float]:
    """(factor, offset) such that SI = value * factor + offset, taken from pint."""
    reg = registry()
    if pint_unit in ("degC", "degF"):
        zero = float(reg.Quantity(0.0, pint_unit).to(si_unit).magnitude)
        one = float(reg.Quantity(1.0, pint_unit).to(si_unit).magnitude)
        return one - zero, zero
    factor = reg.parse_expression(pint_unit)
    if isinstance(factor, int | float):
        return float(factor), 0.0
    base = factor.to(si_unit) if si_unit != "hertz" else factor.to("1 / second")
    return float(base.magnitude), 0.0


def kind_of(name: str) -> Kind:
    """The kind of quantity called `name`. Raises UnitError when there is none."""
    try:
        return KINDS[name]
    except KeyError:
        raise UnitError(f"There is no quantity called {name!r}; use one of {', '.join(KINDS)}.") from None


def find_unit(word: str, kind: str, field: str = "") -> Unit:
    """The unit a person means by `word`, among those of `kind`. Raises UnitError, with `field` when given."""
    wanted = " ".join(word.split())
    units = kind_of(kind).units
    for exact in (True, False):
        for unit in units:
            names = (unit.symbol, unit.spoken, *unit.words)
            if wanted in names or (not exact and wanted.lower() in {n.lower() for n in names}):
                return unit
    choices = " or ".join(u.symbol or "no unit" for u in units)
    start = f"{field}: " if field else ""
    raise UnitError(f"{start}{wanted!r} is not a unit of {kind}; say the value with {choices}.")


def measured(value: float, unit: str, kind: str, field: str = "") -> Measured:
    """A value with a unit from the closed list of `kind`. Raises UnitError, RangeError."""
    if not math.isfinite(value):
        raise RangeError(field or kind, value, None, None)
    found = find_unit(unit, kind, field)
    factor, offset = _scale(found.pint, kind_of(kind).si)
    return Measured(value, found.symbol, kind, value * factor + offset)


def from_si(si: float, unit: str, kind: str) -> Measured:
    """The SI value `si` expressed in `unit`."""
    found = find_unit(unit, kind)
    factor, offset = _scale(found.pint, kind_of(kind).si)
    return Measured((si - offset) / factor, found.symbol, kind, si)


_NUMBER = re.compile(r"([+-]?)(\d{1,9})(?:\.(\d{1,6}))?(?![\d.,])", re.ASCII)


def parse(text: str, kind: str, default_unit: str | None = None, field: str = "") -> Measured:
    """Read "118 psi", "12.6 V", "-5 degC". Strict: no comma, no exponent, no space inside a number.

    `default_unit` is used when no unit is given; without one a missing unit is an error.
    Raises NumberError, UnitError; the message says what was wrong and what to say instead.
    """
    name = field or kind
    stripped = text.strip()
    if len(stripped) > 60:
        raise NumberError(f"{name}: that is too long for a number; say a number and its unit.")
    match = _NUMBER.match(stripped)
    if match is None:
        shown = stripped[:20]
        if re.match(r"[+-]?\d+,\d", stripped):
            raise NumberError(f"{name}: {shown!r} has a comma; write the decimal with a point, as in 12.6.")
        raise NumberError(f"{name}: {shown!r} is not a number; say a number and its unit, as in 12.6 V.")
    rest = stripped[match.end():].strip()
    if (re.match(r"[\d*^eE]+[\d*+-]", rest) or rest[:1] in "*^+-.,") and rest:
        raise NumberError(f"{name}: {stripped[:20]!r} is not one plain number; say it once, as in 12.6 V.")
    value = float(match.group(0))
    if not rest:
        if default_unit is None:
            choices = " or ".join(u.symbol or "no unit" for u in kind_of(kind).units)
            if any(u.symbol == "" for u in kind_of(kind).units):
                return measured(value, "", kind)
            raise UnitError(f"{name}: {match.group(0)} needs a unit; say it with {choices}.")
        return measured(value, default_unit, kind)
    return measured(value, rest, kind, name)


def quantity(value: float, unit: str) -> pint.Quantity[Any]:
    """A pint quantity of the one registry; `unit` is a pint unit name written by us, not by a person."""
    return registry().Quantity(value, unit)


def si_value(
    value: pint.Quantity[Any],
    kind: str,
    field: str,
    low: float | None = None,
    high: float | None = None,
) -> float:
    """The SI magnitude of `value`, checked for dimension and for `low <= SI <= high`.

    Raises UnitError (wrong dimension, or not a quantity) and RangeError, each with the field's name.
    """
    si = kind_of(kind).si
    try:
        number = float(value.to("1 / second" if si == "hertz" else si).magnitude)
    except AttributeError:
        raise UnitError(f"{field} is {value!r}, a bare number; give a {kind} with its unit.") from None
    except Exception as error:  # pint raises several unrelated types
        raise UnitError(f"{field} is {value!s}, which is not a {kind}.") from error
    return in_range(number, field, low, high, si)


def in_range(number: float, field: str, low: float | None = None, high: float | None = None, unit: str = "") -> float:
    """`number` itself, when finite and inside [low, high]; else RangeError."""
    if not math.isfinite(number) or (low is not None and number < low) or (high is not None and number > high):
        raise RangeError(field, number, low, high, unit)
    return number
