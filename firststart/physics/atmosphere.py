"""The standard atmosphere by altitude: what a gauge has around it.

Constants of ISO 2533 (the same as U.S. Standard Atmosphere 1976 below 11 km): 288.15 K and 101 325 Pa at sea
level, -6.5 K/km, g 9.80665 m/s2, R 287.05287 J/(kg K), earth radius 6 356 766 m. Altitudes here are geometric
metres (what a map says), converted to geopotential inside.
"""

from __future__ import annotations

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

SEA_LEVEL_PRESSURE = 101325.0  # Pa
SEA_LEVEL_TEMPERATURE = 288.15  # K
LAPSE = 0.0065  # K/m
GRAVITY = 9.80665  # m/s2
GAS_CONSTANT = 287.05287  # J/(kg K), air
EARTH_RADIUS = 6356766.0  # m
EXPONENT = GRAVITY / (GAS_CONSTANT * LAPSE)  # 5.255876...
LOWEST, HIGHEST = -1000.0, 11000.0  # m; the troposphere with some room below the sea


def geopotential(altitude: float) -> float:
    """Geopotential metres of a geometric `altitude` in m. Raises RangeError outside -1000 to 11000 m."""
    within(altitude, "altitude", LOWEST, HIGHEST, "m")
    return EARTH_RADIUS * altitude / (EARTH_RADIUS + altitude)


def temperature(altitude: float) -> float:
    """Standard air temperature in K at a geometric `altitude` in m. Raises RangeError."""
    return SEA_LEVEL_TEMPERATURE - LAPSE * geopotential(altitude)


def pressure(altitude: float) -> float:
    """Standard air pressure in Pa (absolute) at a geometric `altitude` in m. Raises RangeError."""
    return float(SEA_LEVEL_PRESSURE * (temperature(altitude) / SEA_LEVEL_TEMPERATURE) ** EXPONENT)


def density(absolute: float, kelvin: float) -> float:
    """Density of dry air in kg/m3 from absolute pressure in Pa and temperature in K. Raises RangeError."""
    return above(absolute, "pressure", 0, "Pa") / (GAS_CONSTANT * above(kelvin, "temperature", 0, "K"))


def pressure_share(altitude: float) -> float:
    """Air pressure at `altitude` (m) as a share of that at sea level. A cranking gauge reading scales with it."""
    return pressure(altitude) / SEA_LEVEL_PRESSURE


def _run(values: Values) -> tuple[Answer, ...]:
    here = pressure(values["altitude"])
    kelvin = temperature(values["altitude"])
    return (
        Answer("pressure", from_si(here, "kPa", "pressure"), "absolute"),
        Answer("temperature", from_si(kelvin, "degC", "temperature"), "of the standard day, not of yours"),
        Answer("density", from_si(density(here, kelvin), "kg/m3", "density")),
        Answer("share", from_si(here / SEA_LEVEL_PRESSURE, "%", "percent"), "a gauge reading scales by this"),
    )


SUBJECTS: tuple[Subject, ...] = (
    Subject(
        name="atmosphere",
        title="Standard air by altitude",
        formula="T = 288.15 - 0.0065 H; p = 101325 (T / 288.15)^5.25588; H = r h / (r + h), r = 6356766 m",
        source="ISO 2533 / U.S. Standard Atmosphere 1976, constants",
        mark="read",
        given=(Given("altitude", "length", "m", -400, 5500, meaning="height above the sea"),),
        run=_run,
    ),
)
