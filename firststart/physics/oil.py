"""How thick an oil is at the day's temperature.

Kinematic viscosity nu in m2/s, temperature in K. Walther's equation as in ASTM D341 (from memory):
log10 log10(nu + 0.7) = A - B log10 T, nu in mm2/s. It describes oils that flow freely; near and under the pour point an
oil is thicker than it says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.physics.viscosityindex import kv40_from_index
from firststart.units import from_si

T40, T100 = 313.15, 373.15  # K
MM2 = 1e-6  # m2/s
DENSITY_15C = 880.0  # kg/m3, usual engine oil at 15 degC; common practice, no source
EXPANSION = 0.00065  # per K; common practice, no source


@dataclass(frozen=True)
class Walther:
    """The two constants of one oil; `nu` in mm2/s inside the logarithms, T in K."""

    a: float
    b: float

    def viscosity(self, kelvin: float) -> float:
        """Kinematic viscosity in m2/s at `kelvin`. Raises RangeError outside 203 to 523 K."""
        within(kelvin, "temperature", 203.15, 523.15, "K")
        return float((10 ** 10 ** (self.a - self.b * math.log10(kelvin)) - 0.7) * MM2)


def walther(nu40: float, nu100: float) -> Walther:
    """The oil whose kinematic viscosities at 40 and 100 degC are `nu40` and `nu100` m2/s. Raises RangeError."""
    above(nu100, "viscosity at 100 degC", 1 * MM2, "m2/s")
    above(nu40, "viscosity at 40 degC", nu100, "m2/s", "an oil is thicker when colder")
    y40, y100 = (math.log10(math.log10(nu / MM2 + 0.7)) for nu in (nu40, nu100))
    slope = (y40 - y100) / (math.log10(T100) - math.log10(T40))
    return Walther(y40 + slope * math.log10(T40), slope)


def from_index(nu100: float, index: float) -> Walther:
    """The oil of viscosity `nu100` m2/s at 100 degC and viscosity `index` (ASTM D2270). Raises RangeError."""
    return walther(kv40_from_index(nu100 / MM2, index) * MM2, nu100)


def density(kelvin: float) -> float:
    """Density in kg/m3 of a usual engine oil at `kelvin`. Raises RangeError. Common practice, no source."""
    within(kelvin, "temperature", 203.15, 523.15, "K")
    return DENSITY_15C * (1 - EXPANSION * (kelvin - 288.15))


def dynamic(oil: Walther, kelvin: float) -> float:
    """Dynamic viscosity in Pa s of `oil` at `kelvin`: kinematic times density. Raises RangeError."""
    return oil.viscosity(kelvin) * density(kelvin)


def _answers(oil: Walther, kelvin: float) -> tuple[Answer, ...]:
    return (
        Answer("kinematic", from_si(oil.viscosity(kelvin), "mm2/s", "kinematic viscosity")),
        Answer("dynamic", from_si(dynamic(oil, kelvin), "mPas", "dynamic viscosity"), "at a usual density"),
    )


def _two_points(values: Values) -> tuple[Answer, ...]:
    return _answers(walther(values["at-40"], values["at-100"]), values["temperature"])


def _by_index(values: Values) -> tuple[Answer, ...]:
    at40 = kv40_from_index(values["at-100"] / MM2, values["index"]) * MM2
    oil = walther(at40, values["at-100"])
    return (*_answers(oil, values["temperature"]), Answer("at-40", from_si(at40, "mm2/s", "kinematic viscosity")))


_AT_100 = Given("at-100", "kinematic viscosity", "mm2/s", 2, 70, meaning="viscosity at 100 degC")
_DAY = Given("temperature", "temperature", "degC", -60, 200, meaning="temperature of the oil")

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "oil-viscosity", "Oil viscosity at the day's temperature", "log10 log10(nu + 0.7) = A - B log10 T",
        "Walther equation, ASTM D341", "from memory",
        (Given("at-40", "kinematic viscosity", "mm2/s", 2, 2000, meaning="viscosity at 40 degC"), _AT_100, _DAY),
        _two_points,
    ),
    Subject(
        "oil-viscosity-index", "Oil viscosity at the day's temperature from its viscosity index",
        "ASTM D2270 solved for the viscosity at 40 degC, then Walther", "ASTM D2270 and ASTM D341", "from memory",
        (_AT_100, Given("index", "count", "", 0, 300, "95", "viscosity index"), _DAY),
        _by_index,
    ),
)
