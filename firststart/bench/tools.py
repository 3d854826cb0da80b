"""What to carry to the engine for what is left: tools, supplies, protective gear."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from firststart.engine.profile import applies
from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.judge.registry import AMOUNTS
from firststart.procedure.needs import hazards_of
from firststart.prompt.prompt import PLACEHOLDER


@dataclass(frozen=True)
class Tools:
    """Items by group, each once, in the order in which they are needed."""

    tool: tuple[str, ...]
    supply: tuple[str, ...]
    gear: tuple[str, ...]


def tools_for(rules: Rules, situation: Situation, now: datetime) -> Tools:
    """Everything the work under way and the plan need, amounts computed for this engine."""
    words = rules.words(situation)
    names = [r.procedure for r in situation.runs]
    names += [i.procedure for i in plan(rules.library, situation, words, now)]
    groups: dict[str, dict[str, None]] = {"tool": {}, "supply": {}, "gear": {}}
    for name in names:
        procedure = rules.library.procedures[name]
        for supply in procedure.supplies:
            amount = _filled(rules, situation, supply.amount)
            groups[supply.group][f"{supply.item}, {amount}" if amount else supply.item] = None
        for step in procedure.steps.values():
            if not applies(step.applies, words, unknown=True):
                continue
            if step.measure is not None:
                groups["tool"][step.measure.instrument] = None
            for hazard in hazards_of(step):
                groups["gear"].update(dict.fromkeys(rules.library.safety.hazards[hazard].gear))
    return Tools(*(tuple(items) for items in groups.values()))


def _filled(rules: Rules, situation: Situation, text: str) -> str:
    context = rules.context(situation)
    return PLACEHOLDER.sub(lambda m: AMOUNTS[m[2]](context) if m[1] == "amount" else m[0], text)
