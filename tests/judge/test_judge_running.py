"""Judges of a turning or running engine: charging, cranking speed, a hot coil, the starting circuit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from judge_bench import LIMITS, bench

from firststart.engine.profile import EngineProfile
from firststart.errors import InputError
from firststart.judge.model import Context, Reading, Verdict
from firststart.judge.registry import JUDGES
from firststart.units import Measured, measured, parse

Readings = dict[tuple[str, int | None], Measured]


def volts(value: float) -> Measured:
    return measured(value, "V", "voltage")


def on(battery: str | None = "12", readings: Readings | None = None, **words: str) -> Context:
    profile = EngineProfile()
    for field, word in {**({"battery": battery} if battery else {}), **words}.items():
        profile = profile.with_word(field, word)
    return Context(profile, LIMITS, readings or {})


def say(judge: str, value: Measured | None, context: Context, resolution: float | None = None) -> Verdict:
    reading = None if value is None else Reading(judge, value, None, resolution)
    verdict = JUDGES[judge].run(reading, context)
    assert verdict.word in JUDGES[judge].words
    assert len(verdict.say.split()) <= 20
    assert verdict.source
    return verdict


@pytest.mark.external
@pytest.mark.parametrize(
    ("value", "battery", "word"),
    [
        (14.2, "12", "charging"), (13.5, "12", "unsure"), (13.0, "12", "low"), (15.6, "12", "high"),
        (28.5, "24", "charging"), (26.0, "24", "low"), (7.1, "6", "charging"), (8.0, "6", "high"), (6.4, "6", "low"),
    ],
)  # fmt: skip
def test_charging_by_the_regulators_band(value: float, battery: str, word: str) -> None:
    """Procharger 10037598 manual p 38: 14.0 to 14.7 V, half a volt either way; TM 5-5065: 24 V regulator at 28.5 V."""
    assert word == say("charging-voltage", volts(value), on(battery)).word


@pytest.mark.external
def test_the_rise_over_rest_is_told_with_its_source() -> None:
    """Ford Bronco II 1984 manual: running, the voltage rises over rest by no more than 2.0 V; 1.0 V of six volts."""
    twelve = say("charging-voltage", volts(14.0), on("12", {("battery.rest", None): volts(12.6)}))
    six = say("charging-voltage", volts(7.0), on("6", {("battery.rest", None): volts(6.3)}))

    assert "by no more than 2 V (Ford Bronco II 1984" in twelve.details[0]
    assert "by no more than 1 V" in six.details[0]


def test_a_little_more_than_at_rest_is_told_apart_from_nothing() -> None:
    """An old dynamo at idle climbs a little; one that is dead does not climb at all. Both are low."""
    rest: Readings = {("battery.rest", None): volts(12.5)}
    climbs = say("charging-voltage", volts(13.0), on("12", rest))
    dead = say("charging-voltage", volts(12.4), on("12", rest))

    assert ("low", "low") == (climbs.word, dead.word)
    assert "more than at rest" in climbs.say
    assert "hardly charges" in dead.say


def test_charging_without_a_known_battery_says_what_is_missing() -> None:
    """14 V is right for one battery and far wrong for another."""
    assert say("charging-voltage", volts(14.0), on(None)).word == "unsure"


@pytest.mark.external
@pytest.mark.parametrize(
    ("rpm", "fuel", "word"),
    [(200, "petrol", "fast"), (300, "petrol", "fast"), (60, "petrol", "slow"), (120, "petrol", "unsure"),
     (120, "diesel", "slow"), (200, "diesel", "fast")],
)  # fmt: skip
def test_cranking_speed(rpm: float, fuel: str, word: str) -> None:
    """About 200 rpm is normal (exam note); Mazda MPV 1996 at 300; least 60 to 100 rpm (handbook, from memory)."""
    assert word == say("cranking-speed", parse(f"{rpm} rpm", "speed"), on(fuel=fuel)).word


@pytest.mark.external
@pytest.mark.parametrize(("rpm", "seconds"), [(250, "2.4 s"), (150, "4 s"), (100, "6 s")])
def test_the_speed_tells_how_long_five_strokes_take(rpm: float, seconds: str) -> None:
    """Five compression strokes of a four-stroke: two turns each, 2.4, 4.0 and 6.0 s (counting of cycles)."""
    verdict = say("cranking-speed", parse(f"{rpm} rpm", "speed"), on(cycle="four-stroke"))

    assert f"take {seconds} at this speed" in verdict.details[0]


@pytest.mark.external
def test_a_hot_coil_by_its_resistance() -> None:
    """IEC 60034-1 clause 8 (from memory): 1.30 times the resistance from 20 degC is 96.5 degC; class A allows 100."""
    cold: Readings = {("coil-primary", None): parse("3000 ohm", "resistance")}
    profile = EngineProfile().with_number("air-temperature", parse("20 degC", "temperature"))
    context = Context(profile, LIMITS, cold)
    fine = say("hot-coil", parse("3900 ohm", "resistance"), context, 1.0)
    hot = say("hot-coil", parse("4100 ohm", "resistance"), context, 1.0)

    assert ("fine", "hot") == (fine.word, hot.word)
    assert "96 to 97 degC" in fine.say


def test_a_coarse_meter_cannot_tell_a_hot_coil() -> None:
    """A tenth of an ohm at 1.5 ohm is fifteen degrees and more either way: near the limit it is not said."""
    cold: Readings = {("coil-primary", None): parse("1.5 ohm", "resistance")}

    assert say("hot-coil", parse("1.9 ohm", "resistance"), on(readings=cold), 0.1).word == "unsure"
    assert say("hot-coil", parse("9 ohm", "resistance"), on(readings=cold), 0.1).word == "unsure"
    assert say("hot-coil", parse("1.9 ohm", "resistance"), on()).word == "unsure"


@pytest.mark.external
def test_the_starting_circuit_in_milliohms() -> None:
    """Ohm's law: 0.1 V at 150 A is 0.67 milliohm; 12.6 to 10.2 V at 150 A is 16."""
    readings: Readings = {
        ("starter-current", None): parse("150 A", "current"), ("battery.rest", None): volts(12.6),
        ("battery.sag", None): volts(10.2), ("drop.earth", None): volts(0.1), ("drop.feed", None): volts(0.25),
    }  # fmt: skip
    verdict = say("starting-circuit", None, on(readings=readings))

    assert "At 150 A, the battery holds back most: 16 mohm." == verdict.say
    assert "the earth holds back 0.67 mohm" in verdict.details


