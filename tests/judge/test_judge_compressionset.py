"""A whole set of readings: rules that conflict, low but even, neighbours, and the trend between tests."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from judge_bench import LIMITS, PSI, bench, engine, judged, psi

from firststart.errors import InputError, UnknownName
from firststart.judge.model import Limit
from firststart.judge.rules import apply, read_rule, rules
from firststart.physics.uncertainty import FAIL, PASS
from firststart.procedure.library import Library

FOUR = engine(kind="car", cylinders="4", ratio="8:1")
P, F = PASS, FAIL
LETTERS = ("ratio-75", "ratio-70-100", "spread-25-85", "spread-10", "mean-20")
VECTORS = [
    ([120, 118, 117, 96], 0.800, (P, F, P, F, P)),
    ([100, 100, 100, 74], 0.740, (F, F, F, F, F)),
    ([150, 150, 150, 105], 0.700, (F, P, F, F, F)),
    ([122, 121, 119, 113], 0.926, (P, P, P, P, P)),
    ([160, 155, 150, 120], 0.750, (P, P, F, F, P)),
    ([90, 88, 66, 64], 0.711, (F, F, F, F, P)),
]
SOURCES = {
    "ratio-75": "TM 5-4210-230-14&P-1",
    "ratio-70-100": "Pontiac Solstice 2006",
    "spread-25-85": "OD1001",
    "spread-10": "TM 10-3930-618-20",
    "mean-20": "TM 1-1500-204-23-1",
}


@pytest.mark.external
@pytest.mark.parametrize("rule", LETTERS, ids=lambda r: f"{SOURCES[r]}: {r}")
@pytest.mark.parametrize(("readings", "share", "words"), VECTORS, ids=lambda v: str(v) if isinstance(v, list) else "")
def test_published_rules_on_the_same_six_sets(
    readings: list[float], share: float, words: tuple[str, ...], rule: str
) -> None:
    """Trap: one set passes one published rule and fails four. Each rule as printed, edges included."""
    values = {i + 1: v * PSI for i, v in enumerate(readings)}
    found = apply(read_rule(rule, LIMITS[f"compression.rule.{rule}"]), values, 0.0)

    assert pytest.approx(share, abs=5e-4) == min(readings) / max(readings)
    assert words[LETTERS.index(rule)] == found.face
    assert SOURCES[rule] in LIMITS[f"compression.rule.{rule}"].source


def test_each_of_the_five_rules_can_be_told_as_the_manual_s(library: Library) -> None:
    """The profile asks for the manual's rule, and each of the five is an answer there."""
    assert set(LETTERS) <= set(library.procedures["engine-profile"].steps["compression-rule"].choices)


@pytest.mark.external
def test_gm_s_own_example() -> None:
    """Pontiac Solstice 2006 service manual: highest 150 psi (1035 kPa) allows 105 psi (725 kPa) in any other."""
    rule = read_rule("ratio-70-100", LIMITS["compression.rule.ratio-70-100"])

    assert pytest.approx(105, abs=1e-9) == rule.required({1: 150 * PSI}) / PSI
    assert pytest.approx(725, abs=1) == rule.required({1: 1035e3}) / 1000


@pytest.mark.parametrize(
    ("readings", "word"),
    [
        ([160, 158, 155, 157], "even"),
        ([90, 88, 91, 89], "low-even"),
        ([160, 158, 100, 157], "one-low"),
        ([160, 158, 90, 92], "adjacent-low"),
        ([160, 90, 158, 92], "uneven"),
        ([160, 90, 91, 92], "uneven"),
        ([3, 0, 5, 2], "none"),
        ([160, 0, 158, 157], "one-low"),
        ([160, 155, 150, 120], "unsure"),
        ([160, 158, 157, 119.5], "unsure"),
        ([160, 158, 157, 118.8], "unsure"),
        ([160, 158, 157, 118], "one-low"),
    ],
    ids=str,
)
def test_one_verdict_for_the_set(readings: list[float], word: str) -> None:
    """Low but even is its own verdict: not one low, not none."""
    assert word == judged("compression-set", "", bench(FOUR, psi(readings))).word


def test_conflicting_rules_are_shown_with_their_sources() -> None:
    """The first conflict line names who would pass it and who would not; each rule has its own line."""
    details = judged("compression-set", "", bench(FOUR, psi([150, 150, 150, 105]))).details

    assert any("disagree" in d and "ratio-70-100" in d for d in details)
    assert all(any(d.startswith(f"{name}: ") for d in details) for name in rules(bench()))


def test_the_rule_that_the_manual_names_is_the_one_applied() -> None:
    """150 150 150 110 fails the default rule and passes the one this manual names."""
    readings = psi([150, 150, 150, 110])
    manual = FOUR.with_word("compression-rule", "ratio-70-100")
    default, named = (judged("compression-set", "", bench(p, readings)) for p in (FOUR, manual))

    assert (default.word, default.limit) == ("one-low", "compression.rule.ratio-75")
    assert (named.word, named.limit) == ("even", "compression.rule.ratio-70-100")
    assert "as the manual names" in named.details[0]


def test_a_rule_that_is_not_in_the_limits_is_refused() -> None:
    """A misspelt rule is an error, not the default in silence."""
    with pytest.raises(UnknownName, match="ratio-77"):
        judged("compression-set", "", bench(FOUR.with_word("compression-rule", "ratio-77"), psi([150] * 4)))


