"""The plan: what is left, in an order where every hold point is met before the work that demands it.

Main work up to the goal comes in the order of the stages; the order bends only where a procedure needs a
hold point that a later one would establish. Work done and still fresh is left out.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from graphlib import CycleError, TopologicalSorter

from firststart.job.holds import fresh_holds
from firststart.job.situation import Situation
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.procedure.needs import needs_of

REDO = ("left", "undecided")
LATER = "left for later"
FOLLOWS = "follows from what was found"


@dataclass(frozen=True)
class Item:
    """One piece of work that is left. `why` says why it is in the plan."""

    procedure: str
    title: str
    stage: str
    minutes: float
    why: str


def plan(library: Library, situation: Situation, words: Mapping[str, str], now: datetime) -> tuple[Item, ...]:
    """What is left of the main work, in order, for this engine at the effective time `now`."""
    return left(library, situation, words, fresh_holds(library.safety, situation, now))


def left(
    library: Library, situation: Situation, words: Mapping[str, str], fresh: frozenset[str]
) -> tuple[Item, ...]:
    """The plan while the hold points `fresh` hold; of the situation, what has ended and what is under way matters."""
    wanted: dict[str, str] = {}
    for procedure in library.applicable(words):
        why = _why(library, procedure, situation, fresh)
        if why and not _held_back(procedure, situation):
            wanted[procedure.id] = why
    for follow in _follow_ups(library, situation):
        wanted.setdefault(follow, FOLLOWS)
    _add_establishers(library, words, fresh, wanted)
    under_way = {r.procedure for r in situation.runs}
    order = _ordered(library, words, [p for p in wanted if p not in under_way], situation.ended)
    after = _after_goal(library)
    if _goal_missed(library, situation):
        order = [p for p in order if library.procedures[p].stage not in after or wanted[p] == FOLLOWS]
    order = sorted(order, key=lambda p: (library.procedures[p].stage in after, wanted[p] == LATER))  # stable
    models = library.procedures
    return tuple(Item(p, models[p].title, models[p].stage, models[p].minutes, wanted[p]) for p in order)


def _after_goal(library: Library) -> set[str]:
    """The stages behind the goal: they wait for it, also while it is left for later."""
    names = list(library.stages)
    goals = [n for n, name in enumerate(names) if library.stages[name].goal]
    return set(names[goals[-1] + 1 :]) if goals else set()


def _goal_missed(library: Library, situation: Situation) -> bool:
    """Was the goal tried and not reached? Then what follows it has to wait: nothing runs that could be watched."""
    goals = [situation.ended[p.id] for p in library.procedures.values()
             if library.stages[p.stage].goal and p.id in situation.ended]  # fmt: skip
    return bool(goals) and max(goals, key=lambda e: e.number).outcome != "ok"


def _why(library: Library, procedure: Procedure, situation: Situation, fresh: frozenset[str]) -> str:
    """Why main work is left: not done, left undone, or gone stale. Empty: it is not."""
    if procedure.line != "main":
        return ""
    ended = situation.ended.get(procedure.id)
    if ended is None:
        return "not done yet"
    if ended.outcome in REDO:
        return LATER
    result = procedure.results.get(ended.result)
    if result is None:
        return "it has changed since it was done"
    stale = [h for h in result.establishes if h in library.safety.hold_points and h not in fresh]
    if stale and result.outcome == "ok":
        return f"{library.safety.hold_points[stale[0]].say} has gone stale"
    if ended.outcome == "bad" and (library.established(procedure) or library.stages[procedure.stage].goal):
        return "what it needs was not right yet"
    return ""


def _held_back(procedure: Procedure, situation: Situation) -> bool:
    """Was the work that this comes after tried, and did it not end well?"""
    ended = (situation.ended.get(name) for name in procedure.after)
    return any(e is not None and e.outcome != "ok" for e in ended)


def _follow_ups(library: Library, situation: Situation) -> Iterable[str]:
    """Procedures that bad results call for, not done since."""
    for ended in situation.ended.values():
        procedure = library.procedures.get(ended.procedure)
        result = procedure.results.get(ended.result) if procedure else None
        for follow in result.postreq if result else ():
            later = situation.ended.get(follow)
            if follow in library.procedures and (later is None or later.number < ended.number):
                yield follow


def _add_establishers(
    library: Library, words: Mapping[str, str], fresh: frozenset[str], wanted: dict[str, str]
) -> None:
    """Whatever the wanted work needs and is not fresh, its establisher is wanted too."""
    queue = list(wanted)
    while queue:
        name = queue.pop()
        for hold in needs_of(library.procedures[name], library, words):
            point = library.safety.hold_points[hold]
            if hold in fresh or point.quick:
                continue
            makers = library.establishers(hold, words)
            if makers and not any(m in wanted for m in makers):
                wanted[makers[0]] = f"{point.say} is needed"
                queue.append(makers[0])


def _ordered(
    library: Library, words: Mapping[str, str], names: list[str], again: Container[str] = ()
) -> list[str]:
    """Stage order, bent where hold points demand it; what is done `again` only for its hold point comes late."""
    rank = {p.id: float(i) for i, p in enumerate(library.applicable(words))}
    rank.update(_just_in_time(library, words, names, rank, again))
    waiting = sorted(names, key=lambda n: rank.get(n, len(rank)))
    makers: dict[str, list[str]] = {}
    for name in waiting:
        for hold in library.established(library.procedures[name]):
            makers.setdefault(hold, []).append(name)
    graph = {
        name: {
            maker
            for hold in needs_of(library.procedures[name], library, words)
            for maker in makers.get(hold, [])[:1]
            if maker != name
        }
        for name in waiting
    }
    return _topological(graph, waiting)


def _just_in_time(
    library: Library, words: Mapping[str, str], names: Iterable[str], rank: Mapping[str, float], again: Container[str]
) -> dict[str, float]:
    """Places for work wanted `again` for its hold point alone: done too early, other work undoes it once more."""
    models = library.procedures
    late = {n: library.established(models[n]) for n in names if n in again and n in rank and models[n].line != "main"}
    late = {n: holds for n, holds in late.items() if holds}
    if not late:
        return {}
    needs = {n: set(needs_of(models[n], library, words)) for n in names if n in rank}
    first = {n: min((rank[m] for m in needs if m != n and holds & needs[m]), default=0.0) for n, holds in late.items()}
    return {n: max(rank[n], at - 0.5) for n, at in first.items()}


def _topological(graph: Mapping[str, set[str]], order: list[str]) -> list[str]:
    """A topological order that keeps `order` wherever it can."""
    sorter = TopologicalSorter(graph)
    try:
        sorter.prepare()
    except CycleError:
        return order
    rank = {name: i for i, name in enumerate(order)}
    ready: list[str] = list(sorter.get_ready())
    done: list[str] = []
    while ready:
        ready.sort(key=rank.__getitem__)
        name = ready.pop(0)
        done.append(name)
        sorter.done(name)
        ready += sorter.get_ready()
    return done


def filler(library: Library, items: Iterable[Item], seconds: float) -> Item | None:
    """Work that fits in a rest of `seconds` and needs no starter; None when nothing fits well."""
    for item in items:
        procedure = library.procedures[item.procedure]
        cranks = any(step.crank for step in procedure.steps.values())
        if not cranks and item.minutes * 60 <= max(seconds, 60) * 1.5:
            return item
    return None
