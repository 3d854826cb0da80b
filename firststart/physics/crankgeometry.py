"""Slider and crank both ways, the cylinder's volume, and how gas pressure turns the crank.

Angles in radians from top dead centre, lengths in metres. No pin offset. Elementary geometry:
x = r (1 - cos a) + L - sqrt(L^2 - r^2 sin^2 a), with r half the stroke and L the rod, written so that nothing
is lost near dead centre.
"""

from __future__ import annotations

import math

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si


def check_geometry(stroke: float, rod: float) -> tuple[float, float]:
    """(crank radius, rod) in m. Raises RangeError for a rod that cannot pass the crank."""
    above(stroke, "stroke", 0, "m")
    above(rod, "rod", stroke / 2, "m", "a rod must be longer than half the stroke")
    return stroke / 2, rod


def piston_drop(angle: float, stroke: float, rod: float) -> float:
    """How far the piston is below its top, in m, at crank `angle` in rad from top dead centre. Raises RangeError."""
    r, length = check_geometry(stroke, rod)
    within(angle, "angle", -2 * math.pi, 2 * math.pi, "rad")
    side = r * math.sin(angle)
    tilt = side * side / (length + math.sqrt(length * length - side * side))
    return 2 * r * math.sin(angle / 2) ** 2 + tilt


def angle_at_drop(drop: float, stroke: float, rod: float) -> float:
    """Crank angle in rad, 0 to pi, where the piston is `drop` m below its top. Raises RangeError.

    The cosine rule in its half-angle form: sin^2(a/2) = x (2L - x) / (4 r (r + L - x)).
    """
    r, length = check_geometry(stroke, rod)
    within(drop, "piston", 0, stroke, "m", "the piston moves only over its stroke")
    square = drop * (2 * length - drop) / (4 * r * (r + length - drop))
    return 2 * math.asin(math.sqrt(min(square, 1.0)))  # rounding may leave 1 + 1e-16 at the bottom


def lever(angle: float, stroke: float, rod: float) -> float:
    """dx/da in m: force on the piston times this is torque on the crank, friction left out. Raises RangeError."""
    r, length = check_geometry(stroke, rod)
    sine, cosine = math.sin(angle), math.cos(angle)
    return r * sine * (1 + r * cosine / math.sqrt(length * length - (r * sine) ** 2))


def bore_area(bore: float) -> float:
    """Area of the bore in m2. Raises RangeError."""
    return math.pi / 4 * above(bore, "bore", 0, "m") ** 2


def crank_torque(gauge: float, angle: float, bore: float, stroke: float, rod: float) -> float:
    """Torque in Nm that `gauge` Pa in the cylinder puts on the crank at `angle` rad from top dead centre.

    Raises RangeError. Zero exactly at dead centre and growing fast beside it.
    """
    above(gauge, "pressure", -101325.0, "Pa", "below a vacuum")
    return gauge * bore_area(bore) * lever(angle, stroke, rod)


def _position(values: Values) -> tuple[Answer, ...]:
    drop = piston_drop(values["angle"], values["stroke"], values["rod"])
    return (
        Answer("piston", from_si(drop, "mm", "length"), "below its top"),
        Answer("share", from_si(drop / values["stroke"], "%", "percent"), "of the stroke"),
    )


def _angle(values: Values) -> tuple[Answer, ...]:
    angle = angle_at_drop(values["piston"], values["stroke"], values["rod"])
    return (Answer("angle", from_si(angle, "deg", "angle"), "before or after top dead centre"),)


def _torque(values: Values) -> tuple[Answer, ...]:
    torque = crank_torque(values["pressure"], values["angle"], values["bore"], values["stroke"], values["rod"])
    note = "CAUTION: the crank can jump; keep hands and tools off it, or let the pressure out first"
    return (Answer("torque", from_si(torque, "Nm", "torque"), note),)


_STROKE = Given("stroke", "length", "mm", 20, 300, meaning="stroke")
_ROD = Given("rod", "length", "mm", 20, 600, meaning="connecting rod, centre to centre")
_FORMULA = "x = r (1 - cos a) + L - sqrt(L^2 - r^2 sin^2 a), r = stroke / 2"

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "piston-position", "Piston below its top at a crank angle", _FORMULA, "plane geometry", "computed",
        (Given("angle", "angle", "deg", 0, 180, meaning="crank angle from top dead centre"), _STROKE, _ROD),
        _position,
    ),
    Subject(
        "crank-angle", "Crank angle at a piston position",
        "sin^2(a/2) = x (2L - x) / (4 r (r + L - x)), r = stroke / 2", "plane geometry", "computed",
        (Given("piston", "length", "mm", 0, 300, meaning="piston below its top"), _STROKE, _ROD),
        _angle,
    ),
    Subject(
        "crank-torque", "Torque on the crank from pressure in a cylinder off dead centre",
        "T = p (pi/4) bore^2 dx/da", "plane geometry", "computed",
        (
            Given("pressure", "pressure", "psi", 0, 700, "80 psi", "gauge pressure in the cylinder"),
            Given("angle", "angle", "deg", 0, 180, meaning="crank angle off top dead centre"),
            Given("bore", "length", "mm", 20, 250, meaning="bore"),
            _STROKE,
            _ROD,
        ),
        _torque,
    ),
)