def test_a_set_with_a_cylinder_missing_is_not_judged() -> None:
    """It says which."""
    verdict = judged("compression-set", "", bench(FOUR, psi([150, 150, 150])))

    assert (verdict.word, verdict.say) == ("unsure", "Cylinder 4 is not read yet.")
    assert judged("compression-set", "", bench()).word == "unsure"


@pytest.mark.parametrize(("reading", "word"), [(150, "even"), (60, "low-even"), (3, "none")])
def test_a_single_is_judged_by_its_level(reading: float, word: str) -> None:
    """One cylinder is always even with itself."""
    assert word == judged("compression-set", "", bench(engine(cylinders="1", ratio="8:1"), psi([reading]))).word


def test_a_floor_written_at_sea_level_is_lower_up_high() -> None:
    """Four cylinders at 95 psi miss the floor of 100 at the sea and clear it at 2000 m."""
    named = FOUR.with_word("compression-rule", "ratio-70-100")
    high = named.with_number("altitude", engine(altitude="2000 m").numbers["altitude"])

    assert judged("compression-set", "", bench(named, psi([95] * 4))).word == "low-even"
    assert judged("compression-set", "", bench(high, psi([95] * 4))).word == "even"


@given(st.lists(st.floats(20, 220), min_size=2, max_size=6), st.integers(0, 5), st.floats(0, 3000))
def test_the_order_of_cylinders_changes_only_which_are_neighbours(
    readings: list[float], turn: int, metres: float
) -> None:
    """Turning the list round never changes pass into fail under any rule, at any doubt."""
    turned = readings[turn % len(readings) :] + readings[: turn % len(readings)]
    for rule in rules(bench()).values():
        one, other = (apply(rule, {i + 1: v * PSI for i, v in enumerate(r)}, metres) for r in (readings, turned))
        assert len(one.low) == len(other.low)
        assert one.word == other.word


@given(st.lists(st.floats(30, 220), min_size=2, max_size=6), st.floats(0.3, 3))
def test_rules_of_shares_do_not_know_the_unit(readings: list[float], scale: float) -> None:
    """Ratio, mean and difference rules judge psi and kPa alike."""
    for name in ("ratio-75", "mean-20", "difference-10"):
        rule = read_rule(name, LIMITS[f"compression.rule.{name}"])
        edge = min(abs(v - rule.required(dict(enumerate(readings)))) for v in readings)
        if edge > 1e-6:
            faces = {apply(rule, {i: v * s for i, v in enumerate(readings)}, 0.0).face for s in (1.0, scale)}
            assert len(faces) == 1


@pytest.mark.parametrize("value", [{}, {"ratio": 0.75, "spread": 10}, {"share": 0.75}, [0.75], None], ids=str)
def test_a_rule_that_says_nothing_or_two_things_is_refused(value: object) -> None:
    """A user's own limits file cannot bring in half a rule."""
    limit = Limit(value=value, unit="psi", kind="pressure", source="invented", mark="computed")
    with pytest.raises(InputError, match=r"compression\.rule\.mine"):
        read_rule("mine", limit)


@pytest.mark.parametrize(
    ("before", "now", "word"),
    [
        ([80, 82], [120, 125], "better"),
        ([120, 125], [121, 124], "same"),
        ([120, 125], [80, 124], "worse"),
        ([80, 125], [120, 90], "unsure"),
        ([200, 200], [206, 195], "same"),
        ([20, 20], [23, 20], "better"),
    ],
    ids=str,
)
def test_trend_between_two_tests(before: list[float], now: list[float], word: str) -> None:
    """Better, same or worse, and not said when cylinders go both ways."""
    assert word == judged("compression-recheck", "", bench(FOUR, psi(now), psi(before))).word


def test_no_earlier_test_is_no_trend() -> None:
    """Nothing to compare, said so."""
    assert judged("compression-recheck", "", bench(FOUR, psi([100] * 4))).word == "unsure"


@given(st.lists(st.floats(0, 250), min_size=4, max_size=4))
def test_every_set_has_a_verdict_short_enough_to_hear(readings: list[float]) -> None:
    """No exception, a word of the list, at most twenty words to say, for any four readings."""
    verdict = judged("compression-set", "", bench(FOUR, psi([round(r, 1) for r in readings])))

    assert len(verdict.say.split()) <= 20
    assert verdict.source


def test_too_near_to_say_tells_how_near() -> None:
    """120 of 160 is exactly the three quarters of the rule: no margin, even odds."""
    details = judged("compression-set", "", bench(FOUR, psi([160, 155, 150, 120]))).details

    assert "off the limit by" in details[2]
    assert "50 % likely" in details[2]


def test_twenty_per_cent_below_the_mean_fails_at_the_limit_itself() -> None:
    """TM 1-1500-204-23-1: "20 % or more below" the mean. 75 of 100 100 100 75 is just that, and 75 % of highest."""
    readings = {1: 100.0, 2: 100.0, 3: 100.0, 4: 75.0}
    faces = {
        n: apply(read_rule(n, LIMITS[f"compression.rule.{n}"]), readings, 0.0).face for n in ("mean-20", "ratio-75")
    }

    assert faces == {"mean-20": FAIL, "ratio-75": PASS}
