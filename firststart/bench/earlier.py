"""What was answered to the same question before, for "same as before": always read back, never a hold point."""

from __future__ import annotations

from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.machine.table import State
from firststart.prompt.dialogue import Act
from firststart.prompt.expect import Expectation
from firststart.units import Measured

AGAIN = "This is looked at anew each time."
NONE = "Nothing was said of this before."


def same_as_before(rules: Rules, situation: Situation, expects: Expectation) -> Act:
    """The earlier answer as an act that waits for a yes; one that only says something when there is none."""
    run = situation.run
    if run is None or expects.kind not in ("measure", "choice"):
        return Act("ask", say=NONE)
    state = rules.table(run.procedure, situation).states[run.state]
    if expects.kind == "measure":
        value = _read(situation, state)
        return Act("ask", say=NONE) if value is None else Act("ask", value=value, say=f"{value}. Right?")
    if any(option.weighty for option in expects.options):
        return Act("ask", say=AGAIN)
    word = _word(situation, state)
    said = next((o.phrases[0] for o in expects.options if o.event == word), None)
    return Act("ask", say=NONE) if said is None else Act("event", str(word), say=f"{said.capitalize()}. Right?")


def _read(situation: Situation, state: State) -> Measured | None:
    """The newest reading of this name on this cylinder, else on the one before it, else what the profile has."""
    step = state.step
    if step is None or step.measure is None:
        return None
    for cylinder in (state.cylinder, state.cylinder - 1 if state.cylinder else None):
        read = situation.readings.get((step.measure.name, cylinder))
        if read is not None:
            return read.value
    return situation.profile.numbers.get(step.sets) if step.sets else None


def _word(situation: Situation, state: State) -> str | None:
    """The newest answer to this question on this cylinder, else on any, else what the profile has."""
    step = state.step
    if step is None:
        return None
    seen = [o for o in reversed(situation.observed) if step.observe and o.name == step.observe]
    mine = [o for o in seen if o.cylinder == state.cylinder] or seen
    if mine:
        return mine[0].word
    return situation.profile.words.get(step.sets) if step.sets else None
