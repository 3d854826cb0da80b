"""What the virtual engine shows follows from the calculators of `physics`, not from any table of answers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rehearsal_engines import body, engine, parts, rng, sound

from firststart.physics.atmosphere import pressure_share
from firststart.physics.battery import charge_by_voltage
from firststart.physics.coil import coil_current, coil_energy
from firststart.physics.compression import cranking_gauge, effective_ratio, trapped_share
from firststart.physics.leakdown import leak_area_ratio
from firststart.rehearsal import fuelling, turning
from firststart.rehearsal.firing import answer
from firststart.rehearsal.scenario import Hidden
from firststart.rehearsal.sparking import primary_energy, spark


def test_a_tight_cylinder_shows_the_polytropic_pressure() -> None:
    """With no leak at all the gauge shows p1 (CR^n - 1), CR counted from where the intake closes."""
    tight = parts(rings__mm2=0.0, intake__mm2=0.0, exhaust__mm2=0.0)
    here = body()
    effective = effective_ratio(9.0, trapped_share(here.stroke, here.rod, here.closes))
    expected = cranking_gauge(101325.0, effective, 1.27)

    assert pytest.approx(expected, rel=1e-12) == turning.compression(tight, here, 1)


@pytest.mark.parametrize("metres", [500, 2000, 4000])
def test_compression_falls_with_the_air_pressure_of_the_altitude(metres: int) -> None:
    """At a height the gauge shows the sea level reading times the standard atmosphere's share (ISO 2533)."""
    low = turning.compression(sound(), body(), 1)
    high = turning.compression(sound(), body(altitude=f"{metres} m"), 1)

    assert pytest.approx(low * pressure_share(metres), rel=1e-9) == high


def test_the_leak_down_tester_finds_the_leaks_own_area() -> None:
    """Turned round by the two-orifice formula, the reading gives back the area that the parts have."""
    leaking, here = parts(exhaust__mm2=0.8), body()
    area = sum(turning.leaks(leaking, here, 1).values())
    shown = turning.leak_down(leaking, here, 1)

    assert pytest.approx(area / turning.RESTRICTOR, rel=1e-6) == leak_area_ratio(shown, turning.SUPPLY)


def test_oil_raises_a_reading_that_rings_have_lowered_and_not_one_that_a_valve_has() -> None:
    """The wet test tells rings from valves because oil closes the rings' leak alone."""
    rings, valve, here = parts(rings__mm2=1.2), parts(exhaust__mm2=1.1), body()
    gain = {
        name: turning.compression(p, here, 1, wet_ml=2.0) / turning.compression(p, here, 1)
        for name, p in (("rings", rings), ("valve", valve))
    }

    assert gain["rings"] > 1.2
    assert gain["valve"] < gain["rings"] - 0.1


@given(st.floats(0.05, 1.0))
def test_the_resting_voltage_tells_the_charge_that_is_in_the_battery(charge: float) -> None:
    """The maker's table, read backwards, gives the charge that the parts hold."""
    volts = turning.rest_volts(parts(battery__charge=charge), body())

    assert pytest.approx(charge, abs=1e-9) == charge_by_voltage(volts)


@given(st.floats(0.0002, 0.01))
def test_the_drop_over_the_earth_is_the_cranking_current_times_its_resistance(ohm: float) -> None:
    """Ohm's law holds between the reading and the parts."""
    bad, here = parts(earth__ohm=ohm), body()
    turns = turning.crank(bad, here)
    virtual = engine(altitude="0 m")
    virtual.parts.worn.clear()
    virtual.parts.worn["earth.ohm"] = ohm
    shown = virtual.read_exactly("drop.earth", None)

    assert pytest.approx(turns.amps * ohm, rel=1e-9) == shown


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_leak_never_gives_more_pressure_or_a_better_leak_down(one: float, other: float) -> None:
    """Compression and leak-down only fall as a leak grows."""
    small, large = sorted((one * 5, other * 5))
    here = body()
    first, second = parts(exhaust__mm2=small), parts(exhaust__mm2=large)

    assert turning.compression(first, here, 1) >= turning.compression(second, here, 1)
    assert turning.leak_down(first, here, 1) >= turning.leak_down(second, here, 1) - 1e-3


