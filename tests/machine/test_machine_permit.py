"""Where a machine depends on the permit, and which answers meet a hold point."""

from __future__ import annotations

import pytest

from firststart.bench.verify import JUDGE_WORDS
from firststart.machine.compile import compile_table
from firststart.machine.runtime import Runtime
from firststart.machine.table import EVENTLESS, PERMIT
from firststart.procedure.library import Library


@pytest.mark.parametrize("procedure", ["first-crank", "battery", "compression", "hand-turn-over"])
def test_elsewhere_the_permit_changes_no_step(library: Library, procedure: str) -> None:
    """From every state that does not ask for the permit each event leads to the same place with it and without."""
    table = compile_table(library.procedures[procedure], library.safety, JUDGE_WORDS, {}, 2)
    runtime, holds = Runtime(), frozenset(library.safety.hold_points)
    elsewhere = [s for s in table.states if s not in table.asks_permit]

    for state in elsewhere:
        for event in (EVENTLESS, *table.events(state)):
            for known in (holds, frozenset[str]()):
                with_it = runtime.advance(table, state, event, known | {PERMIT})
                assert with_it == runtime.advance(table, state, event, known)

    cranks = any(s.sort == "crank" for s in table.states.values())
    assert cranks == bool(table.asks_permit)
    assert len(elsewhere) > len(table.states) / 3


def test_an_answer_meets_a_hold_point_by_its_step_or_by_its_result(library: Library) -> None:
    """An answer is weighty where it ends in a result that establishes something, and there alone."""
    table = compile_table(library.procedures["ignition-dead"], library.safety, JUDGE_WORDS, {}, 1)
    ends = [table.states[a.target].result for a in table.arrows if (a.source, a.event) in table.meeting]

    assert ends
    assert all(result is not None and result.establishes for result in ends)
