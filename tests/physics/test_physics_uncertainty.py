"""Pass, fail, or too near to say, against the rectangular distribution itself."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import uniform

from firststart.errors import RangeError
from firststart.physics.uncertainty import FAIL, NEAR, PASS, at_least, at_most, combined, decide, standard

readings = st.floats(-1e4, 1e4)
steps = st.floats(1e-3, 1e3)


@pytest.mark.external
def test_standard_uncertainty_of_a_step_is_0_29_of_it() -> None:
    """JCGM 100:2008 F.2.2.1 (from memory): u = 0.29 of the resolution."""
    assert pytest.approx(0.29, abs=0.002) == standard(1.0)


@pytest.mark.external
@given(steps)
def test_standard_uncertainty_equals_scipy_s_uniform_distribution(step: float) -> None:
    """scipy.stats.uniform over one step has this standard deviation."""
    assert pytest.approx(uniform(loc=-step / 2, scale=step).std(), rel=1e-9) == standard(step)


@pytest.mark.external
@given(readings, readings, steps)
def test_chance_is_that_of_scipy_s_uniform_distribution(value: float, limit: float, step: float) -> None:
    """scipy.stats.uniform gives the same chance that the true value reaches the limit."""
    chance = uniform(loc=value - step / 2, scale=step).sf(limit)
    found = at_least(value, limit, step)

    assert pytest.approx(chance, abs=1e-6) == found.chance
    assert {PASS: found.chance == 1, FAIL: found.chance == 0, NEAR: True}[found.word]


@pytest.mark.parametrize(
    ("value", "limit", "step", "word"),
    [
        (118, 115, 5, PASS),
        (117, 115, 5, NEAR),
        (113, 115, 5, NEAR),
        (112.5, 115, 5, FAIL),
        (117.5, 115, 5, PASS),
        (115, 115, 0, PASS),
        (114.999, 115, 0, FAIL),
        (100, 115, 5, FAIL),
    ],
)
def test_verdict_table(value: float, limit: float, step: float, word: str) -> None:
    """A reading within half a step of the limit is too near to say; on the edge of that band it is decided."""
    assert word == at_least(value, limit, step).word


@given(readings, readings, steps)
def test_the_two_sides_mirror_each_other(value: float, limit: float, step: float) -> None:
    """What passes as a least value fails as a most value, except near the limit, where both are too near."""
    low, high = at_least(value, limit, step), at_most(value, limit, step)

    assert pytest.approx(-low.margin) == high.margin
    assert {PASS: FAIL, FAIL: PASS, NEAR: NEAR}[low.word] == high.word


def test_margin_says_by_how_much() -> None:
    """The margin is signed: positive on the good side."""
    assert at_least(118, 115, 2).margin == 3
    assert at_most(118, 115, 2).margin == -3


@given(st.lists(st.floats(0, 1e3), min_size=1, max_size=5))
def test_parts_combine_by_root_sum_of_squares(parts: list[float]) -> None:
    """Independent parts add in quadrature (numpy's norm)."""
    assert pytest.approx(float(np.linalg.norm(parts)), rel=1e-9, abs=1e-12) == combined(*parts)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: at_least(1, 1, -1), "resolution"),
        (lambda: at_least(math.nan, 1, 1), "value"),
        (lambda: at_most(math.inf, 1, 1), "value"),
        (lambda: decide(1, -1), "guard"),
        (lambda: standard(-2), "resolution"),
        (lambda: combined(1, -1), "uncertainty"),
    ],
)
def test_impossible_doubt_is_refused_by_name(call: object, field: str) -> None:
    """A negative step and a reading that is not a number are typed errors."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field
