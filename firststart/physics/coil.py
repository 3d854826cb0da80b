"""Coils, contact breakers and leads: stored energy, dwell, resistance at temperature. SI units; angles in rad."""

from __future__ import annotations

import math

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.physics.windingheat import resistance_as_at_20, resistance_at
from firststart.units import from_si

LEAD_PER_METRE = 16e3  # ohm/m, most of a suppressed lead (Mazda truck 1972-86 coil and lead page)
IGNITES = 0.2e-3  # J, lowest ignition energy of fuel vapours, about (NFPA 77 (2000) Table B.1); not a threshold


def coil_energy(inductance: float, current: float) -> float:
    """Energy in J stored in the primary: L I2 / 2. Raises RangeError."""
    return above(inductance, "inductance", 0, "H") * within(current, "current", 0, 100, "A") ** 2 / 2


def coil_current(volts: float, resistance: float, inductance: float, seconds: float) -> float:
    """Primary current in A after `seconds` of closed points: V/R (1 - exp(-R t / L)). Raises RangeError."""
    end = within(volts, "voltage", 0, 40, "V") / above(resistance, "resistance", 0, "ohm")
    within(seconds, "time", 0, None, "s")
    return -end * math.expm1(-resistance * seconds / above(inductance, "inductance", 0, "H"))


def dwell_window(lobes: float) -> float:
    """Distributor angle in rad from one spark to the next. Raises RangeError."""
    return 2 * math.pi / within(lobes, "lobes", 1, 16)


def dwell_share(angle: float, lobes: float) -> float:
    """Dwell as a share of the window. Raises RangeError, also when the dwell is longer than the window."""
    window = dwell_window(lobes)
    return within(angle, "dwell", 0, window, "rad", "no more than one spark to the next") / window


def dwell_seconds(angle: float, speed: float) -> float:
    """Time the points stay closed in s at crank `speed` in rev/s, distributor at half speed. Raises RangeError."""
    return within(angle, "dwell", 0, 2 * math.pi, "rad") / (math.pi * above(speed, "speed", 0, "Hz"))


def lead_limit(length: float, per_metre: float = LEAD_PER_METRE) -> float:
    """The most a suppressed lead may read in ohm. Raises RangeError."""
    return above(per_metre, "ohm per metre", 0, "ohm/m") * above(length, "length", 0, "m")


def _energy(values: Values) -> tuple[Answer, ...]:
    joule = coil_energy(values["inductance"], values["current"])
    margin = f"{joule / IGNITES:.0f}"
    return (
        Answer("energy", from_si(joule, "mJ", "energy")),
        Answer("margin", margin, "times the lowest ignition energy, a statistical figure on the rich side"),
    )


def _dwell(values: Values) -> tuple[Answer, ...]:
    angle, lobes = values["dwell"], values["lobes"]
    return (
        Answer("window", from_si(dwell_window(lobes), "deg", "angle")),
        Answer("share", from_si(dwell_share(angle, lobes), "%", "percent")),
        Answer("time", from_si(dwell_seconds(angle, values["speed"]), "ms", "time"), "distributor at half crank speed"),
    )


def _resistance(values: Values) -> tuple[Answer, ...]:
    ohm, kelvin = values["resistance"], values["temperature"]
    return (
        Answer("at-20", from_si(resistance_as_at_20(ohm, kelvin), "ohm", "resistance"), "if measured there"),
        Answer("there", from_si(resistance_at(ohm, kelvin), "ohm", "resistance"), "if it is the figure for 20 degC"),
    )


def _lead(values: Values) -> tuple[Answer, ...]:
    return (Answer("limit", from_si(lead_limit(values["length"]), "kohm", "resistance"), "more: replace"),)


SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "coil-energy", "Energy stored in a coil", "E = L I2 / 2",
        "physics; NFPA 77 (2000) Table B.1 for the margin", "read",
        (Given("inductance", "inductance", "mH", 0.01, 1000, meaning="primary inductance"),
         Given("current", "current", "A", 0, 30, meaning="primary current")),
        _energy,
    ),
    Subject(
        "dwell", "Dwell in degrees, per cent and milliseconds", "share = dwell n / 360; t = dwell / (3 rpm)",
        "German reference article on dwell (Schliesswinkel)", "read",
        (Given("dwell", "angle", "deg", 0, 360, meaning="distributor degrees with points closed"),
         Given("lobes", "count", "", 1, 16, meaning="cam lobes, one a cylinder", whole=True),
         Given("speed", "speed", "rpm", 10, 12000, "1000 rpm", "crank speed")),
        _dwell,
    ),
    Subject(
        "coil-resistance", "Coil resistance at a temperature", "R = R20 (1 + 0.00393 (t - 20))",
        "IEC 60028 copper; meter maker's appendix", "read",
        (Given("resistance", "resistance", "ohm", 1e-3, 1e6, meaning="resistance"),
         Given("temperature", "temperature", "degC", -40, 200, meaning="coil temperature")),
        _resistance,
    ),
    Subject(
        "lead-resistance", "The most a suppressed lead may read", "16 kohm per metre",
        "Mazda truck 1972-86, coil page", "read",
        (Given("length", "length", "m", 0.02, 5, meaning="lead length"),), _lead,
    ),
)  # fmt: skip
