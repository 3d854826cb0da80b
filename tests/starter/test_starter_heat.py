"""The heat rule against an integrator: equal to its own equations, never cooler than the true ones."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from firststart.errors import RangeError
from firststart.physics.winding import step
from firststart.starter.duty import DutyClass, DutyClasses
from firststart.starter.permit import Crank, heat_series, permit

STARTERS = Path(__file__).parents[2] / "procedures" / "starters.yaml"
CLASSES = DutyClasses.from_data(yaml.safe_load(STARTERS.read_text(encoding="utf-8")))
NAMES = st.sampled_from(sorted(CLASSES.by_name))
LEGS = st.lists(st.tuples(st.floats(0.1, 25), st.floats(0, 900)), min_size=1, max_size=6)
AIR = st.floats(253.15, 333.15)


def history(legs: list[tuple[float, float]]) -> tuple[list[Crank], float]:
    """Cranks each followed by its rest, and the moment after the last rest."""
    ends = list(itertools.accumulate((c + r for c, r in legs), initial=0.0))
    return [Crank(start, c) for start, (c, _) in zip(ends, legs, strict=False)], ends[-1]


def integrate(duty: DutyClass, legs: list[tuple[float, float]], air: float) -> float:
    """Winding temperature by scipy's solve_ivp, the heat input held at the limit's resistance."""
    m = duty.heat.masses
    state = [air, air]
    for seconds, heat in (leg for c, r in legs for leg in ((c, duty.hot_rate), (r, 0.0))):
        if seconds == 0:
            continue

        def rates(_t: float, x: list[float], heat: float = heat) -> list[float]:
            flow = (x[0] - x[1]) / m.winding_s
            return [heat - flow, m.mass_ratio * flow - (x[1] - air) / m.body_s]

        done = solve_ivp(rates, (0, seconds), state, method="DOP853", rtol=1e-9, atol=1e-9)
        state = [float(done.y[0][-1]), float(done.y[1][-1])]
    return state[0]


@pytest.mark.external
@settings(max_examples=40, deadline=None)
@given(NAMES, LEGS, AIR)
def test_winding_temperature_equals_an_integrator(name: str, legs: list[tuple[float, float]], air: float) -> None:
    """The permit's winding temperature equals scipy's DOP853 over any history, class and air."""
    cranks, now = history(legs)

    assert integrate(CLASSES[name], legs, air) == pytest.approx(
        permit(cranks, CLASSES[name], now, air).winding_k, abs=1e-4
    )


@settings(deadline=None)
@given(NAMES, LEGS, AIR)
def test_never_cooler_than_copper_that_resists_more_as_it_warms(
    name: str, legs: list[tuple[float, float]], air: float
) -> None:
    """As long as the true winding keeps below its limit, the permit never takes it for cooler than it is."""
    duty = CLASSES[name]
    winding = body = air
    for crank, rest in legs:
        winding, body = step(duty.heat.masses, winding, body, air, crank, duty.cold_rate)
        if winding > duty.limit_k:
            return
        winding, body = step(duty.heat.masses, winding, body, air, rest)
    cranks, now = history(legs)

    assert permit(cranks, duty, now, air).winding_k >= winding - 1e-6


@settings(deadline=None)
@given(NAMES, LEGS, AIR)
def test_series_ends_where_the_permit_stands(name: str, legs: list[tuple[float, float]], air: float) -> None:
    """The series for a plot starts at the air, is in order of time, and ends at the permit's temperature."""
    cranks, now = history(legs)
    rows = heat_series(cranks, CLASSES[name], now, air, 7.0)
    times = [t for t, _, _ in rows]

    assert times == sorted(times)
    assert (air, air) == pytest.approx(rows[0][1:])
    assert permit(cranks, CLASSES[name], now, air).winding_k == pytest.approx(rows[-1][1])
    assert all(body <= max(w for _, w, _ in rows) + 1e-6 for _, _, body in rows)


def test_series_without_cranks_is_the_air() -> None:
    """A starter that never turned has the temperature of the air."""
    assert heat_series([], CLASSES["car"], 9.0, 300.0) == ((9.0, 300.0, 300.0),)


def test_series_needs_a_step() -> None:
    """A step of nothing is refused."""
    with pytest.raises(RangeError, match="every_s"):
        heat_series([Crank(0, 1)], CLASSES["car"], 9.0, 300.0, 0.0)
