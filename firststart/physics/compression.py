"""What a cranking compression gauge should read: a band, not a point.

Pressures in Pa; `gauge` is above the air around, `absolute` above a vacuum, and every name says which.
p2 = p1 CR^n (polytropic), CR counted from where the intake valve closes; gauge = p2 - p1. In this ideal model the
reading is proportional to the air pressure and does not depend on the air temperature.
"""

from __future__ import annotations

import math

from firststart.physics.atmosphere import pressure, pressure_share
from firststart.physics.crankgeometry import crank_torque, piston_drop
from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.physics.timingmark import TURNS_PER_CYCLE
from firststart.units import from_si


def clearance_volume(swept: float, ratio: float) -> float:
    """Volume above the piston at its top, m3, from the `swept` volume of one cylinder and the ratio. RangeError."""
    return above(swept, "volume", 0, "m3") / (above(ratio, "ratio", 1) - 1)


def trapped_share(stroke: float, rod: float, closes: float) -> float:
    """Share of the stroke left when the intake closes at `closes` rad after bottom dead centre. Raises RangeError."""
    within(closes, "intake-closes", 0, math.pi, "rad")
    return piston_drop(math.pi - closes, stroke, rod) / stroke


def effective_ratio(ratio: float, trapped: float = 1.0) -> float:
    """Ratio counted from intake closing, `trapped` the share of the stroke then left: 1 + (CR - 1) x/S. RangeError."""
    within(trapped, "trapped share", 0, 1)
    return 1 + (above(ratio, "ratio", 1) - 1) * trapped


def cranking_gauge(ambient: float, effective: float, exponent: float) -> float:
    """Gauge pressure in Pa at the end of compression from `ambient` Pa absolute. Raises RangeError.

    Source: polytropic relation, Compression ratio article (worked example 7.5, 1.3, 14.7 psi -> 187.1 psi gauge).
    """
    above(ambient, "air pressure", 0, "Pa", "below a vacuum")
    within(effective, "effective ratio", 1, None)
    within(exponent, "exponent", 1, 1.67)
    return float(ambient * (effective**exponent - 1))


def expected_band(
    ambient: float, effective: tuple[float, float], exponents: tuple[float, float]
) -> tuple[float, float]:
    """(low, high) gauge pressure in Pa over the two ends of effective ratio and exponent. Raises RangeError."""
    low = cranking_gauge(ambient, min(effective), min(exponents))
    return low, cranking_gauge(ambient, max(effective), max(exponents))


def at_altitude(gauge: float, altitude: float) -> float:
    """Reading in Pa to expect at `altitude` m where `gauge` Pa is right at sea level. Raises RangeError.

    Exact for the ideal model. Tables of diesel makers, made by density, are milder: TM 5-3895-359-14&P Table 1 asks
    5 per cent more at 10 000 ft.
    """
    return check_gauge(gauge) * pressure_share(altitude)


def at_sea_level(gauge: float, altitude: float) -> float:
    """What a reading of `gauge` Pa at `altitude` m would be at sea level. Raises RangeError."""
    return check_gauge(gauge) / pressure_share(altitude)


def check_gauge(gauge: float, ambient: float = 101325.0) -> float:
    """`gauge` itself when above a vacuum; else RangeError."""
    return above(gauge, "pressure", -ambient, "Pa", "below a vacuum")


def oil_factor(swept: float, ratio: float, oil: float, exponent: float, trapped: float = 1.0) -> float:
    """How many times the gauge reading grows from the room that `oil` m3 takes above the piston. Raises RangeError.

    An upper bound: oil that runs past the rings takes no room. Oil as large as the clearance volume would lock the
    engine and is refused.
    """
    room = clearance_volume(swept, ratio)
    within(oil, "oil", 0, None, "m3")
    if oil >= room:
        within(oil, "oil", 0, room, "m3", "this much liquid locks the engine")
    dry = effective_ratio(ratio, trapped)
    wet = 1 + trapped * swept / (room - oil)
    return cranking_gauge(1.0, wet, exponent) / cranking_gauge(1.0, dry, exponent)


def cranking_time(strokes: float, speed: float, cycle: str) -> float:
    """Seconds for `strokes` compression strokes of one cylinder at `speed` revolutions a second. Raises RangeError."""
    within(strokes, "strokes", 0, None)
    return strokes * TURNS_PER_CYCLE[cycle] / above(speed, "cranking speed", 0, "1/s")


def peak_torque(
    ambient: float, ratio: float, exponent: float, bore: float, stroke: float, rod: float, closes: float
) -> tuple[float, float]:
    """(torque in Nm, angle in rad before top) at the hardest point of one compression stroke. Raises RangeError.

    Gas pressure only: friction, oil drag and the other cylinders are not in it. Found on a grid of 0.1 degree, whose
    error is far under the uncertainty of the exponent.
    """
    start = effective_ratio(ratio, trapped_share(stroke, rod, closes))

    def torque(angle: float) -> float:
        here = 1 + (ratio - 1) * piston_drop(angle, stroke, rod) / stroke
        gauge = ambient * ((start / here) ** exponent - 1)
        return crank_torque(gauge, angle, bore, stroke, rod)

    steps = int(math.degrees(math.pi - closes) * 10)
    return max((torque(math.radians(i / 10)), math.radians(i / 10)) for i in range(1, steps))


