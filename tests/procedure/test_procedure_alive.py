"""What was made dead is made alive again before it is judged: else a sound coil is blamed for an unplugged wire."""

from __future__ import annotations

import re

import pytest

from firststart.bench.shop import make_rules
from firststart.procedure.catalogue import data_folder, load_library
from firststart.procedure.model import Procedure

LIBRARY = make_rules(load_library(data_folder("procedures"))).library  # with the work made up from the book
DEAD, VOLTAGE = "ignition-dead", "ignition-voltage"
ALIVE = re.compile(
    r"feed (?:in|plugged in)|connect the ignition again|plug in again (?:every wire|all)|fuse that was pulled"
)
JUDGED_STILL = ("points", "coil-feed")  # they judge by current with the engine standing


def _wants_dead(procedure: Procedure, name: str) -> bool:
    holds = (LIBRARY.safety.hazards[h].holds for h in procedure.steps[name].hazard)
    return any(DEAD in h for h in holds)


def unspoken(procedure: Procedure) -> list[str]:
    """Steps that turn the engine with the key on, although nothing says to undo what made the ignition dead."""
    found, alive = [], False
    dead = DEAD in procedure.prereq
    for name, step in procedure.steps.items():
        dead = dead or _wants_dead(procedure, name)
        alive = alive or bool(ALIVE.search(f"{step.cmd} {step.info}".lower()))
        live = VOLTAGE in step.hazard and (step.crank is not None or procedure.id in JUDGED_STILL)
        if live and dead and not alive:
            found.append(name)
    return found


@pytest.mark.parametrize("name", sorted(LIBRARY.procedures))
def test_what_was_made_dead_is_plugged_in_before_it_is_judged(name: str) -> None:
    """Work that has the ignition made dead, and then looks for spark or current, says to plug the feed in again."""
    assert [] == unspoken(LIBRARY.procedures[name])


@pytest.mark.parametrize("name", sorted(LIBRARY.procedures))
def test_a_key_that_is_turned_on_with_ignition_voltage_undoes_the_dead_ignition(name: str) -> None:
    """After a crank with the ignition live nobody finds it recorded as dead: some step on the way undoes it."""
    procedure = LIBRARY.procedures[name]
    cranks = [s for s in procedure.steps.values() if s.crank is not None and VOLTAGE in s.hazard]

    starts = any(s.crank.purpose == "start" for s in cranks if s.crank is not None)

    assert not cranks or starts or any(DEAD in s.undoes for s in procedure.steps.values())


def test_a_spark_looked_for_with_the_feed_off_is_found_out() -> None:
    """The check is no empty one: without its step, the king lead is tried on a coil that has no feed."""
    whole = LIBRARY.procedures["spark-king-lead"]
    short = whole.model_copy(update={"steps": {n: s for n, s in whole.steps.items() if n != "live"}})

    assert ["crank"] == unspoken(short)
