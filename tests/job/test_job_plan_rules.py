"""What the plan does after the goal was missed, and with a record of work that has changed since."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.job.situation import Ended, Situation
from firststart.procedure.needs import needs_of

NOW = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)


def planned(rules: Rules, *ended: tuple[str, str, str]) -> dict[str, str]:
    """The plan (procedure: why) after procedures ended with these results and outcomes."""
    done = {p: Ended(n, p, result, outcome, "", NOW, n) for n, (p, result, outcome) in enumerate(ended)}
    situation = replace(Situation(), ended=done)
    return {item.procedure: item.why for item in plan(rules.library, situation, {"fuel": "petrol"}, NOW)}


def test_after_a_failed_first_crank_nothing_is_offered_that_needs_a_running_engine(rules: Rules) -> None:
    """The first run waits; the first crank stands in the plan again."""
    after = planned(rules, ("first-crank", "no-fire", "bad"))

    assert "first-crank" in after
    assert "first-run" not in after
    assert "first-run" in planned(rules)


def test_work_whose_result_is_gone_is_done_again(rules: Rules) -> None:
    """A record may name a result that an edited procedure no longer has: the work is planned anew, nothing breaks."""
    assert "changed" in planned(rules, ("compression", "no-such-result", "ok"))["compression"]


def test_work_left_for_later_comes_last_before_the_goal(rules: Rules) -> None:
    """What was left stands behind all other work that leads to the goal."""
    order = list(planned(rules, ("papers", "left", "left")))

    assert order.index("papers") > order.index("first-crank")


def test_the_idle_is_set_only_after_a_first_run_that_went_well(rules: Rules) -> None:
    """It comes behind the first run, waits when that was stopped for a bad sign, and stands when it went well."""
    before = list(planned(rules))
    stopped = planned(rules, ("first-crank", "runs", "ok"), ("first-run", "overheated", "bad"))
    well = planned(rules, ("first-crank", "runs", "ok"), ("first-run", "ran", "ok"))

    assert before.index("first-run") < before.index("idle-set")
    assert "idle-set" not in stopped
    assert "idle-set" in well


def test_a_first_run_that_was_stopped_leads_back_to_the_first_crank(rules: Rules) -> None:
    """What was bad is put right first; then it is started anew, and watched anew."""
    order = list(planned(rules, ("first-crank", "runs", "ok"), ("first-run", "no-oil", "bad")))

    assert order.index("oil-pressure") < order.index("first-crank")


def test_what_is_done_again_for_its_hold_point_alone_comes_right_before_its_use(rules: Rules) -> None:
    """The ignition, alive again since the key was tried, is made dead before work that wants it, and not earlier."""
    words = {"fuel": "petrol", "battery": "12", "starting": "electric"}
    early = ("hand-turn-over", "free"), ("oil-out", "no-metal"), ("pre-lube", "lubed"), ("top-end-oil", "oiled")
    done = {p: Ended(n, p, r, "ok", "", NOW, n) for n, (p, r) in enumerate((("ignition-dead", "dead"), *early))}
    order = [i.procedure for i in plan(rules.library, replace(Situation(), ended=done), words, NOW)]
    uses = [p for p in order if "ignition-dead" in needs_of(rules.library.procedures[p], rules.library, words)]

    assert order.index("ignition-dead") == order.index(uses[0]) - 1
