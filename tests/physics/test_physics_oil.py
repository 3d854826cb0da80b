"""Oil viscosity against Walther values, standard examples and an independent table of viscosity index."""

from __future__ import annotations

import chemicals
import pytest
from hypothesis import given
from hypothesis import strategies as st
from physics_cited import cited

from firststart.errors import RangeError
from firststart.physics import oil, viscosityindex

MM2 = 1e-6


@pytest.mark.external
@pytest.mark.parametrize(
    ("at40", "at100", "a", "b", "found"),
    cited(
        "Walther, ASTM D341 (form from memory), recomputed",
        [
            (100, 11.2, 9.1548, 3.5473, (1788, 339, 39.9, 19.6)),
            (95, 14.4, 7.6847, 2.9602, (930, 255, 43.9, 23.7)),
        ],
    ),
)
def test_walther(at40: float, at100: float, a: float, b: float, found: tuple[float, ...]) -> None:
    """Constants, and viscosity at 0, 20, 60 and 80 degC, of two oils."""
    walther = oil.walther(at40 * MM2, at100 * MM2)

    assert pytest.approx((a, b), abs=1e-4) == (walther.a, walther.b)
    assert pytest.approx(found, rel=0.01) == [walther.viscosity(273.15 + t) / MM2 for t in (0, 20, 60, 80)]


@pytest.mark.external
@pytest.mark.parametrize(
    ("at40", "at100", "index"),
    cited("ASTM D2270 worked example (from memory)", [(73.30, 8.86, 92), (22.83, 5.05, 156)]),
)
def test_viscosity_index_examples(at40: float, at100: float, index: int) -> None:
    """The standard's two worked examples, to the whole number it gives."""
    assert index == round(viscosityindex.viscosity_index(at40, at100))


@pytest.mark.external
@given(st.floats(2.1, 69), st.floats(0.2, 3))
def test_viscosity_index_equals_chemicals(at100: float, share: float) -> None:
    """chemicals 1.5.2, which interpolates the standard's table, agrees within one point over the whole range."""
    _, high = viscosityindex.references(at100)
    at40 = max(high * share, at100 * 1.5)
    theirs = chemicals.viscosity_index(at40 * MM2, at100 * MM2)

    assert pytest.approx(theirs, abs=1.0, rel=0.005) == viscosityindex.viscosity_index(at40, at100)


@given(st.floats(2, 60), st.floats(0, 300))
def test_index_to_viscosity_and_back(at100: float, index: float) -> None:
    """The viscosity at 40 degC found for an index has that index again."""
    at40 = viscosityindex.kv40_from_index(at100, index)
    if at40 > at100:
        assert pytest.approx(index, abs=1e-6) == viscosityindex.viscosity_index(at40, at100)


@given(st.floats(3, 30), st.floats(60, 180), st.floats(-25, 110), st.floats(0.5, 20))
def test_oil_is_thicker_when_colder(at100: float, index: float, celsius: float, step: float) -> None:
    """Viscosity falls with temperature, and passes through both points it was made from."""
    found = oil.from_index(at100 * MM2, index)

    assert found.viscosity(273.15 + celsius) > found.viscosity(273.15 + celsius + step)
    assert pytest.approx(at100, rel=1e-6) == found.viscosity(oil.T100) / MM2


@pytest.mark.external
def test_sae_30_at_its_makers_least_temperature_is_about_one_pascal_second() -> None:
    """Vanguard engine oil chart: SAE 30 from 5 degC up, which is what the limit on thick oil rests on."""
    found = oil.dynamic(oil.from_index(10.9 * MM2, 95), 278.15)

    assert pytest.approx(1.0, rel=0.05) == found


@pytest.mark.external
@pytest.mark.parametrize(
    ("winter", "celsius", "most", "at100", "index"),
    cited(
        "SAE J300 cranking limit",
        [("10W-30", -25, 7.0, 10.9, 145), ("15W-40", -20, 7.0, 14.4, 140), ("20W-50", -15, 9.5, 19.1, 130)],
    ),
)
def test_computed_viscosity_lies_near_the_cranking_limit(
    winter: str, celsius: float, most: float, at100: float, index: float
) -> None:
    """Sheared hardly at all, a multigrade computes to the order of the standard's limit at its own temperature."""
    found = oil.dynamic(oil.from_index(at100 * MM2, index), 273.15 + celsius)

    assert 0.5 < found / most < 2, winter


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: oil.walther(10 * MM2, 12 * MM2), "viscosity at 40 degC"),
        (lambda: oil.walther(10 * MM2, 0.0), "viscosity at 100 degC"),
        (lambda: oil.walther(100 * MM2, 11 * MM2).viscosity(-3.0), "temperature"),
        (lambda: oil.density(1000.0), "temperature"),
        (lambda: viscosityindex.references(1.0), "viscosity at 100 degC"),
        (lambda: viscosityindex.viscosity_index(5.0, 9.0), "viscosity at 40 degC"),
        (lambda: viscosityindex.kv40_from_index(9.0, -1.0), "index"),
        (lambda: viscosityindex.kv40_from_index(float("nan"), 95), "viscosity at 100 degC"),
    ],
)
def test_impossible_oils_are_refused_by_name(call: object, field: str) -> None:
    """An oil thinner when cold, a temperature under nothing, an index off the scale."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field
