"""The permit: published duty, over-runs, tries, heat, and that nothing is gained by cranking more."""

from __future__ import annotations

import math
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from firststart.errors import RangeError
from firststart.starter.duty import DutyClass, DutyClasses
from firststart.starter.heat import WARM_K
from firststart.starter.permit import Crank, permit

STARTERS = Path(__file__).parents[2] / "procedures" / "starters.yaml"
CLASSES = DutyClasses.from_data(yaml.safe_load(STARTERS.read_text(encoding="utf-8")))
COOL = 293.15
SMALL = CLASSES["small-engine"]
EPS = 1e-6


def on(duty: DutyClass | str) -> DutyClass:
    return CLASSES[duty] if isinstance(duty, str) else duty


@pytest.mark.parametrize("name", sorted(CLASSES.by_name))
def test_a_rested_starter_may_crank_at_once(name: str) -> None:
    """With no crank on record every class permits a crank now, no longer than its limit."""
    got = permit([], CLASSES[name], 0.0, COOL)

    assert (True, 0.0, CLASSES[name].tries) == (got.allowed, got.wait_s, got.tries_left)
    assert 0.9 * CLASSES[name].crank_s <= got.seconds <= CLASSES[name].crank_s


@pytest.mark.external
@pytest.mark.parametrize(
    ("name", "crank", "rest", "source"),
    [
        ("jet-drive", 5, 15, "Yamaha LIT-18626-15-29 p 171"),
        ("small-engine", 10, 60, "Kohler CH11-16 p 8.11"),
        ("truck-diesel", 30, 120, "Peterbilt Y53-6032 p 93"),
        ("outboard", 30, 120, "Mercury 90-883728 p 2B-21"),
    ],
)
def test_full_crank_then_published_rest(name: str, crank: float, rest: float, source: str) -> None:
    """After a full crank a cool starter rests exactly as long as its published source says."""
    duty = on(name)
    got = permit([Crank(0.0, crank)], duty, crank, 263.15)

    assert (crank, rest) == (duty.crank_s, got.wait_s), source
    assert permit([Crank(0.0, crank)], duty, crank + rest, 263.15).allowed
    assert not permit([Crank(0.0, crank)], duty, crank + rest - 0.01, 263.15).allowed


@pytest.mark.external
def test_the_regulation_stops_a_car_at_fifteen_seconds() -> None:
    """40 CFR 1065.525(b): no more than 15 s of cranking, however long is wished for."""
    got = permit([], on("car"), 0.0, COOL, wanted_s=40.0)

    assert got.seconds == 15.0
    assert got.allowed


@pytest.mark.parametrize(("seconds", "rest"), [(2, 12), (5, 30), (10, 60), (12, 72), (20, 120), (60, 360)])
def test_rest_is_in_proportion_and_an_over_run_lengthens_it(seconds: float, rest: float) -> None:
    """Each second cranked costs the same rest; over the limit the rest grows past the class's."""
    cold = 223.15
    got = permit([Crank(0.0, seconds)], SMALL, seconds, cold)

    assert got.wait_s >= rest - EPS
    assert rest == pytest.approx(got.wait_s) or got.rule in ("tries", "heat")


def test_short_cranks_without_rest_add_up() -> None:
    """Five cranks of two seconds on end cost the rest of one of ten."""
    bits = [Crank(2.0 * i, 2.0) for i in range(5)]

    assert permit([Crank(0.0, 10.0)], SMALL, 10.0, COOL) == permit(bits, SMALL, 10.0, COOL)


def test_a_touch_of_the_button_still_needs_the_pause() -> None:
    """A crank of a tenth of a second is followed by the pause in which everything comes to rest."""
    got = permit([Crank(0.0, 0.1)], SMALL, 0.1, COOL)

    assert SMALL.pause_s == pytest.approx(got.wait_s)
    assert got.reason == "Let the starter rest for 5 seconds."


def test_rest_not_yet_taken_is_carried_over() -> None:
    """A crank during the rest adds to what is still owed."""
    got = permit([Crank(0.0, 10.0), Crank(40.0, 5.0)], SMALL, 45.0, 253.15)

    assert pytest.approx(got.wait_s) == 60 - 30 + 30


