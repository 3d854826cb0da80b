"""Judges of timing by the piston and by a stop, and the amounts of the engine itself."""

from __future__ import annotations

import pytest
from judge_bench import LIMITS

from firststart.engine.profile import NUMBERS, EngineProfile
from firststart.errors import InputError, RangeError
from firststart.judge.amounts_electrical import AMOUNTS as ELECTRICAL
from firststart.judge.amounts_engine import AMOUNTS
from firststart.judge.model import Context, Reading, Verdict
from firststart.judge.registry import JUDGES
from firststart.units import Measured, parse

Readings = dict[tuple[str, int | None], Measured]


def on(readings: Readings | None = None, **facts: str) -> Context:
    profile = EngineProfile()
    for name, text in facts.items():
        field = name.replace("_", "-")
        if field in NUMBERS:
            profile = profile.with_number(field, parse(text, NUMBERS[field][0], NUMBERS[field][1] or None))
        else:
            profile = profile.with_word(field, text)
    return Context(profile, LIMITS, readings or {})


def piston(text: str, context: Context) -> Verdict:
    verdict = JUDGES["timing-piston"].run(Reading("timing.piston", parse(text, "length"), None, 0.05e-3), context)
    assert verdict.word in JUDGES["timing-piston"].words
    assert len(verdict.say.split()) <= 20
    return verdict


@pytest.mark.external
@pytest.mark.parametrize(
    ("stroke", "rod", "drop", "degrees"),
    [("50 mm", "90 mm", "2 mm", 20.45), ("54 mm", "100 mm", "3 mm", 24.25), ("68 mm", "120 mm", "4 mm", 24.84),
     ("80 mm", "135 mm", "1 mm", 11.28)],
)  # fmt: skip
def test_millimetres_of_piston_are_judged_as_degrees(stroke: str, rod: str, drop: str, degrees: float) -> None:
    """Degrees before top at a piston position (plane geometry, scipy 1.17 brentq): right, too early and too late."""
    facts = {"stroke": stroke, "rod": rod}

    assert piston(drop, on(timing=f"{degrees:.2f} deg", **facts)).word == "inside"
    assert piston(drop, on(timing=f"{degrees - 4:.2f} deg", **facts)).word == "early"
    assert piston(drop, on(timing=f"{degrees + 4:.2f} deg", **facts)).word == "late"


def test_an_unknown_rod_widens_the_answer() -> None:
    """Without the rod the usual range is taken, and said; near the edge it is then not decided."""
    known = piston("2.2 mm", on(timing="18.9 deg", stroke="50 mm", rod="90 mm"))
    unknown = piston("2.2 mm", on(timing="18.9 deg", stroke="50 mm"))

    assert ("early", "unsure") == (known.word, unknown.word)
    assert unknown.details == ("usual rod length assumed",)


def test_the_manuals_millimetres_come_first() -> None:
    """2.3 mm asked and 2.3 read is right, whatever the degrees say."""
    manual: Readings = {("manual.timing-piston", None): parse("2.3 mm", "length")}

    assert piston("2.3 mm", on(manual, timing="5 deg", stroke="50 mm")).word == "inside"
    assert piston("2.8 mm", on(manual)).word == "early"
    assert piston("1.8 mm", on(manual)).word == "late"


def test_a_piston_beyond_its_stroke_is_refused() -> None:
    """The range is in the error; without stroke or figure nothing is compared."""
    with pytest.raises(RangeError, match="only over its stroke"):
        piston("55 mm", on(timing="10 deg", stroke="50 mm"))
    with pytest.raises(InputError, match="timing-piston"):
        JUDGES["timing-piston"].run(None, on())

    assert piston("2 mm", on()).word == "unsure"


@pytest.mark.parametrize(
    ("first", "second", "word", "told"),
    [(330, 30, "found", " 0 deg"), (20, 100, "found", " 60 deg"), (10, 10, "unsure", "deeper"),
     (0, 180, "unsure", "deeper"), (359, 1, "unsure", "deeper")],
)  # fmt: skip
def test_true_top_is_midway(first: float, second: float, word: str, told: str) -> None:
    """Positive-stop method (from memory): the middle of the shorter arc; marks too near or opposite tell nothing."""
    readings: Readings = {
        ("stop.first", None): parse(f"{first} deg", "angle"), ("stop.second", None): parse(f"{second} deg", "angle"),
    }  # fmt: skip
    verdict = JUDGES["top-centre"].run(None, on(readings))

    assert word == verdict.word
    assert told in verdict.say.replace("360 deg", "0 deg")


