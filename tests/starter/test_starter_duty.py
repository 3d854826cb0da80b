"""Duty classes as data: sources, choices by kind of engine, and refusals with every problem at once."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from firststart.engine.profile import EngineProfile
from firststart.errors import DataError, UnknownName
from firststart.starter.duty import DutyClasses

DATA = yaml.safe_load((Path(__file__).parents[2] / "procedures" / "starters.yaml").read_text(encoding="utf-8"))
CLASSES = DutyClasses.from_data(DATA)


@pytest.mark.external
@pytest.mark.parametrize(
    ("name", "factor", "source"),
    [
        ("jet-drive", 0.25, "5/15: Yamaha LIT-18626-15-29 p 171"),
        ("small-engine", 0.143, "10/60: Kohler CH11-16 p 8.11"),
        ("truck-diesel", 0.2, "30/120: Peterbilt Y53-6032 p 93"),
    ],
)
def test_duty_factor(name: str, factor: float, source: str) -> None:
    """The cyclic duration factor is cranking over cranking and rest, as IEC 60034-1 words it."""
    assert factor == pytest.approx(CLASSES[name].duty_factor, abs=5e-4), source


@pytest.mark.external
@pytest.mark.parametrize(
    ("letter", "limit", "hot_spot"), [("A", 100, 105), ("B", 120, 130), ("F", 140, 155), ("H", 160, 180)]
)
def test_insulation_limit_by_resistance(letter: str, limit: float, hot_spot: float) -> None:
    """The limit by resistance lies below the hot spot of the class (US Bureau of Reclamation; IEC 60085)."""
    entry = DATA["insulation"][letter]

    assert (limit, hot_spot) == (entry["limit_degc"], entry["hot_spot_degc"])


@pytest.mark.external
@pytest.mark.parametrize("name", sorted(CLASSES.by_name))
def test_no_class_goes_beyond_any_published_crank(name: str) -> None:
    """No class cranks over 30 s, the longest any source permits (TM 5-3805-290-23-1, truck and outboard manuals)."""
    assert CLASSES[name].crank_s <= 30


@pytest.mark.external
@pytest.mark.parametrize("name", sorted(set(CLASSES.by_name) - {"jet-drive"}))
def test_no_class_rests_less_per_second_than_the_trucks(name: str) -> None:
    """But for the jet-drive's own manual, every class rests at least 2 min for 30 s (Peterbilt Y53-6032 p 93)."""
    assert CLASSES[name].rest_s / CLASSES[name].crank_s >= 120 / 30


@pytest.mark.parametrize("name", sorted(CLASSES.by_name))
def test_invented_heat_says_so(name: str) -> None:
    """The heat constants, which nobody publishes, are marked as invented."""
    heat = CLASSES[name].heat

    assert (heat.source, heat.mark) == ("invented model constants, conservative", "common practice, no source")


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ({}, "small-unknown"),
        ({"kind": "unknown"}, "small-unknown"),
        ({"kind": "motorcycle", "fuel": "petrol"}, "motorcycle"),
        ({"kind": "car"}, "car"),
        ({"kind": "tractor", "fuel": "diesel"}, "truck-diesel"),
        ({"kind": "tractor"}, "car"),
        ({"kind": "mower"}, "small-engine"),
        ({"kind": "outboard"}, "small-unknown"),
        ({"kind": "snowmobile"}, "small-unknown"),
        ({"kind": "outboard", "starter-class": "outboard"}, "outboard"),
        ({"kind": "car", "starter-class": "jet-drive"}, "jet-drive"),
    ],
)
def test_choice_by_profile(words: dict[str, str], name: str) -> None:
    """Only known facts lead to a milder class; the profile's own word comes before all."""
    assert name == CLASSES.choose(EngineProfile(words=words)).name


def test_unknown_class_is_named_with_the_known_ones() -> None:
    """A profile that names no existing class is told which exist."""
    with pytest.raises(UnknownName, match=r"no starter class called 'hamster'.*small-engine"):
        CLASSES.choose(EngineProfile(words={"starter-class": "hamster"}))


def _drop(*path: str) -> Callable[[dict[str, Any]], None]:
    def change(data: dict[str, Any]) -> None:
        for step in path[:-1]:
            data = data[step]
        del data[path[-1]]

    return change


def _put(value: object, *path: str) -> Callable[[dict[str, Any]], None]:
    def change(data: dict[str, Any]) -> None:
        for step in path[:-1]:
            data = data[step]
        data[path[-1]] = value

    return change


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (_drop("classes", "car", "source"), "classes.car.source: Field required"),
        (_put("hearsay", "classes", "car", "mark"), "classes.car.mark"),
        (_put(45, "classes", "car", "crank_s"), "classes.car.crank_s"),
        (_put(float("nan"), "classes", "car", "rest_s"), "classes.car.rest_s"),
        (_put(8, "classes", "car", "rest_s"), "rest_s must not be shorter than crank_s"),
        (_put("molten", "classes", "car", "heat"), "classes.car.heat: must name one of light, middle, heavy"),
        (_put("Z", "heat", "light", "insulation"), "classes.motorcycle.heat"),
        (_put(110, "insulation", "A", "limit_degc"), "limit_degc must be below hot_spot_degc"),
        (_put([], "choose"), "choose: must be a list"),
        (_put([{"when": {"kind": ["car"]}, "class": "car"}], "choose"), "the last line must have no condition"),
        (_put([{"when": {}, "class": "boat"}], "choose"), "there is no class 'boat'"),
        (_put([{"when": {"kind": ["spaceship"]}, "class": "car"}], "choose"), "spaceship"),
        (_put({}, "classes"), "classes: must be a mapping"),
        (_put({}, "extra"), "extra: no such part"),
    ],
)
def test_faulty_data_is_refused(change: Callable[[dict[str, Any]], None], message: str) -> None:
    """Each fault in the file is named with its place."""
    data = copy.deepcopy(DATA)
    change(data)
    with pytest.raises(DataError) as caught:
        DutyClasses.from_data(data)

    assert message in str(caught.value)


def test_all_faults_come_at_once() -> None:
    """Three faults in one file give three problems."""
    data = copy.deepcopy(DATA)
    del data["classes"]["car"]["source"]
    data["classes"]["jet-drive"]["tries"] = 0
    data["heat"]["heavy"]["body_s"] = -1
    with pytest.raises(DataError) as caught:
        DutyClasses.from_data(data)

    text = str(caught.value)

    assert all(place in text for place in ("classes.car.source", "classes.jet-drive.tries", "heat.heavy.body_s"))