def test_three_tries_then_stop_and_find_why() -> None:
    """After three full tries the starter waits until the first has left the ten minutes."""
    cranks = [Crank(0.0, 10.0), Crank(70.0, 10.0), Crank(140.0, 10.0)]
    got = permit(cranks, SMALL, 150.0, 263.15)

    assert (got.rule, got.tries_left, got.allowed) == ("tries", 0, False)
    assert pytest.approx(got.wait_s, abs=7) == 10 + 600 - 150
    assert "find out why" in got.reason


def test_what_is_left_of_the_tries_is_all_that_may_be_cranked() -> None:
    """Two full tries and most of a third leave the rest of the third: no longer crank is granted, in cold air too."""
    cranks = [Crank(0.0, 10.0), Crank(70.0, 10.0), Crank(140.0, 6.0)]
    got = permit(cranks, SMALL, 210.0, 253.15)

    assert (True, 0, "tries") == (got.allowed, got.tries_left, got.rule)
    assert pytest.approx(4.0) == got.seconds


@pytest.mark.parametrize(("sure", "counted"), [(True, 1.0), (False, 10.0)])
def test_an_open_crank_counts_with_its_limit(sure: bool, counted: float) -> None:
    """A crank whose end is not known counts as the class's longest."""
    got = permit([Crank(0.0, 1.0, sure=sure)], SMALL, 20.0, 253.15)
    told = permit([Crank(0.0, counted)], SMALL, 20.0, 253.15)

    assert told == got


def test_an_open_crank_may_still_be_turning() -> None:
    """Asked two seconds after an open crank began, nothing is allowed and the wait covers crank and rest."""
    got = permit([Crank(0.0, 0.0, sure=False)], SMALL, 2.0, 253.15)

    assert (got.seconds, got.allowed) == (0.0, False)
    assert pytest.approx(got.wait_s) == 8 + 60
    assert permit([Crank(0.0, 10.0)], SMALL, 10.0, 253.15).winding_k == got.winding_k


def test_overlapping_tales_lose_no_second() -> None:
    """Two cranks told to overlap count one after the other."""
    got = permit([Crank(0.0, 5.0), Crank(3.0, 5.0)], SMALL, 10.0, 253.15)

    assert permit([Crank(0.0, 10.0)], SMALL, 10.0, 253.15) == got


def test_unknown_air_is_taken_as_a_warm_day() -> None:
    """Without an air temperature the heat rule reckons with 40 degrees."""
    cranks = [Crank(0.0, 10.0), Crank(70.0, 10.0)]

    assert permit(cranks, SMALL, 80.0, WARM_K) == permit(cranks, SMALL, 80.0, None)
    assert WARM_K == 313.15


def test_a_hot_starter_is_held_by_its_winding_first() -> None:
    """In 60 degree air the heat rule speaks before the duty rule, and says the temperature."""
    got = permit([Crank(0.0, 10.0)], SMALL, 10.0, 333.15, wanted_s=8.0)

    assert (got.rule, got.allowed) == ("heat", False)
    assert got.reason.startswith("The winding is near ")
    assert got.wait_s > SMALL.rest_s


