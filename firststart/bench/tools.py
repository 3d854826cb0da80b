"""What to carry to the engine for what is left: tools, supplies, protective gear."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime

from firststart.engine.profile import applies
from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.judge.registry import AMOUNTS
from firststart.procedure.model import Procedure, Supply
from firststart.procedure.needs import hazards_of
from firststart.prompt.prompt import PLACEHOLDER

NOT_CARRIED = frozenset({"label", "papers", "manual", "memory", "map", "count", "known", "cap"})
"""A reading that is taken from one of these needs no tool: it stands on the machine, or somebody knows it."""

_GOES_ON = ("in", "marked", "one", "if", "as", "about", "or", "and", "by", "kept", "filled", "where", "mesh", "with")
_APART = re.compile(rf", (?!(?:{'|'.join(_GOES_ON)})\b)")
_ONE_OF_EACH = re.compile(r",? and (?:an? )?")
_PLAIN_AMOUNT = re.compile(r"(\d+(?:\.\d+)?) (\w+)")


@dataclass(frozen=True)
class Tools:
    """Items by group, each once, in the order in which they are needed."""

    tool: tuple[str, ...]
    supply: tuple[str, ...]
    gear: tuple[str, ...]


def tools_for(rules: Rules, situation: Situation, now: datetime, also: Iterable[str] = ()) -> Tools:
    """Everything the work under way, the procedures `also`, and the plan need, with amounts for this engine."""
    words = rules.words(situation)
    names = [*(run.procedure for run in situation.runs), *also]
    names += [item.procedure for item in plan(rules.library, situation, words, now)]
    groups: dict[str, list[str]] = {"tool": [], "supply": [], "gear": []}
    for name in dict.fromkeys(names):
        procedure = rules.library.procedures[name]
        for supply in procedure.supplies:
            if applies(supply.applies, words, unknown=True):
                groups[supply.group] += _items(rules, situation, supply)
        _of_steps(rules, procedure, words, groups)
    return Tools(*(_each_once(items) for items in groups.values()))


def _of_steps(rules: Rules, procedure: Procedure, words: dict[str, str], groups: dict[str, list[str]]) -> None:
    """The instruments that are read, and the gear that the hazard classes ask for."""
    for step in procedure.steps.values():
        if not applies(step.applies, words, unknown=True):
            continue
        if step.measure is not None and not NOT_CARRIED & set(step.measure.instrument.split()):
            groups["tool"].append(step.measure.instrument)
        for hazard in hazards_of(step):
            groups["gear"] += rules.library.safety.hazards[hazard].gear


def _items(rules: Rules, situation: Situation, supply: Supply) -> Iterator[str]:
    """The single things of one entry: "hand pump, clear jar" are two; "syringe, marked in millilitres" is one."""
    parts = _APART.split(supply.item)
    if supply.group == "gear":
        parts = [piece for part in parts for piece in _ONE_OF_EACH.split(part)]
    amount = _amount(rules, situation, supply)
    yield f"{parts[0]}, {amount}" if amount else parts[0]
    yield from parts[1:]


def _amount(rules: Rules, situation: Situation, supply: Supply) -> str:
    """The amount in words, "" for none: "7 ml for each of 2 cylinders, 14 ml in all"."""
    context = rules.context(situation)
    text = PLACEHOLDER.sub(lambda m: AMOUNTS[m[2]](context) if m[1] == "amount" else m[0], supply.amount)
    if supply.each is None or not text:
        return text
    count, plain = context.profile.cylinders, _PLAIN_AMOUNT.fullmatch(text)
    if count is None or plain is None:
        return f"{text} for each cylinder"
    if count == 1:
        return text
    return f"{text} for each of {count} cylinders, {float(plain[1]) * count:g} {plain[2]} in all"


def _each_once(items: Iterable[str]) -> tuple[str, ...]:
    """Without what is there already: "plug spanner" beside "plug spanner and brass brush", "meter" beside another."""
    kept = list(dict.fromkeys(items))
    words = {item: frozenset(_word(w) for w in re.findall(r"[\w.-]+", item.lower())) for item in kept}
    return tuple(
        item
        for n, item in enumerate(kept)
        if not any(words[item] < words[o] or (words[item] == words[o] and m < n) for m, o in enumerate(kept))
    )


def _word(word: str) -> str:
    """Singular, so that gauges are a gauge."""
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word
