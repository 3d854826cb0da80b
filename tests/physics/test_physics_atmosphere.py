"""The standard atmosphere against published constants and two independent libraries."""

from __future__ import annotations

import pytest
from ambiance import Atmosphere
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st
from physics_cited import cited

from firststart.errors import RangeError
from firststart.physics import atmosphere
from firststart.physics.compression import at_altitude, at_sea_level

PSI = 6894.757293168


@pytest.mark.external
@pytest.mark.parametrize(
    ("metres", "pascal"),
    cited(
        "ISO 2533 by ambiance 1.3.1, fluids 1.3.1, ussa1976 0.3.4",
        [(0, 101325), (500, 95461), (1000, 89876), (1500, 84560), (2000, 79501), (3000, 70121)],
    ),
)
def test_pressure_at_geometric_metres(metres: float, pascal: float) -> None:
    """Pressure at map metres is that of three libraries, within 1 Pa."""
    assert pytest.approx(pascal, abs=1) == atmosphere.pressure(metres)


@pytest.mark.external
@pytest.mark.parametrize(
    ("geopotential", "pascal"),
    cited("closed form of ISO 2533, exponent 5.255877", [(1000, 89874.6), (2000, 79495.2), (3000, 70108.5)]),
)
def test_geopotential_metres_are_not_map_metres(geopotential: float, pascal: float) -> None:
    """The trap: a table by geopotential metres is met only after conversion; unconverted it is off by over a pascal."""
    r = atmosphere.EARTH_RADIUS
    metres = r * geopotential / (r - geopotential)

    assert pytest.approx(pascal, abs=1) == atmosphere.pressure(metres)
    assert abs(atmosphere.pressure(geopotential) - pascal) > 1


@pytest.mark.external
@pytest.mark.parametrize(
    ("metres", "psi"),
    cited("150 psi scaled by ambiance", [(500, 141.3), (1000, 133.1), (1500, 125.2), (2000, 117.7), (3000, 103.8)]),
)
def test_a_reading_right_at_sea_level_scales_with_air_pressure(metres: float, psi: float) -> None:
    """150 psi at sea level is these readings at altitude."""
    assert pytest.approx(psi, abs=0.2) == at_altitude(150 * PSI, metres) / PSI


@pytest.mark.external
def test_a_page_that_misprints_the_temperature_at_4572_m_is_not_followed() -> None:
    """ISO 2533 by ambiance: about -14.7 degC at 4572 m; a public page prints -25.96."""
    assert pytest.approx(-14.7, abs=0.05) == atmosphere.temperature(4572) - 273.15
    assert pytest.approx(float(Atmosphere(4572).temperature[0]), abs=1e-3) == atmosphere.temperature(4572)


@pytest.mark.external
@given(st.floats(-900, 5500))
def test_equals_ambiance_over_the_whole_range(metres: float) -> None:
    """ambiance (ISO 2533) agrees on pressure, temperature and density at every altitude of the tool."""
    theirs = Atmosphere(metres)
    p, t = atmosphere.pressure(metres), atmosphere.temperature(metres)

    assert pytest.approx(float(theirs.pressure[0]), rel=2e-6) == p
    assert pytest.approx(float(theirs.temperature[0]), abs=1e-6) == t
    assert pytest.approx(float(theirs.density[0]), rel=2e-6) == atmosphere.density(p, t)


@pytest.mark.external
@given(st.floats(0, 5500))
def test_equals_fluids_over_the_whole_range(metres: float) -> None:
    """fluids (U.S. Standard Atmosphere 1976) agrees on pressure and temperature."""
    theirs = ATMOSPHERE_1976(metres)

    assert pytest.approx(theirs.P, rel=2e-6) == atmosphere.pressure(metres)
    assert pytest.approx(theirs.T, abs=1e-3) == atmosphere.temperature(metres)


@given(st.floats(-14 * PSI, 700 * PSI), st.floats(-400, 5500))
def test_to_altitude_and_back_is_the_same_reading(gauge: float, metres: float) -> None:
    """Scaling up and down again changes nothing."""
    assert pytest.approx(gauge, rel=1e-12, abs=1e-6) == at_sea_level(at_altitude(gauge, metres), metres)


@pytest.mark.parametrize("metres", [-1001, 11001, float("nan"), float("inf")])
def test_an_altitude_off_the_model_is_refused(metres: float) -> None:
    """No clamp and no NaN: the error has the field, the value and the range."""
    with pytest.raises(RangeError, match="altitude") as caught:
        atmosphere.pressure(metres)

    assert caught.value.field == "altitude"


@pytest.mark.parametrize(("p", "t"), [(0, 288), (-1, 288), (101325, 0), (101325, -5)])
def test_density_needs_a_pressure_and_a_temperature_above_nothing(p: float, t: float) -> None:
    """Zero and negative absolute values are refused by name."""
    with pytest.raises(RangeError, match=r"pressure|temperature"):
        atmosphere.density(p, t)
