"""What work undoes: hold points and what was seen, by steps, results, repairs and going back; and no more than that."""

from __future__ import annotations

from dataclasses import replace

import pytest
from job_desk import HOLDS, clock_of, crank, fresh, meet, new_desk, ready_to_crank, wait_of

from firststart.bench.desk import Desk
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold
from firststart.job.rules import Rules
from firststart.procedure.model import Procedure

WORK = Procedure.model_validate({
    "id": "spin", "title": "Work on it", "purpose": "Do work that undoes.", "stage": "spark", "line": "asked",
    "minutes": 1, "steps": {
        "see": {"cmd": "What do you see?", "why": "It tells.", "choices": {"wet": None, "dry": None}, "observe": "plug",
                "establishes": {"dry": ["leak-free"]}, "go": "smell"},
        "smell": {"cmd": "What do you smell?", "why": "It tells.", "choices": {"faint": None, "none": None},
                  "observe": "exhaust.smell", "go": "open"},
        "open": {"cmd": "Open it.", "why": "It must be.", "undoes": ["ignition-dead", "plug"], "go": "done"},
    },
    "results": {"done": {"outcome": "ok", "say": "It is done.", "undoes": ["stop-proven"], "repairs": ["hose_bad"]}},
})  # fmt: skip


@pytest.fixture
def desk(spin_rules: Rules) -> Desk:
    """A job with every hold point met, at the first step of work that undoes."""
    rules = Rules(replace(spin_rules.library, procedures={**spin_rules.library.procedures, "spin": WORK}))
    desk = new_desk(rules)
    meet(desk, *HOLDS, "stop-proven")
    desk.submit(i.Begin("spin"))
    return desk


def test_a_step_undoes_what_it_names_and_nothing_else(desk: Desk) -> None:
    """Opening makes the ignition live and the look at the plug old; fire check and smell stay."""
    desk.submit(i.Say("dry"))
    desk.submit(i.Say("faint"))

    assert not fresh(desk, "ignition-dead")
    assert fresh(desk, "fire-ready")
    assert fresh(desk, "stop-proven")
    assert desk.situation.newest("plug") is None
    assert desk.situation.newest("exhaust.smell") is not None


def test_a_result_undoes_and_mends_what_it_names(desk: Desk) -> None:
    """At the end the stop controls are to be proven again, and the repair is a fact."""
    for word in ("dry", "faint", "done"):
        desk.submit(i.Say(word))

    assert not fresh(desk, "stop-proven")
    assert ["hose_bad"] == [r.suspect for r in desk.situation.repairs]
    assert fresh(desk, "turns-by-hand")


def test_going_back_undoes_what_this_work_established(desk: Desk) -> None:
    """The answer that met a hold point is taken back, and the hold point with it."""
    desk.submit(i.Say("dry"))
    assert fresh(desk, "leak-free")
    desk.submit(i.Back())

    assert not fresh(desk, "leak-free")
    assert fresh(desk, "fire-ready")


def test_a_hold_point_of_another_place_does_not_hold(desk: Desk) -> None:
    """Also without a word of undoing in the record the place decides."""
    moved = fold(desk.situation, f.PlaceNamed(at=desk.clock.now(), place="yard"))

    assert "fire-ready" in desk.rules.truths(desk.situation, desk.now)
    assert "fire-ready" not in desk.rules.truths(moved, desk.now)
    assert "turns-by-hand" in desk.rules.truths(moved, desk.now)


@pytest.mark.parametrize("starting", ["electric", "unknown", None])
def test_whatever_may_have_a_starter_has_to_rest(spin_rules: Rules, starting: str | None) -> None:
    """Only an engine that is known to be turned by hand needs no rest."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.SetProfile("starting", word=starting))
    crank(desk, 10)

    assert wait_of(desk) > 20
    assert not spin_rules.permit(desk.situation, desk.now).allowed


def test_a_crank_is_no_longer_than_the_permit(spin_rules: Rules) -> None:
    """The step wishes ten seconds, a small starter gives five; a second crank gets what is left of the tries."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.SetProfile("starter-class", word="small-unknown"))
    desk.submit(i.Go())

    assert desk.situation.open_crank is not None
    assert 5 == desk.situation.open_crank.limit_s
    clock_of(desk).sleep(2)
    desk.submit(i.Release(2))
    assert 2 == desk.situation.cranks[-1].seconds


def test_a_crank_undoes_the_all_clear_at_once(spin_rules: Rules) -> None:
    """A moment after the starter stands it is no longer clear for the next crank."""
    desk = ready_to_crank(spin_rules)
    assert fresh(desk, "clear-to-crank")
    crank(desk, 1)

    assert not fresh(desk, "clear-to-crank")
    assert fresh(desk, "fire-ready")
