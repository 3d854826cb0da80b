"""Some mutants of the safety code in the normal tests, each with a test that catches it; `mutants.py` has them all."""

from __future__ import annotations

from collections.abc import Callable

import pytest
import test_job_clock as clock
import test_job_decide as decide
import test_job_undoing as undoing
import test_job_ways_round as rounds
from job_mutants import MUTANTS, switched

from firststart.job import inputs as i
from firststart.job.rules import Rules

CATCHING: dict[str, Callable[[Rules], None]] = {
    "the gate demands nothing": lambda r: decide.test_no_crank_while_a_hold_point_is_missing(r, "fire-ready"),
    "arrows ask for nothing": decide.test_a_hold_point_that_expires_shuts_the_gate_again,
    "hold points last for ever": decide.test_a_hold_point_that_expires_shuts_the_gate_again,
    "undone holds": rounds.test_a_place_check_does_not_come_back_with_the_place,
    "a new place undoes nothing": rounds.test_a_place_check_does_not_come_back_with_the_place,
    "a crank undoes nothing": undoing.test_a_crank_undoes_the_all_clear_at_once,
    "a stop undoes nothing": decide.test_carrying_on_asks_again_what_may_have_changed,
    "no rest by the duty rule": lambda r: rounds.test_a_rest_that_is_owed_is_not_shortened_by_the_profile(
        r, i.SetProfile("starting", word="kick")
    ),
    "the permit is not asked": lambda r: rounds.test_a_rest_that_is_owed_is_not_shortened_by_the_profile(
        r, i.SetProfile("starter-class", word="outboard")
    ),
    "a changed profile ends a rest": lambda r: rounds.test_a_rest_that_is_owed_is_not_shortened_by_the_profile(
        r, i.SetProfile("starting", word="kick")
    ),
    "the told count is believed": lambda r: rounds.test_a_count_that_falls_short_of_the_clocks_is_not_believed(r, 0.1),
    "a crank nobody saw end is short": rounds.test_a_crank_cut_off_by_a_crash_counts_as_the_longest,
    "cranks of other jobs do not count": decide.test_another_job_on_the_same_engine_shares_the_rest,
    "stop leads nowhere": lambda r: rounds.test_stop_is_never_refused_and_leads_to_making_safe_and_out_again(
        r, rounds.new_desk
    ),
    "stop waits for other work": lambda r: rounds.test_stop_is_never_refused_and_leads_to_making_safe_and_out_again(
        r, rounds.deep
    ),
    "leave as an answer": lambda r: rounds.test_making_safe_cannot_be_left_out(r, i.Say("leave")),
    "a gap counts at once": clock.test_after_a_long_gap_date_and_place_are_in_question,
    "a jump forward counts": lambda r: clock.test_a_clock_that_jumps_forward_ends_no_rest(r, 3600.0),
    "time can be put forward": lambda r: clock.test_nobody_puts_time_forward(r, 60.0),
    "the bench does not look at its clocks": lambda r: clock.test_a_clock_set_back_is_put_right_by_the_steady_clock(
        r, -10800.0
    ),
}


@pytest.mark.parametrize("name", CATCHING)
def test_a_mutant_is_caught(name: str, spin_rules: Rules) -> None:
    """The test passes on the code as it is, and fails while this part of the safety code is switched off."""
    mutant = next(m for m in MUTANTS if m.name == name)
    CATCHING[name](Rules(spin_rules.library))

    with switched(mutant), pytest.raises((Exception, pytest.fail.Exception)):
        CATCHING[name](Rules(spin_rules.library))


def test_every_mutant_can_be_made() -> None:
    """What a mutant changes is in the code as it stands, and its name is its own."""
    for mutant in MUTANTS:
        with switched(mutant):
            pass

    assert len(MUTANTS) == len({m.name for m in MUTANTS})
    assert len(MUTANTS) > 100
