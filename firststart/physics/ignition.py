"""What it takes to jump a gap: breakdown voltage by gap and density, and the open-air gap that stands for compression.

Two laws, kept apart. Paschen's with the constants A 15 /(cm Torr), B 365 V/(cm Torr), gamma 0.01 has its own
minimum, 305 V at 0.836 Torr cm; the measured minimum of air is 327 V at 0.567 Torr cm. The empirical law of a
uniform field holds near one atmosphere and above. Pascals, kelvin, metres, volts.
"""

from __future__ import annotations

import math

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

TORR = 133.32236842105263  # Pa, 101325 / 760
ATMOSPHERE = 101325.0
PASCHEN_A, PASCHEN_B, GAMMA = 15.0, 365.0, 0.01  # /(cm Torr), V/(cm Torr); notes citing Bazelyan
PASCHEN_C = math.log(PASCHEN_A / math.log(1 + 1 / GAMMA))
MINIMUM_TORR_CM = math.exp(1 - PASCHEN_C)  # of these constants, not of measured air
HEAVISIDE_LOW = 0.01  # cm atm: below it the empirical law has no measurements to rest on (from memory)


def paschen(pressure: float, gap: float) -> float:
    """Breakdown volts by Paschen's law for `pressure` Pa (at 20 degC) and `gap` m. Raises RangeError.

    Refused left of this law's own minimum (0.836 Torr cm), where it rises without bound.
    """
    pd = above(pressure, "pressure", 0, "Pa") / TORR * above(gap, "gap", 0, "m") * 100
    within(pd, "pressure times gap", MINIMUM_TORR_CM * (1 - 1e-12), None, "Torr cm")
    return PASCHEN_B * pd / (PASCHEN_C + math.log(pd))


def uniform_field(pressure: float, kelvin: float, gap: float) -> float:
    """Breakdown volts of a uniform field: 24.22 x + 6.08 sqrt(x) kV, x = 293 p d / (760 T) in cm. Raises RangeError.

    Good to 3 to 8 %, sphere tables lying above it.
    """
    torr = above(pressure, "pressure", 0, "Pa") / TORR
    x = 293 * torr * above(gap, "gap", 0, "m") * 100 / (760 * above(kelvin, "temperature", 0, "K"))
    within(x, "gap at normal density", HEAVISIDE_LOW, 10, "cm")
    return 1e3 * (24.22 * x + 6.08 * math.sqrt(x))


def open_air_gap(plug_gap: float, ratio: float) -> float:
    """The gap in open air with as much gas as `plug_gap` at top dead centre of effective `ratio`. Raises RangeError.

    Gas density alone counts, so it holds for any exponent; the spark comes before top dead centre, so it is an
    upper bound of the need.
    """
    within(plug_gap, "plug-gap", 1e-4, 3e-3, "m")
    return plug_gap * within(ratio, "ratio", 1, 25)


def _breakdown(values: Values) -> tuple[Answer, ...]:
    pressure, gap = values["pressure"], values["gap"]
    field = uniform_field(pressure, values["temperature"], gap)
    at20 = pressure * 293.15 / values["temperature"]
    return (
        Answer("uniform-field", from_si(field, "kV", "voltage"), "3 to 8 %"),
        Answer("paschen", from_si(paschen(at20, gap), "kV", "voltage"), "constants 15, 365, 0.01; high near 1 mm"),
    )


def _test_gap(values: Values) -> tuple[Answer, ...]:
    gap = open_air_gap(values["plug-gap"], values["ratio"])
    volts = uniform_field(ATMOSPHERE, 293.15, gap)
    return (
        Answer("gap", from_si(gap, "mm", "length"), "upper bound of the need; testers ask 4.2 to 4.8 mm"),
        Answer("voltage", from_si(volts, "kV", "voltage"), "uniform field; a plug's points need less in open air"),
    )


SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "spark-voltage", "Voltage that jumps a gap",
        "24.22 x + 6.08 sqrt(x) kV, x = 293 p d/(760 T); B pd / (C + ln pd)",
        "Paschen notes citing Bazelyan; High Voltage Engineering extract", "read",
        (Given("gap", "length", "mm", 0.1, 50, meaning="gap"),
         Given("pressure", "pressure", "kPa", 20, 3000, "101.325 kPa", "absolute pressure"),
         Given("temperature", "temperature", "degC", -40, 900, "20 degC", "gas temperature")),
        _breakdown,
    ),
    Subject(
        "test-gap", "Open-air gap that stands for compression", "gap x effective ratio (equal gas density)",
        "algebra of density; 4.2 mm: TM 5-4240-501-14&P; 4.8 mm: Onan BF manual p 21", "computed",
        (Given("plug-gap", "length", "mm", 0.2, 2, meaning="plug gap"),
         Given("ratio", "ratio", ":1", 1, 25, meaning="effective compression ratio")),
        _test_gap,
    ),
)  # fmt: skip