def test_a_battery_coil_stores_what_its_current_gives() -> None:
    """The energy of a spark is L I^2 / 2 of the current that the dwell lets in."""
    here = body(ignition="transistor")
    turns = turning.crank(sound(), here)
    resistance = 3.0
    outside = 0.03 + 0.05 + 0.0004 + 0.0004
    volts = turns.posts * resistance / (resistance + outside)
    expected = coil_energy(8e-3, coil_current(volts, resistance, 8e-3, min(0.4 / turns.rps, 0.1)))

    assert pytest.approx(expected, rel=1e-9) == primary_energy(sound(), here, turns)


@pytest.mark.parametrize(
    ("fault", "shows"),
    [
        ({"points__ohm": 500.0}, "none"), ({"stop__set": 1.0}, "none"), ({"secondary__leak": 0.55}, "weak"),
        ({"box__dead": 1.0}, "none"), ({}, "strong"),
    ],
)  # fmt: skip
def test_the_spark_at_the_test_gap_follows_its_chain(fault: dict[str, float], shows: str) -> None:
    """A break anywhere in the chain takes the spark away; a leak weakens it."""
    from firststart.rehearsal.sparking import word

    bad, here = parts(**fault), body()
    turns = turning.crank(bad, here)
    seen = spark(bad, here, 1, turns, 8e5)

    assert shows == word(seen.strength)


def test_a_fouled_plug_sparks_in_the_tester_and_not_under_compression() -> None:
    """The tester has no plug in it, so a shunted plug shows only where it sits."""
    fouled, here = parts(plug__shunt=3e4), body()
    seen = spark(fouled, here, 1, turning.crank(fouled, here), 9e5)

    assert seen.strength > 1.25
    assert seen.fires < 1


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_passages_in_one_line_let_through_no_more_than_the_narrowest(one: float, other: float) -> None:
    """Restrictions in series add; order does not matter."""
    both = fuelling.in_line(one, other)

    assert both <= min(one, other) + 1e-12
    assert math.isclose(both, fuelling.in_line(other, one))


@pytest.mark.parametrize("name", ["tap__shut", "float__shut"])
def test_without_fuel_in_the_bowl_nothing_lights(name: str) -> None:
    """A shut tap or a stuck needle leaves the bowl empty, and the engine silent."""
    dry = parts(**{name: 1.0})
    _, heard = answer(dry, body(), rng())

    assert fuelling.bowl(dry, body()) == 0.0
    assert heard.word == "silent"


def test_a_sound_engine_of_every_kind_starts() -> None:
    """Two hundred sound engines of all sorts, in the weather of the draws: at least 195 start at the first try."""
    from rehearsal_world import world

    from firststart.rehearsal.draw import draw
    from firststart.rehearsal.engine import VirtualEngine

    kit = world().kit
    started = 0
    for seed in range(200):
        what = draw(seed, kit.conditions, faults=0)
        virtual = VirtualEngine.of(what.truth, (), kit.conditions, kit.repairs, seed, prepared=True)
        started += virtual.try_to_start()[1].runs

    assert started >= 195


def test_a_repair_takes_its_condition_away_and_no_other() -> None:
    """What a repair puts right is gone; what it does not touch is still there."""
    virtual = engine(Hidden(condition="points-closed-up"), Hidden(condition="plug-fouled", cylinder=1))
    gone = virtual.mend("points_closed")

    assert [p.name for p in gone] == ["points-closed-up"]
    assert [p.name for p in virtual.left()] == ["plug-fouled"]


def test_cranking_drains_the_battery_and_long_cranking_slows_it() -> None:
    """Charge falls by current times time; a battery that has been cranked for minutes turns the engine more slowly."""
    virtual = engine()
    before = virtual.parts("battery.charge")
    fast = virtual.sight.turning().rps
    turns = virtual.turn(300)
    hours = max(virtual.body.cca / 7, 5)

    assert pytest.approx(before - turns.amps * 300 / 3600 / hours, abs=1e-9) == virtual.parts("battery.charge")
    assert virtual.sight.turning().rps < fast
