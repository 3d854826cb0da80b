"""Oil: its grade on the day, its pressure, what may be poured into a cylinder, and the amounts prompts name."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from judge_bench import LIMITS, bench, engine, judged

from firststart.engine.profile import WORDS
from firststart.errors import InputError
from firststart.judge.amounts import AMOUNTS
from firststart.judge.cylinderoil import STORAGE, WET, cylinder_oil
from firststart.judge.registry import JUDGES
from firststart.physics.compression import oil_factor
from firststart.units import Measured, parse


def winter(number: int) -> dict[tuple[str, int | None], Measured]:
    """The number before the W."""
    return {("oil-winter", None): parse(str(number), "count")}


@pytest.mark.external
@pytest.mark.parametrize(
    ("oil", "grade", "celsius", "word"),
    [
        (None, 30, 7, "fine"),
        (None, 30, 3, "thick"),
        (10, 30, -14, "fine"),
        (10, 30, -20, "thick"),
        (15, 50, -9, "fine"),
    ],
    ids=[
        "Vanguard chart: SAE 30 over 5 degC",
        "Vanguard chart: SAE 30 under 5 degC starts hard",
        "Vanguard chart: 10W-30 within -18 to 38 degC",
        "Vanguard chart: 10W-30 under -18 degC",
        "Vanguard chart: 15W-50 about -7 degC",
    ],
)
def test_grades_on_a_maker_s_temperature_chart(oil: int | None, grade: int, celsius: float, word: str) -> None:
    """The verdict turns where the maker's chart turns, within three degrees."""
    context = bench(engine(air_temperature=f"{celsius} degC"), winter(oil) if oil is not None else {})

    assert word == judged("oil-grade", str(grade), context).word


@pytest.mark.external
@pytest.mark.parametrize(("number", "celsius"), [(5, -30), (10, -25), (15, -20), (20, -15), (25, -10)])
def test_cranking_limits_of_sae_j300(number: int, celsius: float) -> None:
    """SAE J300 (2015, secondary copy): below its cranking temperature a W grade is too thick to crank."""
    over = bench(engine(air_temperature=f"{celsius + 0.5} degC"), winter(number))
    under = bench(engine(air_temperature=f"{celsius - 0.5} degC"), winter(number))

    assert judged("oil-grade", "40", over).word == "thick"
    assert judged("oil-grade", "40", under).word == "too-thick"


@pytest.mark.external
@pytest.mark.parametrize(
    ("grade", "low", "high"),
    [(20, 6.9, 9.3), (30, 9.3, 12.5), (40, 12.5, 16.3), (50, 16.3, 21.9), (60, 21.9, 26.1)],
    ids=lambda v: f"SAE J300 2015 at 100 degC: {v}",
)
def test_middles_of_the_grades(grade: int, low: float, high: float) -> None:
    """The viscosity taken for a grade is the middle of the standard's band."""
    assert pytest.approx((low + high) / 2, abs=0.06) == LIMITS[f"oil.grade.{grade}"].value


@given(st.sampled_from([20, 30, 40, 50, 60]), st.integers(-40, 50), st.integers(1, 20))
def test_a_warmer_day_never_thickens_the_oil(grade: int, celsius: int, step: int) -> None:
    """The verdicts are in order along the thermometer."""
    order = ["fine", "thick", "too-thick"]
    warm, cold = (
        order.index(judged("oil-grade", str(grade), bench(engine(air_temperature=f"{t} degC"))).word)
        for t in (min(celsius + step, 55), celsius)
    )

    assert warm <= cold


def test_without_the_air_temperature_the_grade_is_not_judged() -> None:
    """Unknown is unsure, not fine."""
    assert judged("oil-grade", "30", bench()).word == "unsure"


@pytest.mark.parametrize(("grade", "oil"), [("35", None), ("30", 7)])
def test_a_grade_that_does_not_exist_is_refused(grade: str, oil: int | None) -> None:
    """The error lists the grades there are."""
    context = bench(engine(air_temperature="10 degC"), winter(oil) if oil is not None else {})
    with pytest.raises(InputError, match="one of"):
        judged("oil-grade", grade, context)


