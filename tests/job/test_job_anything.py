"""A person who answers anything in any order, lies, corrects, repairs, waits, restarts and sets the clock.

Every fact is held against the truth by `job_watch`: no crank without all its hold points and a rested starter, by a
reference calculation of its own; stop is obeyed everywhere; a rest is never shortened; the record folds the same
however it is split; and a way leads out of every state.
"""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from job_anybody import GAPS, ODD, Anybody, live
from job_watch import Tally

from firststart.bench.shop import make_rules
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.procedure.catalogue import data_folder, load_library

SEEDS = st.integers(0, 2**32)
LIVES = 12  # whole random lives in the normal tests; `long_run.py` lives thousands


class Cache:
    """One library for all examples of the state machine."""

    rules: Rules | None = None

    @classmethod
    def get(cls) -> Rules:
        if cls.rules is None:
            cls.rules = make_rules(load_library(data_folder("procedures")))
        return cls.rules


class AnythingGoes(RuleBasedStateMachine):
    """Any act at any time; hypothesis looks for the shortest story that breaks a rule."""

    who: Anybody

    @initialize(seed=SEEDS)
    def arrive(self, seed: int) -> None:
        self.who = Anybody(Cache.get(), Random(seed), Tally())

    @rule(name=st.sampled_from(sorted(Cache.get().library.procedures)))
    def begin(self, name: str) -> None:
        self.who.job.submit(i.Begin(name))

    @rule(acts=st.integers(1, 25), seed=SEEDS, luck=st.sampled_from((0.5, 0.9, 1.0)))
    def answer(self, acts: int, seed: int, luck: float) -> None:
        self.who.r, self.who.luck = Random(seed), luck
        for _ in range(acts):
            self.who.job.sleep(1.0)
            self.who.fit()

    @rule(act=st.sampled_from(ODD), seed=SEEDS)
    def odd(self, act, seed: int) -> None:
        self.who.r = Random(seed)
        act(self.who)

    @rule(seconds=st.sampled_from(GAPS))
    @precondition(lambda self: self.who.job.turning is None)
    def wait(self, seconds: float) -> None:
        self.who.job.sleep(seconds)

    @rule()
    def stop(self) -> None:
        self.who.stop()

    @rule()
    @precondition(lambda self: self.who.job.desk.situation.withheld_s > 0)
    def confirm(self) -> None:
        self.who.job.submit(i.ConfirmDate(self.who.job.yes_is_true()))

    @invariant()
    def the_fold_is_the_same(self) -> None:
        if hasattr(self, "who"):
            self.who.job.check_refold()

    def teardown(self) -> None:
        if hasattr(self, "who"):
            self.who.job.check_way_out()


AnythingGoes.TestCase.settings = settings(
    max_examples=12, stateful_step_count=25, deadline=None, suppress_health_check=list(HealthCheck)
)
test_anything_goes = AnythingGoes.TestCase


@pytest.mark.parametrize("seed", range(LIVES))
def test_a_random_life_breaks_no_rule(seed: int, rules: Rules) -> None:
    """A hundred and fifty acts of a random person at a random engine."""
    live(rules, seed, 150, Tally())
