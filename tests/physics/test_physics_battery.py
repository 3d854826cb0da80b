"""Lead-acid batteries against a maker's note, army manuals and car manuals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.errors import InputError, RangeError
from firststart.physics.battery import (
    ARMY_12,
    F80,
    FLOOR_A,
    FLOOR_B,
    SUBJECTS,
    SYSTEMS,
    VOLTAGE_12,
    as_12,
    charge_by_density,
    charge_by_voltage,
    corrected_density,
    freezing_caution,
    interpolate,
    load_floor,
    load_test_current,
    scaled,
    self_discharge,
    voltage_from_density,
)
from firststart.units import quantity

C0 = 273.15


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) * 5 / 9


@pytest.mark.external
@pytest.mark.parametrize(("volts", "per_cent"), [(12.0, 16.2), (12.2, 44.4), (12.4, 69.0), (12.6, 93.7)])
def test_charge_by_voltage(volts: float, per_cent: float) -> None:
    """Linear interpolation of a battery maker's state of charge note (12.65 to 11.89 V at 80 degF)."""
    assert per_cent == pytest.approx(100 * charge_by_voltage(volts), abs=1)


@pytest.mark.external
@pytest.mark.parametrize(("volts", "per_cent"), [(12.6, 100), (12.4, 75), (12.2, 50), (12.0, 25), (11.7, 0)])
def test_charge_by_the_army_steps(volts: float, per_cent: float) -> None:
    """TM 5-3805-262-20 p 5-142."""
    assert per_cent == pytest.approx(100 * charge_by_voltage(volts, "12", ARMY_12))


@pytest.mark.external
@settings(deadline=None)
@given(st.floats(11, 13))
def test_interpolation_equals_numpy(volts: float) -> None:
    """Between and beyond the points it is numpy.interp."""
    table = [(v, s) for s, v in VOLTAGE_12]
    expected = np.interp(volts, *zip(*table, strict=True))

    assert expected == pytest.approx(interpolate(table, volts), abs=1e-12)


@pytest.mark.external
@pytest.mark.parametrize(
    ("system", "full", "half", "floor"), [("6", 6.33, 6.12, 4.8), ("12", 12.65, 12.24, 9.6), ("24", 25.30, 24.48, 19.2)]
)
def test_other_voltages_are_cells(system: str, full: float, half: float, floor: float) -> None:
    """Per-cell algebra of the maker's note and of the car manuals' 9.6 V."""
    assert full == pytest.approx(scaled(12.65, system), abs=0.03)
    assert pytest.approx(charge_by_voltage(half, system), abs=0.02) == 0.5
    assert floor == pytest.approx(load_floor(21 + C0, system), abs=0.03)


@pytest.mark.external
@pytest.mark.parametrize(
    ("fahrenheit", "correction"), [(0, -0.032), (32, -0.019), (50, -0.012), (80, 0), (100, 0.008), (120, 0.016)]
)
def test_density_correction(fahrenheit: float, correction: float) -> None:
    """Battery maker's note; TM 5-1185 Table IV agrees cell by cell."""
    assert correction == pytest.approx(corrected_density(1.25, kelvin(fahrenheit)) - 1.25, abs=0.001)


@pytest.mark.external
@pytest.mark.parametrize(("density", "per_cent"), [(1.265, 100), (1.225, 75), (1.190, 50), (1.155, 25), (1.120, 0)])
def test_charge_by_density(density: float, per_cent: float) -> None:
    """Battery maker's note at 80 degF."""
    assert per_cent == pytest.approx(100 * charge_by_density(density))


@pytest.mark.external
def test_rule_of_thumb_joins_density_and_voltage() -> None:
    """Density + 0.845 a cell (from memory) gives 12.66 V for 1.265."""
    assert pytest.approx(voltage_from_density(1.265), abs=0.01) == 12.66


