"""Fuel judges: flow, pump pressure, decay corrected to temperature, age."""

from __future__ import annotations

import pytest
from electrical_bench import BY_NAME, LIMITS, Readings, context, judged, read, taken
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.errors import InputError, RangeError
from firststart.judge.fuel import flows_needed
from firststart.judge.model import Reading
from firststart.physics.fuel import LIVES
from firststart.physics.fuelflow import corrected_end
from firststart.units import measured

SMALL = {"kind": "mower", "displacement": "400 ml", "cycle": "four-stroke"}
ML_MIN = 1e-6 / 60


@pytest.mark.parametrize(("text", "word"), [("200 ml/min", "enough"), ("20 ml/min", "idle-only"), ("2 ml/min", "short"),
                                            ("0 ml/min", "none")])  # fmt: skip
def test_flow_against_the_need(text: str, word: str) -> None:
    """A 400 cm3 mower: enough for full load, enough to idle, short of both, or nothing."""
    assert judged("fuel-flow", text, context(**SMALL)).word == word


def test_flow_too_near_the_need_is_unsure() -> None:
    """A flow within the doubt of a jar and a watch of the need is not judged."""
    needs = flows_needed(context(**SMALL))
    assert needs is not None
    flow = Reading("fuel-flow", measured(needs[0]["full load"] * 1.02 / ML_MIN, "ml/min", "flow"))

    assert judged("fuel-flow", flow, context(**SMALL)).word == "unsure"


def test_a_measured_cranking_speed_is_used() -> None:
    """The need while cranking follows the speed that was measured."""
    slow, fast = (
        flows_needed(context(read("cranking-speed", f"{rpm} rpm", "speed"), **SMALL)) for rpm in (150, 300)
    )
    assert slow is not None
    assert fast is not None

    assert fast[0]["cranking"] == pytest.approx(2 * slow[0]["cranking"])


def test_a_two_stroke_drinks_at_every_turn() -> None:
    """At the same size and speed a two-stroke takes twice the fuel while cranking."""
    four, two = (flows_needed(context(displacement="400 ml", cycle=c)) for c in ("four-stroke", "two-stroke"))
    assert four is not None
    assert two is not None

    assert two[0]["cranking"] == pytest.approx(2 * four[0]["cranking"])


def test_flow_of_an_unknown_engine() -> None:
    """Without the engine's size only no flow at all can be judged."""
    assert judged("fuel-flow", "100 ml/min", context()).word == "unsure"
    assert judged("fuel-flow", "0 ml/min", context()).word == "none"


@pytest.mark.external
def test_makers_deliveries_are_shown_for_a_pump() -> None:
    """Jeep 1991 (470 ml in 30 s), Dodge D350 1988 (0.95 l/min) and the 912 page (500 ml/min) stand in the details."""
    details = judged("fuel-flow", "900 ml/min", context(feed="pump", **SMALL)).details

    assert {"Jeep 1991", "Dodge D350", "912 pump"} == {m for m in ("Jeep 1991", "Dodge D350", "912 pump")
                                                       if any(m in d for d in details)}  # fmt: skip


@pytest.mark.external
@pytest.mark.parametrize(
    ("text", "word", "source"),
    [
        ("3.2 psi", "inside", "Mazda truck 2.8 to 3.6"),
        ("3.0 psi", "inside", "912 page 2.9 to 3.5"),
        ("4.5 psi", "inside", "Jeep 1991, 4 to 5"),
        ("6.5 psi", "inside", "Dodge D350 1988, 5.75 to 7.25"),
        ("1.5 psi", "low", "below every maker"),
        ("0 psi", "none", "no pressure at all"),
        ("9 psi", "high", "above every maker"),
        ("5.4 psi", "unsure", "between the makers"),
    ],
)
def test_lift_pump_pressure(text: str, word: str, source: str) -> None:
    """Makers' pressures of mechanical pumps disagree; inside means inside at least one, each shown."""
    verdict = judged("pump-pressure", text, context(feed="pump"))

    assert word == verdict.word, source
    assert len(verdict.details) == len(LIMITS.under("fuel.pump.lift"))


def test_other_feeds_have_other_pressures() -> None:
    """Injection wants bars, a gravity feed gives a few kilopascals, and an unknown feed says what it was taken for."""
    assert judged("pump-pressure", "3 bar", context(feed="injection")).word == "inside"
    assert judged("pump-pressure", "3 psi", context(feed="injection")).word == "low"
    assert judged("pump-pressure", "2.2 kPa", context(feed="gravity")).word == "inside"
    assert "taken as a pump with a carburettor" in judged("pump-pressure", "3 psi", context()).details


def hold(start: str, first: str = "", last: str = "") -> Readings:
    found = dict(read("line.start", start, "pressure"))
    if first:
        found |= read("line.start-temperature", first, "temperature")
        found |= read("line.end-temperature", last, "temperature")
    return found


@pytest.mark.parametrize(
    ("start", "end", "word"),
    [("50 kPa", "49.5 kPa", "tight"), ("50 kPa", "30 kPa", "leaks"), ("50 kPa", "45 kPa", "unsure")],
)
def test_decay_at_one_temperature(start: str, end: str, word: str) -> None:
    """A tenth of the pressure may go in the hold; near that it is too near to say."""
    reading = taken("pressure-decay", end, name="line.end")

    assert judged("pressure-decay", reading, context(hold(start, "20 degC", "20 degC"))).word == word


