"""Runs a compiled table: `transitions` takes the steps, one throw-free value comes out.

The library's automatic transitions are off, no callback has a side effect, and the state handed in is
set before each step, so that `advance` is a pure function of its arguments.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from transitions import EventData, Machine

from firststart.machine.table import EVENTLESS, Arrow, Table

_AUTO = "eventless"
_LIMIT = 200


@dataclass(frozen=True)
class Move:
    """One macrostep: the states entered, in order; empty when nothing was enabled."""

    source: str
    event: str
    entered: tuple[str, ...]

    @property
    def target(self) -> str:
        """The name of the state that is entered."""
        return self.entered[-1] if self.entered else self.source


class _Model:
    state = ""
    truths: frozenset[str] = frozenset()


class _Runner:
    """A `transitions` machine over one table."""

    def __init__(self, table: Table) -> None:
        self.model = _Model()
        self._onward = frozenset(a.source for a in table.arrows if a.event == EVENTLESS)
        self.machine: Any = Machine(
            model=self.model,
            states=list(table.states),
            transitions=[_transition(a) for a in table.arrows],
            initial=table.initial,
            auto_transitions=False,
            send_event=True,
            ignore_invalid_triggers=True,
        )

    def run(self, state: str, event: str, truths: frozenset[str]) -> tuple[str, ...]:
        self.machine.set_state(state, self.model)
        self.model.truths = truths
        entered: list[str] = []
        if event != EVENTLESS:
            if not self._fire(event):
                return ()
            entered.append(self.model.state)
        for _ in range(_LIMIT):
            if self.model.state not in self._onward or not self._fire(_AUTO):
                return tuple(entered)
            entered.append(self.model.state)
        raise RuntimeError(f"no rest after {_LIMIT} eventless steps from {state}")

    def _fire(self, event: str) -> bool:
        known = self.machine.events.get(event)
        return known is not None and bool(known.trigger(self.model))


def _transition(arrow: Arrow) -> dict[str, Any]:
    condition = _condition(arrow)
    event = arrow.event or _AUTO
    return {"trigger": event, "source": arrow.source, "dest": arrow.target, "conditions": [condition]}


def _condition(arrow: Arrow) -> Callable[[EventData], bool]:
    def holds(data: EventData) -> bool:
        truths: frozenset[str] = getattr(data.model, "truths", frozenset())
        return arrow.enabled(truths)

    return holds


class Runtime:
    """Runs tables, keeping the machines it has built and the newest moves: the same arguments give the same one."""

    def __init__(self, keep: int = 256, keep_moves: int = 8192) -> None:
        self._runner = lru_cache(maxsize=keep)(lambda box: _Runner(box.table))
        self._move = lru_cache(maxsize=keep_moves)(self._advance)

    def advance(self, table: Table, state: str, event: str, truths: Iterable[str]) -> Move:
        """Fire `event` ("" for none) at `state`, then every eventless arrow that is enabled."""
        return self._move(_Box(table), state, event, frozenset(truths))

    def _advance(self, box: _Box, state: str, event: str, truths: frozenset[str]) -> Move:
        return Move(state, event, self._runner(box).run(state, event, truths))


class _Box:
    """Keeps the table alive beside its id, and always equals another box of the same table."""

    def __init__(self, table: Table) -> None:
        self.table = table

    def __hash__(self) -> int:
        return id(self.table)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Box) and other.table is self.table