def test_one_mark_is_not_enough() -> None:
    """Both ways of turning are needed."""
    assert JUDGES["top-centre"].run(None, on()).word == "unsure"


ENGINE = {"bore": "85 mm", "stroke": "80 mm", "rod": "135 mm", "ratio": "9:1", "cylinders": "4", "cycle": "four-stroke"}


@pytest.mark.external
@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("crank-torque", "14 Nm at 5 deg off the top"),  # plane geometry: 14.1 Nm at 80 psi
        ("firing-interval", "180 deg on the crank"),  # 720 / n
        ("firing-order", "usually 1 3 4 2 or 1 2 4 3, by the manual"),  # from memory
        ("water-held", "4 ml"),  # University of Nebraska: 0.398 % of E10
        ("spill-air", "10 ml of petrol make 130 to 200 l of air flammable"),  # ideal gas: 12.7 to 19.6 l a millilitre
        ("blend-leaner", "4 %"),  # stoichiometry: 14.01 against 14.60
        ("gravity-head", "0.4 to 4.4 kPa"),  # hydrostatics: 0.30 m is 2.18 kPa
    ],
)
def test_amounts_of_the_engine(name: str, text: str) -> None:
    """Each is the published or computed figure, rounded for the ear."""
    assert text == AMOUNTS[name](on(**ENGINE))


@pytest.mark.external
@pytest.mark.parametrize(
    ("name", "facts", "text"),
    [
        ("load-current", {"cca": "490 A"}, "245 A"),  # half the cold cranking amps (Kia Amanti)
        ("load-current", {"capacity": "12 Ah"}, "36 A"),  # three times the amp hours (Mini)
        ("charge-current", {"capacity": "45 Ah"}, "4.5 A"),
        ("charge-left", {"years": "0.25 year", "air_temperature": "10 degC"}, "is down to 83 %"),  # TM 9-6140-200-14
        ("charge-left", {"years": "3 year"}, "is quite flat"),
        ("feed-lead", {}, "2.5 mm2, or 12 gauge"),  # ASTM B258: 12 gauge is 3.31 mm2, 14 is 2.08
        ("feed-drop", {}, "0.2 V"),  # 4 m of 2.5 mm2 copper at 8 A: 0.22 V
        ("wire-melts", {}, "130 A"),  # Onderdonk: 168.9 A for 1.31 mm2 in 5 s
        ("test-voltage", {}, "16 kV"),  # 24.22 x + 6.08 sqrt(x) at 5 mm
    ],
)
def test_amounts_of_battery_and_wiring(name: str, facts: dict[str, str], text: str) -> None:
    """Each follows from a published figure, named beside it."""
    assert text == ELECTRICAL[name](on(**facts))


def test_a_coil_stores_less_while_the_starter_drags_the_voltage_down() -> None:
    """L I2 / 2 of 8 mH at 3 ohm: 64 mJ at 12 V, 41 at 9.6 (the square of the share); without a reading no figure."""
    readings: Readings = {("coil-primary", None): parse("3 ohm", "resistance")}

    assert ELECTRICAL["coil-energy"](on(readings, battery="12")) == "41 mJ instead of 64 mJ"
    assert ELECTRICAL["coil-energy"](on(battery="12")) == "less by a third"


@pytest.mark.parametrize("name", [*AMOUNTS, *ELECTRICAL])
def test_an_unknown_engine_has_an_honest_phrase(name: str) -> None:
    """Nothing known is no error and no invented figure of this engine."""
    text = {**AMOUNTS, **ELECTRICAL}[name](on())

    assert text
    assert not {"nan", "inf", "None"} & set(text.split())


@pytest.mark.parametrize(
    ("order", "name", "text"),
    [
        ("1243", "firing-order", "1 2 4 3"),
        ("3421", "firing-order", "1 3 4 2"),
        ("1342", "firing-pairs", "1 and 4, 2 and 3"),
        ("", "firing-pairs", "half the firing order away"),
    ],
)
def test_a_firing_order_that_was_told_is_the_one_that_is_said(order: str, name: str, text: str) -> None:
    """Leads, tops and shared coils go by this engine's order, and not by a usual one."""
    told = {"firing_order": order} if order else {}

    assert text == AMOUNTS[name](on(cylinders="4", cycle="four-stroke", **told))


def test_an_order_of_another_number_of_cylinders_is_not_used() -> None:
    """Six cylinders are told after an order of four: the usual orders of six are said again."""
    assert "1 5 3 6 2 4" in AMOUNTS["firing-order"](on(cylinders="6", firing_order="1342"))
