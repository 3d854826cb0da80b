"""Marks on a wheel, true top dead centre by a positive stop, and the interval between firings.

Angles in radians, lengths in metres.
"""

from __future__ import annotations

import math

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

TURN = 2 * math.pi
TURNS_PER_CYCLE = {"four-stroke": 2, "two-stroke": 1}


def arc(diameter: float, angle: float) -> float:
    """Length along the rim in m for `angle` rad on a wheel of `diameter` m. Raises RangeError."""
    return above(diameter, "flywheel", 0, "m") / 2 * within(angle, "angle", 0, TURN, "rad")


def chord(diameter: float, angle: float) -> float:
    """The same distance measured straight, as with callipers, in m. Raises RangeError."""
    return above(diameter, "flywheel", 0, "m") * math.sin(within(angle, "angle", 0, TURN, "rad") / 2)


def angle_of_arc(diameter: float, length: float) -> float:
    """Angle in rad of `length` m along the rim. Raises RangeError beyond one turn."""
    rim = math.pi * above(diameter, "flywheel", 0, "m")
    return TURN * within(length, "arc", 0, rim, "m", "the rim is no longer than this") / rim


def stop_centre(first: float, second: float) -> float:
    """True top dead centre in rad, 0 to one turn: midway between the marks where a positive stop met the piston.

    `first` and `second` are readings of one pointer in rad, one from each direction of turning. The crank
    cannot reach the arc about top dead centre, which is the shorter one. Raises RangeError when they coincide or lie
    half a turn apart, as neither tells which arc that is. From memory: the positive-stop method of engine tuners.
    """
    gap = (within(second, "second", 0, TURN, "rad") - within(first, "first", 0, TURN, "rad")) % TURN
    if gap < 1e-9 or abs(gap - math.pi) < 1e-9 or TURN - gap < 1e-9:
        within(gap, "gap between the marks", 1e-9, math.pi - 1e-9, "rad", "set the stop deeper and mark again")
    half = gap / 2 if gap < math.pi else (gap - TURN) / 2
    return (first + half) % TURN


def firing_interval(cylinders: float, cycle: str) -> float:
    """Crank angle in rad between firings of an engine that fires evenly. Raises RangeError.

    720 degrees over the cylinders for a four-stroke, 360 for a two-stroke (from memory). Twins with a shared or a
    V crank fire unevenly: this is then the mean.
    """
    within(cylinders, "cylinders", 1, None)
    return TURN * TURNS_PER_CYCLE[cycle] / cylinders


def _mark(values: Values) -> tuple[Answer, ...]:
    along = arc(values["flywheel"], values["angle"])
    straight = chord(values["flywheel"], values["angle"])
    return (
        Answer("arc", from_si(along, "mm", "length"), "along the rim, with a strip of paper"),
        Answer("chord", from_si(straight, "mm", "length"), "straight, with callipers"),
    )


def _stop(values: Values) -> tuple[Answer, ...]:
    centre = stop_centre(values["first"], values["second"])
    return (Answer("top", from_si(centre, "deg", "angle"), "where the pointer stands at top dead centre"),)


def _interval(values: Values) -> tuple[Answer, ...]:
    interval = firing_interval(values["cylinders"], values["cycle"])
    return (Answer("interval", from_si(interval, "deg", "angle"), "mean, when the engine fires unevenly"),)


_CIRCLE = "deg", 0, 360

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "timing-mark", "A timing mark on any wheel", "arc = pi D a / 360; chord = D sin(a / 2)",
        "plane geometry", "computed",
        (
            Given("angle", "angle", "deg", 0, 90, meaning="advance"),
            Given("flywheel", "length", "mm", 40, 600, meaning="diameter of the wheel at the mark"),
        ),
        _mark,
    ),
    Subject(
        "top-dead-centre", "True top dead centre by a positive stop", "midway between the two marks",
        "positive-stop method", "from memory",
        (
            Given("first", "angle", *_CIRCLE, meaning="pointer reading, turned forward to the stop"),
            Given("second", "angle", *_CIRCLE, meaning="pointer reading, turned back to the stop"),
        ),
        _stop,
    ),
    Subject(
        "firing-interval", "Crank angle between firings", "720 / n four-stroke, 360 / n two-stroke",
        "counting of cycles", "from memory",
        (
            Given("cylinders", "count", "", 1, 8, meaning="number of cylinders", whole=True),
            Given("cycle", "count", "", 0, 0, "four-stroke", "cycle", ("four-stroke", "two-stroke")),
        ),
        _interval,
    ),
)