@pytest.mark.external
def test_cooling_is_not_a_leak() -> None:
    """At 20 kPa gauge, 10 K of cooling takes 4.1 kPa (ideal gas): a leak if unwatched, tight when corrected."""
    reading = taken("pressure-decay", "16 kPa", name="line.end")
    watched = judged("pressure-decay", reading, context(hold("20 kPa", "25 degC", "15 degC")))
    steady = judged("pressure-decay", reading, context(hold("20 kPa", "20 degC", "20 degC")))

    assert watched.word == "tight"
    assert steady.word == "leaks"


@pytest.mark.external
def test_warming_hides_a_leak() -> None:
    """10 K of warming would raise 20 kPa to 24.1 (ideal gas): a gauge that stands still then shows a leak."""
    reading = taken("pressure-decay", "20 kPa", name="line.end")

    assert judged("pressure-decay", reading, context(hold("20 kPa", "15 degC", "25 degC"))).word == "leaks"


def test_unwatched_temperature_makes_a_small_loss_unsure() -> None:
    """Without temperatures two kelvin are allowed for, and said."""
    verdict = judged("pressure-decay", taken("pressure-decay", "17.5 kPa", name="line.end"), context(hold("20 kPa")))

    assert verdict.word == "unsure"
    assert any("temperature unwatched" in d for d in verdict.details)


def test_a_gauge_that_gains_is_not_tight() -> None:
    """Pressure that rises at a steady temperature means a mistake in gauge or thermometer."""
    where = context(hold("50 kPa", "20 degC", "20 degC"))

    assert judged("pressure-decay", taken("pressure-decay", "60 kPa", name="line.end"), where).word == "unsure"


def test_cooling_takes_less_from_thin_air() -> None:
    """At 3000 m the same cooling explains less of a loss, as the absolute pressure is lower."""
    fine = taken("pressure-decay", "14.5 kPa", 10.0, "line.end")
    sea, high = (judged("pressure-decay", fine, context(hold("20 kPa", "25 degC", "15 degC"), altitude=a))
                 for a in ("0 m", "3000 m"))  # fmt: skip

    assert (sea.word, high.word) == ("tight", "leaks")


def test_decay_without_a_start_is_unsure() -> None:
    """An end without a start says nothing."""
    assert judged("pressure-decay", "17 kPa", context()).word == "unsure"


@settings(deadline=None)
@given(st.floats(10, 300), st.floats(-10, 40), st.floats(-10, 40))
def test_a_tight_system_is_never_said_to_leak(start: float, first: float, last: float) -> None:
    """Whatever the two temperatures, a rigid vessel that lost nothing is tight."""
    end = corrected_end(start * 1e3, first + 273.15, last + 273.15) / 1e3
    if end <= 0:
        return
    readings = {
        ("line.start", None): measured(start, "kPa", "pressure"),
        ("line.start-temperature", None): measured(first, "degC", "temperature"),
        ("line.end-temperature", None): measured(last, "degC", "temperature"),
    }
    reading = Reading("line.end", measured(end, "kPa", "pressure"), resolution=0.01)

    assert judged("pressure-decay", reading, context(readings)).word == "tight"


@pytest.mark.external
@pytest.mark.parametrize(
    ("text", "lubrication", "word", "source"),
    [
        ("14 d", "wet-sump", "fresh", "greatgrady.com note 12232, E10"),
        ("4 months", "wet-sump", "doubtful", "E10 60 to 90 days, E0 6 to 12 months"),
        ("5 years", "wet-sump", "stale", "eboots.co.uk, airsportuk.com, 12 months sealed"),
        ("25 years", "unknown", "stale", "every life"),
        ("3 months", "premix", "stale", "anycalculator.com, 30 days"),
        ("18 months", "wet-sump", "unsure", "12 months and half as much again, within a few days"),
    ],
)
def test_fuel_age(text: str, lubrication: str, word: str, source: str) -> None:
    """Published storage lives, each good to half as much again; the blend is unknown, so both must agree."""
    assert judged("fuel-age", text, context(lubrication=lubrication)).word == word, source


@pytest.mark.external
@pytest.mark.parametrize("name", sorted(LIVES))
def test_data_and_calculator_hold_the_same_lives(name: str) -> None:
    """The storage lives of the data file and of the calculator come from one page each and agree."""
    assert [LIVES[name].shortest, LIVES[name].longest] == LIMITS[f"fuel.life.{name}"].value


@pytest.mark.parametrize(
    ("judge", "reading", "error"),
    [
        ("fuel-flow", None, InputError),
        ("fuel-flow", Reading("f", measured(1, "V", "voltage")), InputError),
        ("fuel-flow", Reading("f", measured(-5, "ml/min", "flow")), InputError),
        ("pump-pressure", Reading("p", measured(-5, "psi", "pressure")), InputError),
        ("fuel-age", Reading("a", measured(-1, "d", "time")), InputError),
        ("fuel-age", Reading("a", measured(500, "year", "time")), RangeError),
    ],
)
def test_impossible_readings_are_refused(judge: str, reading: Reading | None, error: type[Exception]) -> None:
    """No reading, another kind, below zero, older than the trade: a typed error."""
    with pytest.raises(error):
        BY_NAME[judge].run(reading, context())


def test_a_hold_that_never_started_is_refused() -> None:
    """A start at no pressure cannot be judged."""
    with pytest.raises(InputError, match="pump it up again"):
        judged("pressure-decay", taken("pressure-decay", "0 kPa", name="line.end"), context(hold("0 kPa")))
