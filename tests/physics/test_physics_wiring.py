"""Cables, series resistance and fuses against the wire tables."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from firststart.errors import InputError, RangeError
from firststart.physics.subjects import SUBJECTS
from firststart.physics.wiring import (
    FUSES,
    awg_area,
    cable_resistance,
    current_from_drop,
    feed_fuse,
    resistance_between,
    series_resistance,
)

TABLE = [(0, 0.3224), (2, 0.5127), (4, 0.8152), (6, 1.2961), (8, 2.0609), (10, 3.2770), (12, 5.2107), (14, 8.2853),
         (16, 13.174), (18, 20.948)]  # fmt: skip


@pytest.mark.external
@pytest.mark.parametrize(("gauge", "ohm_per_km"), TABLE)
def test_wire_table(gauge: int, ohm_per_km: float) -> None:
    """ASTM B258-02 diameters and IEC 60028 copper: a public wire gauge table, ohm per km at 20 degC."""
    assert ohm_per_km == pytest.approx(cable_resistance(awg_area(gauge), 1000), rel=0.005)


@pytest.mark.external
def test_aluminium_over_copper() -> None:
    """61 % IACS aluminium has 1.639 times the resistance (from memory)."""
    ratio = cable_resistance(25e-6, 1, metal="aluminium") / cable_resistance(25e-6, 1)

    assert pytest.approx(ratio, rel=0.005) == 1.639


@pytest.mark.external
def test_starter_cable_drop() -> None:
    """150 A in 1.5 m of 25 mm2 copper drops 0.155 V; 0.1 V at 150 A is 0.67 milliohm (Ohm's law)."""
    assert pytest.approx(150 * cable_resistance(25e-6, 1.5), rel=0.01) == 0.155
    assert pytest.approx(series_resistance(12.6, 12.5, 150), rel=0.01) == 0.67e-3


@settings(deadline=None)
@given(st.floats(5, 15), st.floats(0.001, 0.05), st.floats(0, 50), st.floats(1, 100))
def test_two_loads_give_back_the_resistance(volts: float, ohm: float, first: float, more: float) -> None:
    """Two readings made from a source and a resistance return that resistance, in either order."""
    assume(volts > ohm * (first + more))  # a source gives no voltage below nothing
    light, heavy = (volts - ohm * first, first), (volts - ohm * (first + more), first + more)

    assert ohm == pytest.approx(resistance_between(light, heavy), rel=1e-6)
    assert resistance_between(light, heavy) == resistance_between(heavy, light)


def test_a_cable_is_a_shunt() -> None:
    """0.1 V over 0.67 milliohm is about 150 A."""
    assert pytest.approx(current_from_drop(0.1, 0.1 / 150)) == 150


@pytest.mark.parametrize(("load", "fuse"), [(2.4, 3), (4, 5), (5, 7.5), (8, 10), (8.1, 15), (24, 30)])
def test_feed_fuse(load: float, fuse: float) -> None:
    """The next size over the load and a quarter, when the lead is thick enough."""
    assert fuse == feed_fuse(load, 6e-6)
    assert fuse in FUSES


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: feed_fuse(8, 1e-6), "area"),
        (lambda: feed_fuse(0, 1e-6), "load"),
        (lambda: feed_fuse(25, 6e-6), "load"),
        (lambda: series_resistance(12.0, 12.5, 5), "loaded"),
        (lambda: series_resistance(12.0, 11.5, 0), "current"),
        (lambda: resistance_between((12, 5), (11, 5)), "difference of currents"),
        (lambda: cable_resistance(0, 1), "area"),
        (lambda: cable_resistance(1e-6, math.inf), "length"),
        (lambda: awg_area(99), "gauge"),
        (lambda: current_from_drop(-0.1, 1), "drop"),
    ],
)
def test_impossible_input_is_refused(call: object, field: str) -> None:
    """A load that raises the voltage, a lead too thin for its fuse, no area: the field is named."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field


def test_unknown_metal_is_refused() -> None:
    """Only copper and aluminium are known."""
    with pytest.raises(InputError, match="copper, aluminium"):
        cable_resistance(1e-6, 1, metal="string")


@pytest.mark.external
def test_a_cable_by_its_gauge() -> None:
    """ASTM B258-02 and IEC 60028 copper, a public table: 4 gauge has 0.8152 ohm per km; 0.18 V in 1.5 m."""
    subject = SUBJECTS["cable-drop-gauge"]
    found = {a.name: a.value for a in subject.run(subject.read({"gauge": "4", "length": "1.5 m", "current": "150 A"}))}

    assert pytest.approx(0.8152e-3 * 1.5 * 150, rel=5e-3) == found["drop"].si  # type: ignore[union-attr]
