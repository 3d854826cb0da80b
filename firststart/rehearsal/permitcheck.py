"""Was every crank of a record permitted? Judged anew from the facts, apart from what let it begin."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from firststart.job import facts as f
from firststart.job.fold import fold
from firststart.job.rules import Rules
from firststart.job.situation import Situation


def unpermitted(rules: Rules, facts: Iterable[f.Fact]) -> tuple[datetime, ...]:
    """The moments at which a crank began that its permit or hold points did not allow.

    A record without its hold points is guilty of every crank: the check can fail.
    """
    situation = Situation()
    found = []
    for fact in facts:
        if isinstance(fact, f.CrankBegan) and not _allowed(rules, situation, fact):
            found.append(fact.at)
        situation = fold(situation, fact)
    return tuple(found)


def _allowed(rules: Rules, situation: Situation, fact: f.CrankBegan) -> bool:
    run = next((r for r in situation.runs if r.run == fact.run), None)
    if run is None:
        return False
    state = rules.table(run.procedure, situation).states[fact.state]
    return set(state.needs) <= rules.truths(situation, situation.effective(fact.at))