@pytest.mark.external
@pytest.mark.parametrize(
    ("celsius", "volts"), [(16, 9.5), (10, 9.4), (4, 9.3), (-1, 9.1), (-7, 8.9), (-12, 8.7), (-18, 8.5)]
)
def test_load_floor_by_temperature(celsius: float, volts: float) -> None:
    """Kia Amanti service manual, load test minimum."""
    assert volts == pytest.approx(load_floor(celsius + C0), abs=0.05)


@pytest.mark.external
@pytest.mark.parametrize(("celsius", "volts"), [(21, 9.6), (10, 9.4), (0, 9.1), (-10, 8.8), (-18, 8.0)])
def test_the_other_makers_floor(celsius: float, volts: float) -> None:
    """Suzuki Aerio service manual, load test minimum."""
    assert volts == pytest.approx(load_floor(celsius + C0, table=FLOOR_B), abs=0.05)


@pytest.mark.external
def test_the_two_tables_split_in_the_cold() -> None:
    """At -18 degC the makers differ by half a volt (8.5 and 8.0 V); from -1 degC up by less than 0.1 V."""
    cold = load_floor(-18 + C0) - load_floor(-18 + C0, table=FLOOR_B)
    mild = [abs(interpolate(FLOOR_A, t) - interpolate(FLOOR_B, t)) for t in range(-1, 25)]

    assert pytest.approx(cold) == 0.5
    assert max(mild) < 0.1


@pytest.mark.external
@pytest.mark.parametrize(("fahrenheit", "per_day"), [(100, 0.0025), (80, 0.001), (50, 0.0003)])
def test_self_discharge(fahrenheit: float, per_day: float) -> None:
    """TM 9-6140-200-14 section 4-8."""
    assert 10 * per_day == pytest.approx(self_discharge(10, kelvin(fahrenheit)), rel=0.1)


@pytest.mark.parametrize(
    ("charge", "celsius", "warned"),
    [(0.0, 0, True), (0.25, -5, True), (0.5, -5, False), (0.5, -20, True), (1, -20, False)],
)
def test_flat_batteries_freeze_first(charge: float, celsius: float, warned: bool) -> None:
    """A flat battery is cautioned at 0 degC, as the published points disagree (-10 and about +20 degF)."""
    assert warned == bool(freezing_caution(charge, celsius + C0))


@pytest.mark.external
def test_load_test_current() -> None:
    """Half the cold cranking amps, or three times the amp hours (Kia and Mini manuals)."""
    assert load_test_current(cca=490) == 245
    assert pytest.approx(load_test_current(capacity=50 * 3600)) == 150


@settings(deadline=None)
@given(st.sampled_from(SYSTEMS), st.floats(0, 40), st.floats(0, 40))
def test_more_volts_is_never_less_charge(system: str, first: float, second: float) -> None:
    """The charge never falls as the voltage rises, and lies between none and all."""
    low, high = sorted((first, second))
    shares = charge_by_voltage(low, system), charge_by_voltage(high, system)

    assert 0 <= shares[0] <= shares[1] <= 1


@pytest.mark.parametrize(
    ("call", "error"),
    [
        (lambda: as_12(-1, "12"), RangeError),
        (lambda: as_12(math.nan, "12"), RangeError),
        (lambda: as_12(12, "48"), InputError),
        (lambda: corrected_density(0.8, F80), RangeError),
        (lambda: corrected_density(1.25, 20), RangeError),
        (lambda: load_floor(12.0), RangeError),
        (load_test_current, InputError),
        (lambda: self_discharge(-1, F80), RangeError),
    ],
)
def test_impossible_input_is_refused(call: object, error: type[Exception]) -> None:
    """Wrong sign, celsius for kelvin, an unknown system, nothing known: a typed error."""
    with pytest.raises(error):
        call()  # type: ignore[operator]


def test_wrong_kind_of_quantity_is_refused() -> None:
    """Amperes are not volts."""
    with pytest.raises(InputError, match="voltage is"):
        SUBJECTS[0].of(voltage=quantity(3, "ampere"))
