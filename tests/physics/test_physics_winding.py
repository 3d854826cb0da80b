"""Winding heat: the exact two-mass solution against an integrator, and copper against the books."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.linalg import expm

from firststart.errors import InputError, RangeError
from firststart.physics.winding import ALPHA20, RHO20, T20, TwoMass, grown, heating_rate, modes, step
from firststart.physics.windingheat import (
    SUBJECTS,
    adiabatic_current,
    adiabatic_seconds,
    adiabatic_temperature,
    cooled,
    cooling_seconds,
    fusing_current,
    resistance_as_at_20,
    resistance_at,
    temperature_by_resistance,
    tries,
)

C0 = 273.15
AWG16 = math.pi / 4 * 2.54e-5**2 * 50.82**2  # m2, 50.82 mil (ASTM B258)
MASSES = st.builds(TwoMass, st.floats(10, 600), st.floats(300, 7200), st.floats(0.02, 1.5))


def integrate(
    masses: TwoMass, winding: float, body: float, air: float, seconds: float, heat: float
) -> tuple[float, float]:
    """The same two equations by a general-purpose integrator."""

    def rates(_t: float, state: list[float]) -> list[float]:
        w, b = state
        flow = (w - b) / masses.winding_s
        return [heat * (1 + ALPHA20 * (w - T20)) - flow, masses.mass_ratio * flow - (b - air) / masses.body_s]

    done = solve_ivp(rates, (0, seconds), [winding, body], method="DOP853", rtol=1e-10, atol=1e-9)
    return float(done.y[0][-1]), float(done.y[1][-1])


@pytest.mark.external
@settings(max_examples=60, deadline=None)
@given(MASSES, st.floats(250, 450), st.floats(250, 400), st.floats(240, 350), st.floats(0.1, 900), st.floats(0, 5))
def test_exact_step_equals_an_integrator(
    masses: TwoMass, winding: float, body: float, air: float, seconds: float, heat: float
) -> None:
    """Over all constants and states the closed solution equals scipy's DOP853 (scipy 1.17 solve_ivp)."""
    seconds = seconds if heat == 0 else min(seconds, 60.0)
    expected = integrate(masses, winding, body, air, seconds, heat)

    assert expected == pytest.approx(step(masses, winding, body, air, seconds, heat), rel=1e-7)


@pytest.mark.external
@settings(max_examples=60, deadline=None)
@given(MASSES, st.floats(-50, 200), st.floats(-50, 200), st.floats(0, 3000))
def test_modes_are_the_matrix_exponential(masses: TwoMass, winding: float, body: float, seconds: float) -> None:
    """Rest over any time equals scipy.linalg.expm of the 2x2 matrix."""
    link, back = 1 / masses.winding_s, masses.mass_ratio / masses.winding_s
    matrix = expm([[-link * seconds, link * seconds], [back * seconds, -(back + 1 / masses.body_s) * seconds]])
    expected = matrix @ [winding, body]
    got = step(masses, winding, body, 0.0, seconds)

    assert tuple(expected) == pytest.approx(got, abs=1e-7)


@settings(deadline=None)
@given(MASSES)
def test_modes_decay_and_share_the_input(masses: TwoMass) -> None:
    """Both exponentials decay, both take a positive share of the heat, and the shares make one winding, no body."""
    m = modes(masses)

    assert max(m.rates) < 0
    assert min(m.shares) >= 0
    assert pytest.approx(m.join(*m.shares), abs=1e-9) == (1.0, 0.0)


def test_growth_through_zero_is_smooth() -> None:
    """A mode that neither decays nor grows integrates to a straight line."""
    assert grown(0.0, 7.0) == 7.0
    assert grown(1e-13, 7.0) == pytest.approx(grown(1e-11, 7.0), rel=1e-9)


@pytest.mark.external
@pytest.mark.parametrize(("amps_mm2", "rate"), [(10, 0.504), (20, 2.015), (30, 4.534)])
def test_heating_rate_of_copper(amps_mm2: float, rate: float) -> None:
    """J2 rho / (c gamma) with IEC 60028 resistivity and handbook heat and density."""
    assert rate == pytest.approx(heating_rate(amps_mm2 * 1e6), rel=0.01)


@pytest.mark.external
def test_resistivity_is_58_megasiemens() -> None:
    """IEC 60028: 58 MS/m at 20 degC."""
    assert pytest.approx(1 / RHO20, rel=1e-4) == 58e6


@pytest.mark.external
@pytest.mark.parametrize(
    ("amps_mm2", "seconds", "celsius"),
    [(20, 5, 30.3), (20, 10, 41.0), (20, 15, 52.1), (20, 30, 88.2), (20, 60, 174.8),
     (30, 5, 43.7), (30, 10, 69.6), (30, 15, 98.0), (30, 30, 199.8)],
)  # fmt: skip
def test_adiabatic_temperature(amps_mm2: float, seconds: float, celsius: float) -> None:
    """Adiabatic heating of copper with R(T): arithmetic from IEC 60028 copper, 385 J/kgK, 8890 kg/m3."""
    assert celsius == pytest.approx(adiabatic_temperature(T20, amps_mm2 * 1e6, seconds) - C0, abs=0.5)


@pytest.mark.external
@pytest.mark.parametrize(("limit", "seconds"), [(105, 36.4), (130, 45.4), (155, 53.7)])
def test_time_to_thermal_class(limit: float, seconds: float) -> None:
    """Time to the classes of IEC 60085 at 20 A/mm2 from 20 degC, and back again."""
    found = adiabatic_seconds(T20, limit + C0, 20e6)

    assert seconds == pytest.approx(found, rel=0.01)
    assert limit + C0 == pytest.approx(adiabatic_temperature(T20, 20e6, found))


