"""Whoever works, no starter turns without its permit and its hold points, and the same seed plays the same job."""

import pytest
from rehearsal_world import played, played_once, scenario, world

from firststart.job import facts as f
from firststart.rehearsal.draw import draw
from firststart.rehearsal.permitcheck import unpermitted
from firststart.rehearsal.play import Played
from firststart.rehearsal.scenario import Scenario


def longest_over(facts: tuple[f.Fact, ...]) -> float:
    """By how many seconds a crank was held past what its permit gave, at most."""
    limits = [x.limit_s for x in facts if isinstance(x, f.CrankBegan)]
    cranked = [x.seconds for x in facts if isinstance(x, f.CrankEnded)]
    return max(s - limit for s, limit in zip(cranked, limits, strict=True))


def hurried(seed: int) -> Scenario:
    """A random engine in the hands of someone who cranks too long and skips ahead."""
    what = draw(seed, world().kit.conditions)
    return what.model_copy(update={"when": what.when.model_copy(update={"person": "hurried"})})


@pytest.mark.parametrize("seed", range(300, 304))
def test_a_hurried_person_never_cranks_without_a_permit(seed: int) -> None:
    """Over-long cranks and skipped questions lengthen the rest; none of them gets a crank that was not permitted."""
    play = played(hurried(seed), seed)

    assert unpermitted(world().rules, play.facts) == ()
    assert play.ended != "endless"


def test_a_crank_without_its_hold_points_would_be_seen() -> None:
    """The check above can fail: with the hold points taken out of the record, every crank is found guilty."""
    play: Played = played(scenario("single-sound-high-and-cold"))
    bare = tuple(x for x in play.facts if not isinstance(x, f.HoldMet))
    cranks = [x.at for x in bare if isinstance(x, f.CrankBegan)]

    assert cranks
    assert tuple(cranks) == unpermitted(world().rules, bare)


def test_a_hurried_person_jumps_ahead_and_is_refused() -> None:
    """The scenario of the hurried owner holds refusals: the test above is not empty."""
    play = played_once("sled-two-faults-hurried")

    assert play.refused
    assert longest_over(play.facts) > 0.5


def test_the_same_seed_plays_the_same_job_and_another_seed_another() -> None:
    """A play is a pure function of scenario and seed, word for word."""
    what = scenario("car-neutral-switch")

    assert played(what, 7).lines == played(what, 7).lines
    assert played(what, 7).lines != played(what, 8).lines
