"""Slider and crank against a table, scipy's root finder and scipy's integrator."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from physics_cited import cited
from scipy.integrate import quad
from scipy.optimize import brentq

from firststart.errors import RangeError
from firststart.physics import crankgeometry as crank

PSI = 6894.757293168
DEGREES = (5, 10, 15, 20, 25, 28, 30)
DROPS = (0.5, 1, 2, 3, 4, 5)
TABLE = {
    (50, 90): ((0.122, 0.485, 1.085, 1.915, 2.965, 3.695, 4.222), (10.16, 14.40, 20.45, 25.15, 29.17, 32.76)),
    (54, 100): ((0.130, 0.520, 1.164, 2.056, 3.183, 3.967, 4.533), (9.80, 13.89, 19.72, 24.25, 28.12, 31.57)),
    (68, 120): ((0.166, 0.662, 1.482, 2.615, 4.049, 5.046, 5.765), (8.69, 12.30, 17.46, 21.45, 24.84, 27.87)),
    (80, 135): ((0.197, 0.786, 1.761, 3.107, 4.810, 5.995, 6.849), (7.97, 11.28, 16.00, 19.65, 22.75, 25.50)),
    (90, 150): ((0.223, 0.887, 1.986, 3.506, 5.427, 6.763, 7.726), (7.50, 10.62, 15.05, 18.48, 21.39, 23.97)),
}


@pytest.mark.external
@pytest.mark.parametrize("engine", TABLE, ids=lambda e: f"scipy 1.17.1 brentq, stroke {e[0]} rod {e[1]}")
def test_piston_drop_table(engine: tuple[int, int]) -> None:
    """Millimetres below top at seven crank angles, within 0.005 mm (half the last digit printed)."""
    stroke, rod = engine[0] / 1000, engine[1] / 1000
    found = [crank.piston_drop(math.radians(d), stroke, rod) * 1000 for d in DEGREES]

    assert pytest.approx(TABLE[engine][0], abs=0.001) == found


@pytest.mark.external
@pytest.mark.parametrize("engine", TABLE, ids=lambda e: f"scipy 1.17.1 brentq, stroke {e[0]} rod {e[1]}")
def test_crank_angle_table(engine: tuple[int, int]) -> None:
    """Degrees before top at six piston positions, within 0.05 degree."""
    stroke, rod = engine[0] / 1000, engine[1] / 1000
    found = [math.degrees(crank.angle_at_drop(mm / 1000, stroke, rod)) for mm in DROPS]

    assert pytest.approx(TABLE[engine][1], abs=0.01) == found


strokes = st.floats(0.02, 0.3)
rod_ratios = st.floats(0.55, 3.0)


def textbook_drop(angle: float, stroke: float, rod: float) -> float:
    """The formula as printed in textbooks, with none of the rearrangement made for rounding."""
    r = stroke / 2
    return r * (1 - math.cos(angle)) + rod - math.sqrt(rod**2 - (r * math.sin(angle)) ** 2)


@pytest.mark.external
@given(strokes, rod_ratios, st.floats(0.0, 1.0))
def test_inverse_is_the_root_that_scipy_finds(stroke: float, ratio: float, share: float) -> None:
    """scipy brentq on the textbook formula agrees with the closed inverse anywhere on the stroke."""
    rod = ratio * stroke
    drop = share * textbook_drop(math.pi, stroke, rod)
    root = (
        brentq(lambda a: textbook_drop(a, stroke, rod) - drop, 0.0, math.pi, xtol=1e-13)
        if 0 < share < 1
        else (math.pi * share)
    )
    found = crank.angle_at_drop(min(drop, stroke), stroke, rod)

    assert pytest.approx(drop, abs=1e-12) == textbook_drop(found, stroke, rod)
    assert pytest.approx(root, abs=1e-4) == found


@pytest.mark.external
@given(strokes, rod_ratios, st.floats(0.01, math.pi))
def test_lever_integrates_to_the_piston_drop(stroke: float, ratio: float, angle: float) -> None:
    """scipy quad: the lever is the slope of the drop, so its integral from top is the drop (work is conserved)."""
    rod = ratio * stroke
    area, _ = quad(crank.lever, 0, angle, args=(stroke, rod))

    assert pytest.approx(textbook_drop(angle, stroke, rod), rel=1e-7, abs=1e-10) == area
    assert pytest.approx(area, rel=1e-7, abs=1e-10) == crank.piston_drop(angle, stroke, rod)


@pytest.mark.external
@pytest.mark.parametrize(
    ("bore", "stroke", "rod", "degrees", "torque"),
    cited(
        "80 psi (AC 43.13-1B page 8-15) on plane geometry, scipy 1.17.1",
        [
            (85, 80, 135, 1, 2.8),
            (85, 80, 135, 2, 5.7),
            (85, 80, 135, 5, 14.1),
            (85, 80, 135, 10, 28.1),
            (52, 50, 90, 5, 3.3),
            (52, 50, 90, 10, 6.5),
        ],
    ),
)
def test_torque_when_dead_centre_is_missed(
    bore: float, stroke: float, rod: float, degrees: float, torque: float
) -> None:
    """What 80 psi in the cylinder does to the crank a few degrees off."""
    found = crank.crank_torque(80 * PSI, math.radians(degrees), bore / 1000, stroke / 1000, rod / 1000)

    assert pytest.approx(torque, abs=0.06) == found


@given(strokes, rod_ratios, st.floats(0, 3.14159))
def test_there_and_back(stroke: float, ratio: float, angle: float) -> None:
    """Angle to millimetres and back is the same angle, best near the middle of the stroke."""
    rod = ratio * stroke
    back = crank.angle_at_drop(crank.piston_drop(angle, stroke, rod), stroke, rod)

    assert pytest.approx(angle, abs=1e-6 if angle < 3 else 1e-4) == back


def test_no_torque_at_dead_centre() -> None:
    """Exactly at the top the pressure pushes straight down the rod."""
    assert crank.crank_torque(80 * PSI, 0.0, 0.085, 0.08, 0.135) == 0.0


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: crank.piston_drop(0.5, 0.08, 0.04), "rod"),
        (lambda: crank.piston_drop(0.5, 0.08, 0.01), "rod"),
        (lambda: crank.piston_drop(0.5, -0.08, 0.135), "stroke"),
        (lambda: crank.piston_drop(0.5, 0.0, 0.135), "stroke"),
        (lambda: crank.piston_drop(99.0, 0.08, 0.135), "angle"),
        (lambda: crank.angle_at_drop(0.09, 0.08, 0.135), "piston"),
        (lambda: crank.angle_at_drop(-0.001, 0.08, 0.135), "piston"),
        (lambda: crank.angle_at_drop(math.nan, 0.08, 0.135), "piston"),
        (lambda: crank.crank_torque(-2e5, 0.1, 0.085, 0.08, 0.135), "pressure"),
        (lambda: crank.crank_torque(1e5, 0.1, 0.0, 0.08, 0.135), "bore"),
    ],
)
def test_impossible_geometry_is_refused_by_name(call: object, field: str) -> None:
    """A rod shorter than half the stroke, a piston off its stroke, a vacuum below none."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field


def test_the_short_rod_sentence_says_why() -> None:
    """The person reads what is wrong with the rod and the range it must have."""
    with pytest.raises(RangeError, match=r"rod is 30 mm, but must be more than 40 mm .*half the stroke"):
        crank.piston_drop(0.5, 0.08, 0.03)
