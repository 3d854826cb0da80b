"""Named amounts of battery, ignition, fuel and air, and the limits behind them."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from electrical_bench import BY_NAME, LIMITS, context, judged, read
from hypothesis import given, settings
from hypothesis import strategies as st
from judge_bench import LIMITS_FOLDER

from firststart.errors import InputError, UnitError
from firststart.judge.amounts_electrical import AMOUNTS
from firststart.judge.model import Limit, Reading
from firststart.judge.registry import AMOUNTS as ALL_AMOUNTS
from firststart.judge.registry import JUDGES as ALL_JUDGES
from firststart.physics.subject import MARKS
from firststart.units import KINDS, find_unit, measured

FILES = ("battery", "wiring", "ignition", "fuel", "air")
OWN = {
    name: Limit(**body)
    for file in FILES
    for name, body in yaml.safe_load((LIMITS_FOLDER / f"{file}.yaml").read_text(encoding="utf-8")).items()
}


@pytest.mark.parametrize(
    ("name", "facts", "text"),
    [
        ("test-gap", {}, "5 mm"),
        ("test-gap", {"plug_gap": "0.6 mm", "ratio": "8:1"}, "4.8 mm"),
        ("test-gap", {"plug_gap": "0.5 mm", "ratio": "5:1"}, "4.2 mm"),
        ("test-gap", {"plug_gap": "1.1 mm", "ratio": "12:1"}, "8 mm"),
        ("feed-fuse", {}, "a 10 A fuse"),
        ("feed-fuse", {"battery": "none"}, "no fuse, as there is no battery,"),
        ("feed-fuse", {"ignition": "none", "fuel": "diesel"}, "a 10 A fuse"),
        ("full-voltage", {"battery": "12"}, "12.65 V"),
        ("full-voltage", {"battery": "6"}, "6.33 V"),
        ("full-voltage", {"battery": "24"}, "25.3 V"),
        ("full-voltage", {}, "12.65 V for a 12 volt battery"),
        ("full-voltage", {"battery": "none"}, "no battery on this engine"),
        ("load-floor", {"battery": "12", "air_temperature": "21 degC"}, "9.6 V"),
        ("load-floor", {"battery": "6", "air_temperature": "21 degC"}, "4.8 V"),
        ("load-floor", {"battery": "24", "air_temperature": "21 degC"}, "19.2 V"),
        ("load-floor", {"battery": "12", "air_temperature": "-18 degC"}, "8.5 V"),
        ("load-floor", {}, "9.6 V for a 12 volt battery"),
        ("fuel-flow-needed", {}, "a steady stream"),
        ("fuel-flow-needed", {"kind": "car", "displacement": "1500 ml"}, "507 ml/min"),
        ("premix-oil", {"premix_ratio": "25:1"}, "40 ml per litre"),
        ("premix-oil", {"premix_ratio": "50:1"}, "20 ml per litre"),
        ("premix-oil", {"lubrication": "premix"}, "the manual's amount, usually 20 to 62 ml per litre"),
        ("premix-oil", {}, "the amount the manual gives, or none for a four-stroke"),
        ("co-minutes", {}, "a few minutes"),
        ("co-minutes", {"displacement": "200 ml"}, "5 minutes"),
        ("co-minutes", {"displacement": "2000 ml"}, "less than a minute"),
    ],
)
def test_amounts(name: str, facts: dict[str, str], text: str) -> None:
    """Each amount is short text for this engine, and an honest phrase when the engine is unknown."""
    assert text == AMOUNTS[name](context(**facts))


@pytest.mark.parametrize(
    ("primary", "battery", "text"),
    [("3 ohm", "12", "a 7.5 A fuse"), ("3 ohm", "6", "a 3 A fuse"), ("0.9 ohm", "12", "a 10 A fuse and the coil's")],
)
def test_a_measured_coil_sets_the_fuse(primary: str, battery: str, text: str) -> None:
    """The fuse follows the current through the measured primary; a coil that needs a ballast is told so."""
    where = context(read("coil-primary", primary, "resistance"), battery=battery)

    assert AMOUNTS["feed-fuse"](where).startswith(text)


def test_judges_and_amounts_are_in_the_closed_lists() -> None:
    """What stands here can be named by procedures."""
    assert set(BY_NAME) <= set(ALL_JUDGES)
    assert set(AMOUNTS) <= set(ALL_AMOUNTS)


@pytest.mark.parametrize("name", OWN)
def test_every_limit_has_a_source_a_mark_and_a_real_unit(name: str) -> None:
    """No limit without source, mark, and a unit the tool knows."""
    limit = OWN[name]

    assert len(limit.source) >= 8
    assert limit.mark in MARKS
    if limit.kind:
        assert find_unit(limit.unit, limit.kind).symbol == limit.unit


def test_every_limit_is_used_by_some_code() -> None:
    """A limit that no judge or amount looks up is dead data."""
    root = Path(__file__).parents[2] / "firststart"
    text = "\n".join(f.read_text(encoding="utf-8") for f in root.rglob("*.py"))
    prefixes = (
        "battery.load.floor", "wiring.drop", "wiring.path", "ignition.dwell", "ignition.points-gap",
        "fuel.life", "fuel.flow.power", "fuel.pump.lift", "fuel.pump.injection", "fuel.pump.delivery",
        "ignition.manual", "ignition.coil-primary", "ignition.coil-secondary",
    )  # fmt: skip
    asked = text.replace("{winding}", "coil-primary") + text.replace("{winding}", "coil-secondary")
    dead = [n for n in OWN if n not in asked and not any(n.startswith(p + ".") and p in asked for p in prefixes)]

    assert dead == []


@pytest.mark.external
@pytest.mark.parametrize("name", [n for n in OWN if n.startswith("air.co.c")])
def test_united_states_figures_say_so(name: str) -> None:
    """NIOSH figures are United States figures: each says that local law may differ."""
    assert "local law may differ" in OWN[name].note


@settings(deadline=None)
@given(st.sampled_from(sorted(BY_NAME)), st.floats(0, 1e6), st.floats(0, 10), st.sampled_from(["", "6", "12", "24"]))
def test_any_reading_gets_one_of_the_judge_s_words(name: str, value: float, resolution: float, battery: str) -> None:
    """Whatever is read, the judge answers with a word of its closed list, or refuses with a typed error."""
    kind = BY_NAME[name].of
    reading = Reading(name, measured(value, KINDS[kind].units[0].symbol, kind), 1, resolution) if kind else None
    where = context(**({"battery": battery} if battery else {}))
    try:
        verdict = judged(name, reading, where)
    except InputError:
        return

    assert verdict.limit == "" or verdict.limit in LIMITS.by_name
    assert len(verdict.say.split()) <= 22
    assert "nan" not in (verdict.say + " ".join(verdict.details)).lower()


@pytest.mark.parametrize("name", sorted(n for n in BY_NAME if BY_NAME[n].of))
def test_each_judge_refuses_another_kind(name: str) -> None:
    """A judge of ohms does not judge teaspoons."""
    with pytest.raises(InputError):
        BY_NAME[name].run(Reading(name, measured(1, "g", "mass")), context())


def test_a_limit_of_an_unknown_unit_is_refused() -> None:
    """The planted fault that proves the unit check."""
    with pytest.raises(UnitError):
        find_unit("furlong", "length")
