"""A job whose preparations are done: every piece of main work before the first crank ended well, no reading kept.

So a fault-finding rehearsal need not be led through a day of cleaning first. What the record then holds is what a job
taken over from somebody else holds: that work was done, and nothing that tells of the engine.
"""

from __future__ import annotations

from firststart.bench.desk import Desk
from firststart.engine.profile import EngineProfile
from firststart.job import facts as f
from firststart.job.fold import fold
from firststart.procedure.model import Procedure

FIRST = "first-crank"  # the stage that is next


def prepare(desk: Desk, told: EngineProfile) -> None:
    """Add the facts of finished preparations to a new job's record."""
    at = desk.clock.now()
    facts: list[f.Fact] = [f.ProfileNoted(at=at, field=name, word=word) for name, word in told.words.items()]
    facts += [f.ProfileNoted(at=at, field=name, number=number) for name, number in told.numbers.items()]
    words = desk.rules.profile(told).words
    order = list(desk.rules.library.stages)
    before = order.index(FIRST) if FIRST in order else len(order)
    done = [p for p in desk.rules.library.applicable(words) if order.index(p.stage) < before and p.line == "main"]
    for run, procedure in enumerate(done, desk.situation.started_runs + 1):
        facts += _ended(run, procedure, desk)
    points = desk.rules.library.safety.hold_points
    held = {x.hold for x in facts if isinstance(x, f.HoldMet)}
    left_out = held | {"ignition-dead"}  # nobody tells that a key was off
    facts += [f.HoldMet(at=at, hold=h, by="told") for h, p in points.items() if not p.quick and h not in left_out]
    desk.journal.append(desk.job, desk.situation.count, facts)
    for fact in facts:
        desk.situation = fold(desk.situation, fact)


def _ended(run: int, procedure: Procedure, desk: Desk) -> list[f.Fact]:
    """A run of `procedure` that came to its first good result."""
    good = next((n for n, r in procedure.results.items() if r.outcome == "ok"), None)
    if good is None:
        return []
    result = procedure.results[good]
    moment = desk.clock.now()
    digest = desk.rules.library.digests.get(procedure.id, "")
    return [
        f.RunStarted(at=moment, run=run, procedure=procedure.id, digest=digest, why="told"),
        *(f.HoldMet(at=moment, hold=h, by=procedure.id) for h in result.establishes if h != "ignition-dead"),
        *(f.RepairDone(at=moment, suspect=suspect, procedure=procedure.id) for suspect in result.repairs),
        f.RunEnded(at=moment, run=run, procedure=procedure.id, result=good, outcome="ok", say=result.say),
    ]