@pytest.mark.parametrize(
    ("reading", "word"),
    [
        ("40 psi", "good"),
        ("6 psi", "good"),
        ("5 psi", "unsure"),
        ("4 psi", "low"),
        ("1 psi", "none"),
        ("0 bar", "none"),
    ],
)
def test_oil_pressure_at_idle(reading: str, word: str) -> None:
    """Mastercraft page: 6 psi is acceptable, under 5 is bad."""
    assert word == judged("oil-pressure", reading, bench()).word


SIZES = [(50, 9), (100, 9), (125, 9), (250, 9), (500, 9), (500, 14), (2000, 6)]


@pytest.mark.parametrize(("swept", "ratio"), SIZES)
@pytest.mark.parametrize("use", [STORAGE, WET])
def test_oil_is_scaled_to_the_cylinder_and_cannot_lock_it(swept: float, ratio: float, use: str) -> None:
    """Trap: never over a quarter of the clearance volume, nor over the tablespoon of the large-engine manuals."""
    found = cylinder_oil(bench(engine(displacement=f"{swept} ml", cylinders="1", ratio=f"{ratio}:1")), use)

    assert 0 < found.volume.value <= min(15, 0.25 * swept / (ratio - 1))
    if use == WET:
        assert oil_factor(swept * 1e-6, ratio, found.volume.si, 1.25) < 1.2


@given(
    st.sampled_from([*WORDS["kind"], None]),
    st.sampled_from(["petrol", "diesel", None]),
    st.one_of(st.none(), st.floats(50, 8000)),
    st.one_of(st.none(), st.integers(1, 8)),
    st.one_of(st.none(), st.floats(5, 22)),
    st.sampled_from([STORAGE, WET]),
)
def test_whatever_is_unknown_the_oil_stays_under_a_quarter_of_the_room(
    kind: str | None, fuel: str | None, whole: float | None, count: int | None, ratio: float | None, use: str
) -> None:
    """For any engine that fits the facts, the advised oil is at most a quarter of its clearance volume."""
    facts = {
        "kind": kind, "fuel": fuel, "displacement": None if whole is None else f"{whole:.1f} ml",
        "cylinders": None if count is None else str(count), "ratio": None if ratio is None else f"{ratio:.2f}:1",
    }  # fmt: skip
    found = cylinder_oil(bench(engine(**{k: v for k, v in facts.items() if v is not None})), use)
    smallest = whole / (count or 8) if whole is not None else 50.0
    highest = ratio if ratio is not None else (23 if fuel == "diesel" else 12)
    table = LIMITS.under("oil.cylinder.smallest")
    least = table.get(kind or "any", table["any"]).si() * 1e6
    worst = smallest if whole is not None and count is not None else max(smallest, min(least, whole or least))

    assert found.volume.value > 0
    assert found.volume.value <= 0.25 * worst / (highest - 1) + 1e-9
    assert found.volume.value <= 15
    assert whole is not None or found.volume.value <= 5


@pytest.mark.parametrize(
    ("kind", "most"),
    [("car", 5), ("tractor", 5), ("motorcycle", 2), ("mower", 2), ("generator", 2), ("pump", 2), ("outboard", 2)],
)
def test_oil_for_a_cylinder_of_unknown_size(kind: str, most: float) -> None:
    """Small by the kind of engine, and said to be a guess."""
    found = cylinder_oil(bench(engine(kind=kind)))

    assert found.volume.value <= most
    assert len(found.assumed) == 2


@pytest.mark.parametrize(
    ("poured", "word"), [("2 ml", "fine"), ("5 ml", "fine"), ("6 ml", "too-much"), ("15 ml", "too-much")]
)
def test_oil_already_poured_is_judged_before_anything_turns(poured: str, word: str) -> None:
    """180 ml at 9:1 has 22.5 ml over the piston: a quarter is 5.6 ml."""
    assert word == judged("oil-poured", poured, bench(engine(displacement="360 ml", cylinders="2", ratio="9:1"))).word


def test_a_size_that_is_half_known_stays_small() -> None:
    """Eight litres in an unknown number of cylinders: 5 ml at most, until the number is known."""
    assert cylinder_oil(bench(engine(displacement="8 l"))).volume.value == 5
    assert cylinder_oil(bench(engine(displacement="8 l", cylinders="8", ratio="8:1"))).volume.value == 15