def _expected(values: Values) -> tuple[Answer, ...]:
    ambient = pressure(values["altitude"])
    trapped = trapped_share(values["stroke"], values["rod"], values["intake-closes"])
    effective = effective_ratio(values["ratio"], trapped)
    within(values["exponent-high"], "exponent-high", values["exponent-low"], 1.67, why="no less than exponent-low")
    low = cranking_gauge(ambient, effective, values["exponent-low"])
    high = cranking_gauge(ambient, effective, values["exponent-high"])
    return (
        Answer("effective-ratio", from_si(effective, ":1", "ratio"), "from where the intake closes"),
        Answer("low", from_si(low, "psi", "pressure"), "gauge"),
        Answer("high", from_si(high, "psi", "pressure"), "gauge"),
        Answer("low-absolute", from_si(low + ambient, "psi", "pressure"), "absolute"),
        Answer("high-absolute", from_si(high + ambient, "psi", "pressure"), "absolute"),
    )


def _altitude(values: Values) -> tuple[Answer, ...]:
    here = at_altitude(values["reading"], values["altitude"])
    return (Answer("here", from_si(here, "psi", "pressure"), "gauge; air temperature makes no difference to it"),)


def _oil(values: Values) -> tuple[Answer, ...]:
    room = clearance_volume(values["volume"], values["ratio"])
    factor = oil_factor(values["volume"], values["ratio"], values["oil"], values["exponent"])
    return (
        Answer("clearance", from_si(room, "ml", "volume"), "above the piston at its top"),
        Answer("oil-share", from_si(values["oil"] / room, "%", "percent"), "keep under 25 %"),
        Answer("factor", f"{factor:.3g}", "times the reading, from the room the oil takes alone, at most"),
    )


def _time(values: Values) -> tuple[Answer, ...]:
    seconds = cranking_time(values["strokes"], values["speed"], values["cycle"])
    return (Answer("time", from_si(seconds, "s", "time"), "for one cylinder"),)


def _peak(values: Values) -> tuple[Answer, ...]:
    torque, angle = peak_torque(
        pressure(values["altitude"]), values["ratio"], values["exponent"], values["bore"], values["stroke"],
        values["rod"], values["intake-closes"],
    )  # fmt: skip
    return (
        Answer("torque", from_si(torque, "Nm", "torque"), "gas alone, one cylinder"),
        Answer("angle", from_si(angle, "deg", "angle"), "before top dead centre"),
    )


RATIO = Given("ratio", "ratio", ":1", 4, 25, meaning="compression ratio")
ALTITUDE = Given("altitude", "length", "m", -400, 5500, "0 m", "height above the sea")
_STROKE = Given("stroke", "length", "mm", 20, 300, meaning="stroke")
_ROD = Given("rod", "length", "mm", 20, 600, meaning="connecting rod, centre to centre")
_CLOSES = Given("intake-closes", "angle", "deg", 0, 110, "50 deg", "intake valve closes after bottom dead centre")
_EXPONENT = Given("exponent", "count", "", 1, 1.67, "1.25", "polytropic exponent")
_POLYTROPIC = "polytropic relation, Compression ratio article; exponent 1.30 +- 0.05 Heywood (from memory)"

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "compression", "Cranking compression to expect",
        "gauge = p (CRe^n - 1); CRe = 1 + (CR - 1) x/S at intake closing", _POLYTROPIC, "read",
        (
            RATIO, _STROKE, _ROD, _CLOSES, ALTITUDE,
            Given("exponent-low", "count", "", 1, 1.67, "1.20", "lowest exponent"),
            Given("exponent-high", "count", "", 1, 1.67, "1.30", "highest exponent"),
        ),
        _expected,
    ),
    Subject(
        "compression-altitude", "A sea-level compression figure at altitude", "reading x p(altitude) / 101325",
        "algebra of the polytropic relation; ISO 2533", "computed",
        (Given("reading", "pressure", "psi", 0, 700, meaning="the figure right at sea level"), ALTITUDE), _altitude,
    ),
    Subject(
        "wet-test-oil", "Room taken by wet-test oil, and what it adds to the reading",
        "Vc = V / (CR - 1); CR' = 1 + V / (Vc - oil); factor = (CR'^n - 1) / (CR^n - 1)",
        "algebra of the polytropic relation", "computed",
        (
            Given("volume", "volume", "ml", 20, 5000, meaning="swept volume of one cylinder"), RATIO,
            Given("oil", "volume", "ml", 0, 100, meaning="oil poured in"), _EXPONENT,
        ),
        _oil,
    ),
    Subject(
        "cranking-time", "Cranking needed for a compression reading", "t = strokes x turns per cycle / speed",
        "counting of cycles; five strokes or more: TM 5-4210-230-14&P-1, Addendum 2", "read",
        (
            Given("speed", "speed", "rpm", 20, 1500, meaning="cranking speed"),
            Given("strokes", "count", "", 1, 50, "5", "compression strokes wanted", whole=True),
            Given("cycle", "count", "", 0, 0, "four-stroke", "cycle", ("four-stroke", "two-stroke")),
        ),
        _time,
    ),
    Subject(
        "compression-torque", "Torque to turn one cylinder over compression",
        "max over a of p ((CRe / CR(a))^n - 1) (pi/4) bore^2 dx/da", "polytropic relation and plane geometry",
        "computed",
        (RATIO, Given("bore", "length", "mm", 20, 250, meaning="bore"), _STROKE, _ROD, _CLOSES, ALTITUDE, _EXPONENT),
        _peak,
    ),
)