@pytest.mark.parametrize("name", sorted(CLASSES.by_name))
def test_no_wait_outlasts_an_evening(name: str) -> None:
    """Even on a 70 degree day after a long over-run, the longest wish waits under two hours."""
    duty = CLASSES[name]
    got = permit([Crank(0.0, 2 * duty.crank_s)], duty, 2 * duty.crank_s, 343.15, wanted_s=40.0)

    assert got.wait_s < 2 * 3600
    assert permit([Crank(0.0, 2 * duty.crank_s)], duty, 2 * duty.crank_s + got.wait_s + EPS, 343.15, 40.0).allowed


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: Crank(0.0, -1.0), "seconds of a crank"),
        (lambda: Crank(0.0, math.nan), "seconds of a crank"),
        (lambda: Crank(0.0, 4000.0), "seconds of a crank"),
        (lambda: Crank(math.inf, 1.0), "start of a crank"),
        (lambda: permit([Crank(0.0, 5.0)], SMALL, 4.0, COOL), "now"),
        (lambda: permit([Crank(5.0, 0.0, sure=False)], SMALL, 4.0, COOL), "now"),
        (lambda: permit([], SMALL, math.nan, COOL), "now"),
        (lambda: permit([], SMALL, 0.0, 500.0), "air temperature"),
        (lambda: permit([], SMALL, 0.0, math.nan), "air temperature"),
        (lambda: permit([], SMALL, 0.0, COOL, wanted_s=0.0), "wanted seconds"),
        (lambda: permit([], SMALL, 0.0, COOL, wanted_s=math.nan), "wanted seconds"),
    ],
)
def test_impossible_input_is_a_typed_error(call: object, field: str) -> None:
    """What cannot be is refused with the field's name, never bent into shape."""
    with pytest.raises(RangeError) as caught:
        call()  # type: ignore[operator]

    assert field == caught.value.field


def test_three_hundred_cranks_in_under_a_millisecond() -> None:
    """The permit is cheap enough to ask at every tick (best of 30, to keep the machine's noise out)."""
    cranks = [Crank(i * 100.0, 5.0) for i in range(300)]

    def once() -> float:
        start = time.perf_counter()
        permit(cranks, CLASSES["car"], 30000.0, None, 15.0)
        return time.perf_counter() - start

    assert min(once() for _ in range(30)) < 0.001


# Laws ---------------------------------------------------------------------------------------------

NAMES = st.sampled_from(sorted(CLASSES.by_name))
AIR = st.sampled_from([None, 253.15, 293.15, 313.15, 333.15, 343.15]) | st.floats(243.15, 343.15)
WISH = st.sampled_from([None, 2.0, 5.0, 10.0, 40.0]) | st.floats(0.5, 40)


@st.composite
def histories(draw: st.DrawFn) -> tuple[list[Crank], float]:
    """Cranks with gaps from none to an hour, and a moment after them."""
    gaps = draw(st.lists(st.tuples(st.floats(0, 400) | st.floats(0, 4000), st.floats(0, 40)), max_size=12))
    cranks, at = [], 0.0
    for gap, seconds in gaps:
        cranks.append(Crank(at + gap, seconds))
        at += gap + seconds
    return cranks, at + draw(st.floats(0, 1000))


def standing(cranks: list[Crank]) -> float:
    """When the starter stands at last: cranks that overlap are taken one after the other."""
    at = 0.0
    for crank in sorted(cranks, key=lambda c: c.start):
        at = max(at, crank.start) + crank.seconds
    return at


def never_better(before: list[Crank], after: list[Crank], duty: DutyClass, now: float, air: float | None,
                 wish: float | None) -> None:
    less, more = permit(before, duty, now, air, wish), permit(after, duty, now, air, wish)

    assert more.seconds <= less.seconds + EPS
    assert more.wait_s >= less.wait_s - EPS
    assert more.tries_left <= less.tries_left
    same = max(now, standing(before), standing(after))  # heat is compared at one moment, when both have stopped
    assert permit(after, duty, same, air).winding_k >= permit(before, duty, same, air).winding_k - EPS


@settings(deadline=None)
@given(histories(), NAMES, AIR, WISH, st.floats(0, 1), st.floats(0, 40))
def test_one_more_crank_never_helps(
    history: tuple[list[Crank], float], name: str, air: float | None, wish: float | None, where: float, length: float
) -> None:
    """Adding a crank anywhere in the past never gives more seconds nor a shorter wait."""
    cranks, now = history
    extra = Crank(where * max(0.0, now - length), min(length, now))

    never_better(cranks, [*cranks, extra], CLASSES[name], now, air, wish)


def picked(history: tuple[list[Crank], float], data: st.DataObject) -> tuple[list[Crank], float, int]:
    """The cranks, the time now, and the place of one of them."""
    cranks, now = history
    assume(cranks)
    return cranks, now, data.draw(st.integers(0, len(cranks) - 1))


