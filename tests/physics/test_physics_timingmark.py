"""Marks on wheels, positive stop and firing interval."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from physics_cited import cited

from firststart.errors import RangeError
from firststart.physics import timingmark as marks


@pytest.mark.external
@pytest.mark.parametrize(
    ("diameter", "per_degree"),
    cited("circumference over 360", [(150, 1.3090), (200, 1.7453), (250, 2.1817), (300, 2.6180)]),
)
def test_arc_per_degree(diameter: float, per_degree: float) -> None:
    """Millimetres of rim per degree."""
    assert pytest.approx(per_degree, abs=1e-4) == marks.arc(diameter / 1000, math.radians(1)) * 1000


@pytest.mark.external
def test_ten_degrees_on_a_200_mm_wheel() -> None:
    """17.45 mm along the rim and 17.43 mm straight (plane geometry)."""
    ten = math.radians(10)

    assert pytest.approx(17.45, abs=0.005) == marks.arc(0.2, ten) * 1000
    assert pytest.approx(17.43, abs=0.005) == marks.chord(0.2, ten) * 1000


@pytest.mark.external
@pytest.mark.parametrize(
    ("cylinders", "cycle", "degrees"),
    cited(
        "720/n and 360/n (from memory)",
        [
            (1, "four-stroke", 720),
            (2, "four-stroke", 360),
            (4, "four-stroke", 180),
            (6, "four-stroke", 120),
            (1, "two-stroke", 360),
            (2, "two-stroke", 180),
            (3, "two-stroke", 120),
        ],
    ),
)
def test_firing_interval(cylinders: int, cycle: str, degrees: float) -> None:
    """Even firing by cycle and cylinders."""
    assert pytest.approx(degrees) == math.degrees(marks.firing_interval(cylinders, cycle))


@pytest.mark.parametrize(
    ("first", "second", "top"),
    [(30, 330, 0), (330, 30, 0), (170, 190, 180), (350, 20, 5), (10, 50, 30), (100, 60, 80)],
)
def test_positive_stop_is_midway_over_the_short_way(first: float, second: float, top: float) -> None:
    """The arc the stop keeps the crank out of is the short one, through the pointer's zero or not."""
    found = math.degrees(marks.stop_centre(math.radians(first), math.radians(second)))

    assert pytest.approx(0, abs=1e-9) == (found - top + 180) % 360 - 180


@given(st.floats(0, 6.28), st.floats(0.01, 1.5))
def test_a_crank_stopped_alike_on_both_sides_gives_its_top(top: float, reach: float) -> None:
    """Wherever the pointer stands, marks made alike on either side of top lead back to top."""
    found = marks.stop_centre((top - reach) % marks.TURN, (top + reach) % marks.TURN)

    assert pytest.approx(0, abs=1e-6) == (found - top + math.pi) % marks.TURN - math.pi


@given(st.floats(0.04, 0.6), st.floats(0, 6.28))
def test_arc_there_and_back(diameter: float, angle: float) -> None:
    """Angle to rim length and back."""
    assume(angle < marks.TURN)
    assert pytest.approx(angle, abs=1e-9) == marks.angle_of_arc(diameter, marks.arc(diameter, angle))


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: marks.stop_centre(1.0, 1.0), "gap between the marks"),
        (lambda: marks.stop_centre(0.0, math.pi), "gap between the marks"),
        (lambda: marks.stop_centre(-0.1, 1.0), "first"),
        (lambda: marks.stop_centre(0.1, 7.0), "second"),
        (lambda: marks.arc(0.0, 0.1), "flywheel"),
        (lambda: marks.chord(0.2, -0.1), "angle"),
        (lambda: marks.angle_of_arc(0.2, 5.0), "arc"),
        (lambda: marks.firing_interval(0, "four-stroke"), "cylinders"),
    ],
)
def test_impossible_marks_are_refused_by_name(call: object, field: str) -> None:
    """Coinciding or opposite marks cannot tell where top is; sizes must be real."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field