def test_without_the_current_the_circuit_is_not_told() -> None:
    """Drops alone are not resistances, and a battery that rose under load is not reckoned with."""
    assert say("starting-circuit", None, on(readings={("drop.earth", None): volts(0.1)})).word == "unsure"
    readings: Readings = {
        ("starter-current", None): parse("150 A", "current"), ("battery.rest", None): volts(12.0),
        ("battery.sag", None): volts(12.5),
    }  # fmt: skip
    assert say("starting-circuit", None, on(readings=readings)).word == "unsure"


@pytest.mark.parametrize("judge", ["charging-voltage", "cranking-speed", "hot-coil"])
def test_a_judge_of_one_value_needs_it(judge: str) -> None:
    """No reading and another kind are typed errors that name the judge."""
    with pytest.raises(InputError, match=judge):
        JUDGES[judge].run(None, bench())
    with pytest.raises(InputError, match=judge):
        JUDGES[judge].run(Reading(judge, parse("5 ml", "volume")), bench())


AMOUNTS_OF = {"charging-voltage": ("V", "voltage", 40), "cranking-speed": ("rpm", "speed", 1500),
              "hot-coil": ("ohm", "resistance", 2000), "compression-first": ("psi", "pressure", 700),
              "timing-piston": ("mm", "length", 60)}  # fmt: skip


@settings(deadline=None, max_examples=60)
@given(
    st.sampled_from(sorted(AMOUNTS_OF)), st.floats(0, 1), st.floats(0, 1), st.sampled_from(["6", "12", "24", "none"]),
    st.sampled_from([None, 0.0, 0.01, 1.0]),
)  # fmt: skip
def test_anything_read_is_judged_or_refused_by_name(
    judge: str, share: float, other: float, battery: str, resolution: float | None
) -> None:
    """No NaN, no exception but a typed one, a word of the list and at most twenty words to say, at the ends too."""
    unit, kind, most = AMOUNTS_OF[judge]
    earlier: Readings = {
        ("battery.rest", None): volts(40 * other), ("coil-primary", None): measured(6 * other, "ohm", "resistance"),
        ("compression.dry", None): measured(200 * other, "psi", "pressure"),
    }  # fmt: skip
    profile = EngineProfile().with_word("battery", battery)
    for field, text in (("timing", "10 deg"), ("stroke", "60 mm")):
        profile = profile.with_number(field, parse(text, "angle" if field == "timing" else "length"))
    context = Context(profile, LIMITS, earlier)
    try:
        verdict = JUDGES[judge].run(Reading(judge, measured(share * most, unit, kind), None, resolution), context)
    except InputError:
        return

    assert verdict.word in JUDGES[judge].words
    assert len(verdict.say.split()) <= 20
    assert not {"nan", "inf"} & set(verdict.say.split())
    assert all(math.isfinite(b) for b in (verdict.low, verdict.high) if b is not None)
