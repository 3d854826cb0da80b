"""Leak-down verdicts: grades, the published limits beside them, and the tester's orifice named."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from judge_bench import LIMITS, bench, engine, judged

from firststart.errors import InputError, RangeError
from firststart.judge.registry import JUDGES
from firststart.units import Measured, parse


def gauge_set(supply: str = "80 psi", restrictor: str = "0.040 in") -> dict[tuple[str, int | None], Measured]:
    """Readings of the tester itself."""
    return {
        ("leak-down.supply", None): parse(supply, "pressure"),
        ("leak-down.restrictor", None): parse(restrictor, "length"),
    }


@pytest.mark.parametrize(
    ("loss", "word"),
    [
        ("0 %", "good"),
        ("8 %", "good"),
        ("9 %", "good"),
        ("10 %", "fair"),
        ("15 %", "fair"),
        ("20 %", "worn"),
        ("25 %", "worn"),
        ("29 %", "worn"),
        ("30 %", "unsure"),
        ("31 %", "failed"),
        ("75 %", "failed"),
        ("100 %", "failed"),
    ],
)
def test_grades(loss: str, word: str) -> None:
    """Trade grading; beside the last limit it is too near to say, beside the others the worse grade counts."""
    assert word == judged("leak-down", loss, bench()).word


@pytest.mark.external
@pytest.mark.parametrize(
    ("name", "per_cent"),
    [("suspect-25", 25), ("car-25", 25), ("total-25", 25), ("marine-20", 20), ("racing-10", 10)],
    ids=["AC 43.13-1B page 8-15", "Dodge Dakota 2002", "Mercedes 300CE 1993", "Fairwinds Marina", "Schnitz Racing"],
)
def test_published_limits_are_data_with_their_source(name: str, per_cent: float) -> None:
    """Each limit of a source is in the data as that source has it."""
    assert pytest.approx(per_cent / 100) == LIMITS[f"leakdown.rule.{name}"].si()


def test_published_limits_that_disagree_are_shown() -> None:
    """22 % passes the three of 25 and fails the two stricter ones."""
    details = judged("leak-down", "22 %", bench()).details

    assert any("disagree" in d and "car-25" in d and "racing-10" in d for d in details)


@pytest.mark.external
def test_the_same_leak_through_another_orifice_is_named() -> None:
    """Trap, two ideal orifices: a leak like the 0.040 in restrictor shows 22.8 % through it and 5.3 % through 0.060."""
    details = judged("leak-down", "22.8 %", bench(None, gauge_set())).details

    assert any("hole of 1.02 mm" in d for d in details)
    assert any("0.06 in (large-bore) it would show 5 %" in d for d in details)


def test_an_unnamed_restrictor_is_said_to_compare_with_nothing() -> None:
    """Trap: a reading without its orifice size means little, and the verdict says so."""
    assert any("restrictor is unknown" in d for d in judged("leak-down", "12 %", bench()).details)


@pytest.mark.external
@pytest.mark.parametrize(
    ("bore", "inch"),
    [("85 mm", "0.04 in"), ("130 mm", "0.06 in")],
    ids=["AC 43.13-1B change 1 section 8-14: under 5 in", "AC 43.13-1B change 1 section 8-14: 5 in and over"],
)
def test_the_restrictor_for_the_bore_comes_with_its_conflict(bore: str, inch: str) -> None:
    """Trap: the switch by bore is told together with the makers' override of 0.040 in for all."""
    details = judged("leak-down", "12 %", bench(engine(bore=bore))).details

    assert any(f"names {inch} for this bore" in d and "override" in d for d in details)


@pytest.mark.parametrize(
    ("held", "word"), [("76 psi", "good"), ("68 psi", "fair"), ("60 psi", "worn"), ("40 psi", "failed")]
)
def test_the_gauge_itself_can_be_judged(held: str, word: str) -> None:
    """The cylinder's gauge against the supply read before."""
    assert word == judged("leak-down-pressure", held, bench(None, gauge_set())).word


def test_the_supply_that_was_read_is_the_one_that_counts() -> None:
    """92 of 100 psi is 8 % lost; 56 of 80 psi is exactly the 30 % that is too near to say."""
    assert judged("leak-down-pressure", "92 psi", bench(None, gauge_set("100 psi"))).word == "good"
    assert judged("leak-down-pressure", "56 psi", bench(None, gauge_set())).word == "unsure"


def test_a_supply_that_was_not_read_is_said_to_be_assumed() -> None:
    """Without a supply reading 80 psi is assumed, and told."""
    verdict = judged("leak-down-pressure", "60 psi", bench())

    assert verdict.word == "worn"
    assert "80 psi assumed" in verdict.details[0]


def test_a_known_crank_gets_its_caution_in_newton_metres() -> None:
    """14 Nm at 5 degrees for bore 85, stroke 80, rod 135 and 80 psi."""
    known = engine(bore="85 mm", stroke="80 mm", rod="135 mm")

    assert any("CAUTION" in d and "14 Nm" in d for d in judged("leak-down", "12 %", bench(known)).details)


@pytest.mark.parametrize(
    ("judge", "text", "field"),
    [
        ("leak-down", "101 %", "leak-down"),
        ("leak-down", "-1 %", "leak-down"),
        ("leak-down-pressure", "90 psi", "cylinder pressure"),
        ("leak-down-pressure", "-5 psi", "cylinder pressure"),
    ],
)
def test_impossible_losses_are_refused(judge: str, text: str, field: str) -> None:
    """Over all, under nothing, and a cylinder over its supply."""
    with pytest.raises(RangeError) as caught:
        judged(judge, text, bench())

    assert field == caught.value.field


@pytest.mark.parametrize("judge", ["leak-down", "leak-down-pressure"])
def test_no_reading_is_a_typed_error(judge: str) -> None:
    """A judge of one value needs it."""
    with pytest.raises(InputError, match=judge):
        JUDGES[judge].run(None, bench())


@given(st.floats(0, 100), st.sampled_from(["0.5 mm", "0.040 in", "0.060 in", "3 mm"]), st.floats(10, 150))
def test_every_loss_has_a_verdict_short_enough_to_hear(loss: float, restrictor: str, supply: float) -> None:
    """No exception and at most twenty words, for any loss, orifice and supply."""
    verdict = judged("leak-down", f"{loss:.2f} %", bench(None, gauge_set(f"{supply:.1f} psi", restrictor)))

    assert len(verdict.say.split()) <= 20
    assert verdict.source