@settings(deadline=None)
@given(histories(), NAMES, AIR, WISH, st.data())
def test_a_longer_crank_never_helps(
    history: tuple[list[Crank], float], name: str, air: float | None, wish: float | None, data: st.DataObject
) -> None:
    """Lengthening a crank up to the next one never gives more seconds nor a shorter wait."""
    cranks, now, i = picked(history, data)
    room = (cranks[i + 1].start if i + 1 < len(cranks) else now) - cranks[i].start
    longer = Crank(cranks[i].start, data.draw(st.floats(cranks[i].seconds, max(cranks[i].seconds, room))))

    never_better(cranks, [*cranks[:i], longer, *cranks[i + 1 :]], CLASSES[name], now, air, wish)


@settings(deadline=None)
@given(histories(), NAMES, AIR, WISH, st.data())
def test_a_later_crank_never_helps(
    history: tuple[list[Crank], float], name: str, air: float | None, wish: float | None, data: st.DataObject
) -> None:
    """Moving a crank later, even past others or over them, never gives more seconds nor a shorter wait."""
    cranks, now, i = picked(history, data)
    latest = max(cranks[i].start, now - cranks[i].seconds)
    moved = Crank(data.draw(st.floats(cranks[i].start, latest)), cranks[i].seconds)

    never_better(cranks, [*cranks[:i], *cranks[i + 1 :], moved], CLASSES[name], now, air, wish)


@settings(deadline=None)
@given(histories(), NAMES, AIR, WISH, st.data())
def test_an_unsure_crank_never_helps(
    history: tuple[list[Crank], float], name: str, air: float | None, wish: float | None, data: st.DataObject
) -> None:
    """Not knowing when a crank ended never gives more seconds nor a shorter wait."""
    cranks, now, i = picked(history, data)
    unsure = Crank(cranks[i].start, cranks[i].seconds, sure=False)

    never_better(cranks, [*cranks[:i], unsure, *cranks[i + 1 :]], CLASSES[name], now, air, wish)


@settings(deadline=None)
@given(histories(), NAMES, AIR, WISH, st.floats(0, 2000))
def test_waiting_only_helps_and_the_told_wait_is_enough(
    history: tuple[list[Crank], float], name: str, air: float | None, wish: float | None, later: float
) -> None:
    """After the wait it names, the permit is given; just before it is not; more rest never takes it away."""
    cranks, now = history
    duty = CLASSES[name]
    got = permit(cranks, duty, now, air, wish)
    after = permit(cranks, duty, now + got.wait_s + EPS, air, wish)

    assert after.allowed
    assert permit(cranks, duty, now + got.wait_s + EPS + later, air, wish).seconds >= after.seconds - EPS
    assert got.wait_s < 1e-3 or not permit(cranks, duty, now + got.wait_s - 1e-3, air, wish).allowed


@settings(deadline=None)
@given(histories(), NAMES, AIR, WISH)
def test_what_is_permitted_is_within_every_rule(
    history: tuple[list[Crank], float], name: str, air: float | None, wish: float | None
) -> None:
    """Cranking all the permitted seconds keeps the winding below its limit and the class's crank limit."""
    cranks, now = history
    duty = CLASSES[name]
    got = permit(cranks, duty, now, air, wish)
    if not got.seconds:
        return
    after = permit([*cranks, Crank(now, got.seconds)], duty, now + got.seconds, air, wish)

    assert got.seconds <= duty.crank_s
    assert after.winding_k <= duty.limit_k + EPS
    assert not after.allowed


@settings(deadline=None)
@given(histories(), NAMES, st.floats(243.15, 343.15), st.floats(0, 30))
def test_warmer_air_never_helps(history: tuple[list[Crank], float], name: str, air: float, warmer: float) -> None:
    """The warmer the air, the fewer seconds."""
    cranks, now = history
    hotter = min(air + warmer, 353.15)

    assert permit(cranks, CLASSES[name], now, hotter).seconds <= permit(cranks, CLASSES[name], now, air).seconds + EPS