def test_amounts_speak_the_unit_of_the_last_reading() -> None:
    """A person who changed from psi to bar hears bar."""
    readings = {
        ("compression.dry", 1): parse("150 psi", "pressure"),
        ("compression.dry", 2): parse("10 bar", "pressure"),
    }

    assert AMOUNTS["expected-compression"](bench(KNOWN, readings)).endswith(" bar")


def test_a_negative_amount_poured_is_refused() -> None:
    """Typed error."""
    with pytest.raises(InputError, match="oil-poured"):
        judged("oil-poured", "-1 ml", bench())


@pytest.mark.parametrize("judge", ["oil-grade", "oil-pressure", "oil-poured"])
def test_judges_of_oil_need_a_reading(judge: str) -> None:
    """No reading is a typed error that names the judge."""
    with pytest.raises(InputError, match=judge):
        JUDGES[judge].run(None, bench())


KNOWN = engine(
    kind="motorcycle", cycle="four-stroke", displacement="360 ml", cylinders="2", ratio="9:1", oil_capacity="2.5 l",
    timing="15 deg", flywheel="200 mm", stroke="68 mm", rod="120 mm",
)  # fmt: skip


@pytest.mark.parametrize(
    ("name", "known", "unknown"),
    [
        ("cylinder-oil", "3.5 ml", "1 ml"),
        ("wet-oil", "1.5 ml", "0.5 ml"),
        ("oil-fill", "2.5 l", "the amount the manual gives"),
        ("oil-pressure-time", "15 s", "15 s"),
        ("crank-compression", "about 3.6 s", "about 3.6 s"),
        ("timing-mark", "26.2 mm along the wheel", "the mark the manual shows"),
    ],
)
def test_amounts_for_prompts(name: str, known: str, unknown: str) -> None:
    """A number when the engine is known, an honest phrase when it is not."""
    assert known == AMOUNTS[name](bench(KNOWN))
    assert unknown == AMOUNTS[name](bench())


@pytest.mark.external
@pytest.mark.parametrize(
    ("facts", "text"),
    [
        ({"timing": "15 deg", "stroke": "68 mm", "rod": "120 mm"}, "1.48 mm of piston travel"),
        ({"timing": "28 deg", "stroke": "54 mm", "rod": "100 mm"}, "3.97 mm of piston travel"),
        ({"timing": "10 deg", "flywheel": "200 mm"}, "17.5 mm along the wheel"),
        ({"timing": "10 deg"}, "10 deg on a timing disc"),
    ],
    ids=["slider-crank table 68/120", "slider-crank table 54/100", "pi D a / 360", "no size known"],
)
def test_timing_mark_for_what_can_be_measured(facts: dict[str, str], text: str) -> None:
    """Along the wheel if its size is known, else by the piston, else by a disc."""
    assert text == AMOUNTS["timing-mark"](bench(engine(**facts)))


@pytest.mark.external
@pytest.mark.parametrize(("rpm", "seconds"), [(250, "2.9 s"), (150, "4.8 s"), (100, "7.2 s")])
def test_cranking_time_from_a_measured_speed(rpm: float, seconds: str) -> None:
    """Six compression strokes (TM 10-3930-618-20: five to six) at two turns each; no cap, the permit decides."""
    readings = {("cranking-speed", None): parse(f"{rpm} rpm", "speed")}

    assert seconds == AMOUNTS["crank-compression"](bench(KNOWN, readings))


def test_a_two_stroke_needs_half_the_cranking() -> None:
    """One turn a compression stroke."""
    readings = {("cranking-speed", None): parse("150 rpm", "speed")}

    assert AMOUNTS["crank-compression"](bench(engine(cycle="two-stroke"), readings)) == "2.4 s"


@pytest.mark.parametrize("name", AMOUNTS)
def test_every_amount_answers_for_an_unknown_engine(name: str) -> None:
    """Never an exception, never empty, never a sentence too long to sit inside another."""
    text = AMOUNTS[name](bench())

    assert 0 < len(text.split()) <= 6
