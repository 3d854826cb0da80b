"""Leak-down arithmetic and the two-orifice model against a table, published limits and an independent solver."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from physics_cited import cited
from scipy.optimize import brentq

from firststart.errors import RangeError
from firststart.physics import leakdown

PSI = 6894.757293168
SUPPLY = 80 * PSI
SEA = 101325.0


@pytest.mark.external
@pytest.mark.parametrize(
    ("held", "per_cent"),
    cited("loss of 80 psi; 60/80 is the reject limit of AC 43.13-1B", [(60, 25.0), (70, 12.5), (44, 45.0)]),
)
def test_loss_in_per_cent(held: float, per_cent: float) -> None:
    """Loss is exact arithmetic on gauge pressures."""
    assert pytest.approx(per_cent, rel=1e-12) == 100 * leakdown.loss(held * PSI, SUPPLY)


@pytest.mark.external
def test_a_car_maker_s_limit_is_the_same_number_twice() -> None:
    """Dodge Dakota 2002 service manual: at most 25 %, and 80 psi in must leave 60 psi."""
    assert pytest.approx(0.25) == leakdown.loss(60 * PSI, 80 * PSI)


@pytest.mark.external
@pytest.mark.parametrize(
    ("ratio", "psi", "per_cent"),
    cited(
        "two ideal orifices, air 1.4, 80 psi, sea level",
        [(0.25, 78.6, 1.7), (0.50, 74.7, 6.6), (0.75, 68.9, 13.9), (1.00, 61.8, 22.8)],
    ),
)
def test_two_orifice_table(ratio: float, psi: float, per_cent: float) -> None:
    """Reading by leak area over restrictor area, within 0.2 psi."""
    found = leakdown.reading(ratio, SUPPLY)

    assert pytest.approx(psi, abs=0.2) == found / PSI
    assert pytest.approx(per_cent, abs=0.1) == 100 * leakdown.loss(found, SUPPLY)


@pytest.mark.external
def test_a_percentage_belongs_to_the_tester_as_much_as_to_the_cylinder() -> None:
    """Trap: the leak that shows 61.8/80 through AC 43.13-1B's 0.040 in shows 75.8/80 through its 0.060 in."""
    through_40 = leakdown.reading(1.0, SUPPLY)
    through_60 = leakdown.through_another(through_40, SUPPLY, 0.040 * 0.0254, 0.060 * 0.0254)

    assert pytest.approx(61.8, abs=0.2) == through_40 / PSI
    assert pytest.approx(75.8, abs=0.2) == through_60 / PSI


@pytest.mark.external
def test_flow_from_80_psi_chokes_where_the_orifice_maker_says() -> None:
    """Choked-flow tutorial of an orifice maker: from 80 psig the flow is choked for outlets below 35.30 psig."""
    outlet = leakdown.CRITICAL * (SUPPLY + SEA) - SEA

    assert pytest.approx(35.30, abs=0.05) == outlet / PSI
    assert leakdown.flow_factor(SUPPLY + SEA, outlet + SEA) == leakdown.flow_factor(SUPPLY + SEA, 1.0)
    assert leakdown.flow_factor(SUPPLY + SEA, outlet + SEA + 5 * PSI) < leakdown.flow_factor(SUPPLY + SEA, 1.0)


@pytest.mark.external
@pytest.mark.parametrize(
    ("bore_in", "restrictor_mm"),
    cited(
        "AC 43.13-1B change 1 section 8-14, by FAASTeam tip November 2011",
        [(2.0, 1.016), (4.99, 1.016), (5.00, 1.524), (5.125, 1.524)],
    ),
)
def test_restrictor_by_bore(bore_in: float, restrictor_mm: float) -> None:
    """Trap: the switch at a bore of 5.00 in; two makers override it with 0.040 in for all (SI 1191A, SB03-3)."""
    assert pytest.approx(restrictor_mm) == leakdown.restrictor_for(bore_in * 0.0254) * 1000


def textbook_flow(up: float, down: float) -> float:
    """Isentropic nozzle flow per area, from the mass-flow function by Mach number."""
    gamma = 1.4
    mach = math.sqrt(max(0.0, ((up / down) ** ((gamma - 1) / gamma) - 1) * 2 / (gamma - 1)))
    mach = min(mach, 1.0)
    power = -(gamma + 1) / (2 * (gamma - 1))
    return up * math.sqrt(gamma) * mach * (1 + (gamma - 1) / 2 * mach**2) ** power


@pytest.mark.external
@given(st.floats(0.02, 30), st.floats(20, 150), st.floats(55e3, 104e3))
def test_reading_is_the_root_that_scipy_finds(ratio: float, supply_psi: float, ambient: float) -> None:
    """scipy brentq on nozzle flow written by Mach number agrees over leak size, supply and altitude."""
    supply = supply_psi * PSI

    def unbalance(p: float) -> float:
        return textbook_flow(supply + ambient, p + ambient) - ratio * textbook_flow(p + ambient, ambient)

    root = brentq(unbalance, 1e-9, supply - 1e-9, xtol=1e-6)

    assert pytest.approx(root, rel=1e-6, abs=1e-2) == leakdown.reading(ratio, supply, ambient)


@given(st.floats(0.02, 20), st.floats(20, 150))
def test_leak_area_comes_back_from_its_reading(ratio: float, supply_psi: float) -> None:
    """Reading to area and back, over leaks that leave something on the gauge."""
    supply = supply_psi * PSI

    assert pytest.approx(ratio, rel=1e-5) == leakdown.leak_area_ratio(leakdown.reading(ratio, supply), supply)


@given(st.floats(0.05, 5), st.floats(0.05, 5))
def test_a_larger_leak_always_reads_lower(one: float, other: float) -> None:
    """The reading falls as the leak grows."""
    small, large = sorted((one, other))

    assert leakdown.reading(large, SUPPLY) <= leakdown.reading(small, SUPPLY)


def test_a_sealed_cylinder_reads_the_supply() -> None:
    """No leak, no loss."""
    assert pytest.approx(SUPPLY) == leakdown.reading(0.0, SUPPLY)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: leakdown.loss(81 * PSI, SUPPLY), "cylinder pressure"),
        (lambda: leakdown.loss(-1.0, SUPPLY), "cylinder pressure"),
        (lambda: leakdown.loss(1.0, 0.0), "supply"),
        (lambda: leakdown.leak_area_ratio(0.0, SUPPLY), "cylinder pressure"),
        (lambda: leakdown.leak_diameter(60 * PSI, SUPPLY, 0.0), "restrictor"),
        (lambda: leakdown.reading(-0.1, SUPPLY), "leak over restrictor"),
        (lambda: leakdown.reading(1.0, SUPPLY, 0.0), "air pressure"),
        (lambda: leakdown.restrictor_for(0.0), "bore"),
        (lambda: leakdown.flow_factor(1e5, 2e5), "downstream pressure"),
    ],
)
def test_impossible_tests_are_refused_by_name(call: object, field: str) -> None:
    """A cylinder over its supply, a supply of nothing, a hole of nothing."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field
