"""Cables and joints: resistance by size and length, drop under load, series resistance, a fuse for a short feed.

Ohms, volts, amperes, metres, square metres.
"""

from __future__ import annotations

import math

from firststart.errors import InputError
from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.physics.winding import ALPHA20, RHO20, T20
from firststart.units import from_si, measured

RHO_ALUMINIUM = 2.8264e-8  # ohm m, 61 % IACS (from memory)
FUSES = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0)  # A, blade fuses of ISO 8820-3 (from memory)
OVER_LOAD = 1.25  # a fuse for a lasting load carries a quarter more (NEC 210.20, from memory)
AMPS_PER_M2 = 6e6  # of a short, open, temporary lead (common practice, no source)


def awg_area(number: float) -> float:
    """Cross-section in m2 of American wire gauge `number` (0 for 1/0, -1 for 2/0). Raises RangeError.

    ASTM B258: d = 0.005 in x 92^((36 - n)/39).
    """
    within(number, "gauge", -3, 40)
    diameter = float(0.005 * 92 ** ((36 - number) / 39)) * 0.0254
    return math.pi / 4 * diameter**2


def cable_resistance(area: float, length: float, kelvin: float = T20, metal: str = "copper") -> float:
    """Resistance in ohm of one conductor `length` m long. Raises RangeError, InputError."""
    rho = {"copper": RHO20, "aluminium": RHO_ALUMINIUM}.get(metal)
    if rho is None:
        raise InputError(f"metal is {metal!r}, but must be one of copper, aluminium.")
    within(kelvin, "temperature", 150, 600, "K")
    warm = 1 + ALPHA20 * (kelvin - T20)
    return rho * within(length, "length", 0, 1000, "m") / above(area, "area", 0, "m2") * warm


def series_resistance(open_volts: float, loaded_volts: float, current: float) -> float:
    """Resistance in ohm that lowers the voltage under `current`: (V0 - V1) / I. Raises RangeError."""
    within(loaded_volts, "loaded", 0, open_volts, "V", "a load cannot raise the voltage")
    return (open_volts - loaded_volts) / above(current, "current", 0, "A")


def resistance_between(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Resistance in ohm from two (volts, amperes) readings at different loads: -dV/dI. Raises RangeError."""
    (v1, i1), (v2, i2) = sorted((first, second), key=lambda p: p[1])
    above(i2 - i1, "difference of currents", 0, "A", "two different loads")
    within(v2, "voltage at the heavier load", 0, v1, "V", "more current cannot raise the voltage")
    return (v1 - v2) / (i2 - i1)


def current_from_drop(drop: float, resistance: float) -> float:
    """Current in A from a drop over a known resistance: a cable as a shunt. Raises RangeError."""
    return within(drop, "drop", 0, None, "V") / above(resistance, "resistance", 0, "ohm")


def feed_fuse(load: float, area: float) -> float:
    """The smallest blade fuse in A that carries `load` A and still guards a lead of `area` m2. Raises RangeError.

    RangeError for the area when the lead is too thin for that fuse.
    """
    needed = within(above(load, "load", 0, "A"), "load", None, FUSES[-1] / OVER_LOAD, "A") * OVER_LOAD
    fuse = next(f for f in FUSES if f >= needed - 1e-9)
    within(area, "area", fuse / AMPS_PER_M2, None, "m2", f"for a {fuse:g} A fuse")
    return fuse


def _cable(values: Values) -> tuple[Answer, ...]:
    ohm = cable_resistance(values["area"], values["length"], values["temperature"], values["metal"])
    return (
        Answer("resistance", from_si(ohm, "mohm", "resistance"), "one way"),
        Answer("drop", from_si(ohm * values["current"], "V", "voltage"), "one way"),
    )


def _cable_by_gauge(values: Values) -> tuple[Answer, ...]:
    area = awg_area(values["gauge"])
    return (Answer("area", from_si(area, "mm2", "area")), *_cable({**values, "area": area}))


def _gauge(values: Values) -> tuple[Answer, ...]:
    area = awg_area(values["gauge"])
    per_km = cable_resistance(area, 1000)
    return (
        Answer("area", from_si(area, "mm2", "area")),
        Answer("resistance", from_si(per_km, "ohm", "resistance"), "per kilometre, copper at 20 degC"),
    )


def _series(values: Values) -> tuple[Answer, ...]:
    ohm = series_resistance(values["open"], values["loaded"], values["current"])
    return (Answer("resistance", from_si(ohm, "mohm", "resistance"), "of everything before the meter"),)


def _fuse(values: Values) -> tuple[Answer, ...]:
    fuse = feed_fuse(values["load"], values["area"])
    return (Answer("fuse", measured(fuse, "A", "current"), "close to the battery's own terminal"),)


_AREA = Given("area", "area", "mm2", 0.05, 500, meaning="copper cross-section")
_RUN = (
    Given("length", "length", "m", 0, 100, meaning="one way"),
    Given("current", "current", "A", 0, 3000, meaning="current"),
    Given("temperature", "temperature", "degC", -40, 150, "20 degC", "cable temperature"),
    Given("metal", "count", "", 0, 0, "copper", "metal", ("copper", "aluminium")),
)

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "cable-drop", "Resistance and drop of a cable", "R = rho L / A (1 + 0.00393 (t - 20)); V = I R",
        "IEC 60028 copper; aluminium 61 % IACS (from memory)", "secondary copy",
        (_AREA, *_RUN), _cable,
    ),
    Subject(
        "cable-drop-gauge", "Resistance and drop of a cable by its wire gauge",
        "d = 0.005 in x 92^((36 - n)/39); R = rho L / A (1 + 0.00393 (t - 20)); V = I R",
        "ASTM B258-02; IEC 60028 copper; aluminium 61 % IACS (from memory)", "from memory",
        (Given("gauge", "count", "", -3, 40, meaning="American wire gauge; 0 for 1/0", whole=True), *_RUN),
        _cable_by_gauge,
    ),
    Subject(
        "wire-gauge", "American wire gauge to square millimetres", "d = 0.005 in x 92^((36 - n)/39)", "ASTM B258-02",
        "from memory", (Given("gauge", "count", "", -3, 40, meaning="number; 0 for 1/0", whole=True),), _gauge,
    ),
    Subject(
        "series-resistance", "Series resistance from two voltages", "R = (V0 - V1) / I", "Ohm's law", "computed",
        (Given("open", "voltage", "V", 0, 40, meaning="volts without the load"),
         Given("loaded", "voltage", "V", 0, 40, meaning="volts under the load"),
         Given("current", "current", "A", 0.001, 3000, meaning="load current")),
        _series,
    ),
    Subject(
        "feed-fuse", "Fuse for a temporary feed",
        "smallest of 3, 5, 7.5, 10, 15, 20, 25, 30 A over 1.25 x load; 6 A/mm2",
        "ISO 8820-3 sizes; NEC 210.20; 6 A/mm2 is common practice", "from memory",
        (Given("load", "current", "A", 0.1, 24, meaning="what the feed carries"), _AREA), _fuse,
    ),
)  # fmt: skip