@pytest.mark.external
@pytest.mark.parametrize(("k", "celsius"), [(234.5, 96.35), (235.0, 96.50)])
def test_winding_temperature_by_resistance(k: float, celsius: float) -> None:
    """IEC 60034-1 clause 8 (from memory): ratio 1.30 from 20 degC, with both constants in use."""
    assert celsius == pytest.approx(temperature_by_resistance(T20, 1.30, k) - C0, abs=0.01)


@pytest.mark.external
@pytest.mark.parametrize(("celsius", "ohm"), [(0, 2.764), (60, 3.472), (80, 3.707)])
def test_resistance_at_temperature(celsius: float, ohm: float) -> None:
    """R20 (1 + 0.00393 (t - 20)) for 3.0 ohm, alpha of IEC 60028; and its inverse."""
    found = resistance_at(3.0, celsius + C0)

    assert ohm == pytest.approx(found, rel=1e-3)
    assert pytest.approx(resistance_as_at_20(found, celsius + C0)) == 3.0


@pytest.mark.external
def test_onderdonk_has_a_plus_sign() -> None:
    """AWG 16, 25 degC, 5 s: 234 + Ta gives 169 A; the copied slip 234 - Ta would give 178 A."""
    found = fusing_current(AWG16, 25 + C0, 1083 + C0, 5)
    slip = 50.82**2 * math.sqrt(math.log10(1 + 1058 / (234 - 25)) / (33 * 5))

    assert pytest.approx(found, rel=0.01) == 168.9
    assert pytest.approx(slip, abs=1) == 178


@pytest.mark.external
def test_iec_adiabatic_agrees_with_onderdonk() -> None:
    """IEC 60949 K = 226 (from memory) gives 168.6 A for the same wire."""
    assert pytest.approx(adiabatic_current(AWG16, 25 + C0, 1083 + C0, 5), rel=0.01) == 168.6


@pytest.mark.external
def test_iec_constant_rebuilt() -> None:
    """K = sqrt(Qc (beta + 20) / rho20) with Qc 3.45e-3 J/K mm3 is 225.67, within 0.2 % of 226."""
    rebuilt = math.sqrt(3.45e-3 * (234.5 + 20) / (RHO20 * 1e3))

    assert pytest.approx(rebuilt, abs=0.02) == 225.67
    assert pytest.approx(rebuilt, rel=0.002) == 226


@settings(deadline=None)
@given(st.floats(1, 200), st.floats(0.5, 0.99), st.floats(10, 5000))
def test_cooling_and_its_time_are_inverse(excess: float, share: float, constant: float) -> None:
    """The time to cool to a share of the excess, put back, gives that share."""
    wait = cooling_seconds(excess, excess * share, constant)

    assert excess * share == pytest.approx(cooled(excess, wait, constant))


def test_already_cool_needs_no_wait() -> None:
    """A winding below the limit waits no time."""
    assert cooling_seconds(10.0, 20.0, 600.0) == 0.0


@pytest.mark.external
@settings(max_examples=30, deadline=None)
@given(st.floats(293.15, 353.15), st.floats(2, 30), st.floats(0, 600))
def test_a_hot_start_is_the_integrator_s_from_a_warmer_starter(start: float, crank: float, rest: float) -> None:
    """Beside a hot engine the first crank ends where scipy's DOP853 ends from that state; no more tries are left."""
    masses, air = TwoMass(90, 2400, 0.2), 293.15
    hot = tries(masses, 2.0, air, crank, rest, 2000.0, 1, start)
    winding, _ = integrate(masses, start, start, air, crank, 2.0)

    assert pytest.approx(winding, abs=1e-4) == hot[0][0]
    assert len(tries(masses, 2.0, air, crank, rest, 373.15, start=start)) <= len(
        tries(masses, 2.0, air, crank, rest, 373.15)
    )


def test_more_rest_gives_more_tries() -> None:
    """Tries below the limit grow with rest; none when the first crank is already too hot."""
    masses = TwoMass(90, 2400, 0.2)
    few, many = (len(tries(masses, 2.0, 293.15, 10, rest, 373.15)) for rest in (10, 300))

    assert 0 < few < many
    assert tries(masses, 50.0, 293.15, 10, 60, 373.15) == ()


@pytest.mark.parametrize(
    "call",
    [
        lambda: adiabatic_temperature(-1, 20e6, 5),
        lambda: adiabatic_temperature(293, math.nan, 5),
        lambda: adiabatic_temperature(293, 20e6, -5),
        lambda: adiabatic_seconds(293, 280, 20e6),
        lambda: temperature_by_resistance(293, 0.0),
        lambda: resistance_at(-3, 293),
        lambda: resistance_at(3, 20),
        lambda: cooling_seconds(50, 0, 600),
        lambda: fusing_current(0, 293, 1356, 5),
    ],
)
def test_impossible_input_is_refused(call: object) -> None:
    """Wrong sign, below absolute zero, celsius for kelvin, NaN: a typed error."""
    with pytest.raises(RangeError):
        call()  # type: ignore[operator]


def test_a_subject_names_what_is_missing() -> None:
    """Asking for copper heating without the current says which input is missing and how to give it."""
    with pytest.raises(InputError, match="copper-heating needs current"):
        SUBJECTS[0].read({"area": "25 mm2", "time": "10 s"})
