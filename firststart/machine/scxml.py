"""A compiled table as W3C SCXML 1.0 (Recommendation of 1 September 2015), with the null data model.

Every conforming processor has the null data model (appendix B.1), whose conditions are `In('state')` and
nothing else. So each hold point, and the permit, is a region of its own beside the work: it holds or it
lacks. A gate that demands several is a chain of inner states, one for each, which falls back to the first
that lacks. What the person sees of a state stands in attributes of a namespace of our own.

Events: those of the table, and `truth.NAME.holds` and `truth.NAME.lacks`.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable

from firststart.machine.table import EVENTLESS, FINAL, GATE, Arrow, State, Table

NAMESPACE = "http://www.w3.org/2005/07/scxml"
OURS = "urn:firststart:procedure"
MACHINE, WORK = "the_machine", "the_work"  # step names have no underscore, so these are free
_HOLDS, _LACKS = "holds", "lacks"


def to_scxml(table: Table) -> str:
    """The document, indented, with its XML declaration."""
    ET.register_namespace("", NAMESPACE)
    ET.register_namespace("firststart", OURS)
    root = _element(None, "scxml", version="1.0", datamodel="null", name=table.procedure.id, initial=MACHINE)
    root.set(f"{{{OURS}}}title", table.procedure.title)
    machine = _element(root, "parallel", id=MACHINE)
    work = _element(machine, "state", id=WORK, initial=table.initial)
    for state in table.states.values():
        if state.sort == FINAL:
            _final(work, state)
        elif state.sort == GATE:
            _gate(work, state, table.leaving[state.name])
        else:
            _state(work, state, table.leaving[state.name])
    for truth in truths_of(table):
        _region(machine, truth)
    ET.indent(root)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{ET.tostring(root, encoding="unicode")}\n'


def truths_of(table: Table) -> tuple[str, ...]:
    """Every hold point that some arrow asks for, and the permit, in order of first use."""
    return tuple(dict.fromkeys(t for arrow in table.arrows for t in _ordered(arrow, table)))


def event_name(event: str) -> str:
    """An event's name in the document: without dots (which part names in SCXML), spaces or other marks."""
    return re.sub(r"[^A-Za-z0-9-]", lambda m: f"_{ord(m[0]):x}", event)


def truth_event(truth: str, holds: bool) -> str:
    """The event that tells the machine that a truth holds now, or lacks."""
    return f"truth.{event_name(truth)}.{_HOLDS if holds else _LACKS}"


def _ordered(arrow: Arrow, table: Table) -> tuple[str, ...]:
    """The truths an arrow asks for, in the order of its state."""
    needs = {*table.states[arrow.source].needs, *table.states[arrow.target].needs}
    known = [*table.states[arrow.source].needs, *table.states[arrow.target].needs]
    return tuple(dict.fromkeys(t for t in (*known, *sorted(arrow.needs - needs)) if t in arrow.needs))


def _state(parent: ET.Element, state: State, arrows: Iterable[Arrow]) -> None:
    """A state of the work. It falls back as soon as one of the truths it rests on lacks."""
    element = _shown(_element(parent, "state", id=state.name), state)
    for arrow in arrows:
        if arrow.lacking:
            for truth in sorted(arrow.needs):
                _element(element, "transition", cond=_in(truth, _LACKS), target=arrow.target)
        else:
            _transition(element, arrow)


def _gate(parent: ET.Element, state: State, arrows: Iterable[Arrow]) -> None:
    """A gate: open arrows become a chain of inner states, one for each truth."""
    arrows = tuple(arrows)
    opening = next(a for a in arrows if a.event == EVENTLESS)
    needs = tuple(n for n in state.needs if n in opening.needs)
    if not needs:
        element = _shown(_element(parent, "state", id=state.name), state)
    else:
        element = _shown(_element(parent, "state", id=state.name, initial=_inner(state, 1)), state)
    for arrow in arrows:
        if arrow.event != EVENTLESS or not needs:
            _transition(element, arrow)
    for number, truth in enumerate(needs, 1):
        inner = _element(element, "state", id=_inner(state, number))
        for earlier in range(1, number):
            _element(inner, "transition", cond=_in(needs[earlier - 1], _LACKS), target=_inner(state, earlier))
        onward = _inner(state, number + 1) if number < len(needs) else opening.target
        _element(inner, "transition", cond=_in(truth, _HOLDS), target=onward)


def _final(parent: ET.Element, state: State) -> None:
    element = _element(parent, "final", id=state.name)
    if state.result is not None:
        element.set(f"{{{OURS}}}outcome", state.result.outcome)
        element.set(f"{{{OURS}}}say", state.result.say)


def _region(parent: ET.Element, truth: str) -> None:
    """One truth beside the work: it lacks at first, and events tell when it holds and when no longer."""
    region = _element(parent, "state", id=_place(truth), initial=_place(truth, _LACKS))
    for here, there in ((_LACKS, _HOLDS), (_HOLDS, _LACKS)):
        state = _element(region, "state", id=_place(truth, here))
        _element(state, "transition", event=truth_event(truth, there == _HOLDS), target=_place(truth, there))


def _transition(parent: ET.Element, arrow: Arrow) -> None:
    if arrow.event == EVENTLESS:
        _element(parent, "transition", target=arrow.target)
    else:
        _element(parent, "transition", event=event_name(arrow.event), target=arrow.target)


def _shown(element: ET.Element, state: State) -> ET.Element:
    element.set(f"{{{OURS}}}sort", state.sort)
    if state.step is not None and state.step.cmd:
        element.set(f"{{{OURS}}}say", state.step.cmd)
    return element


def _inner(gate: State, number: int) -> str:
    return f"{gate.name}_{number}"


def _place(truth: str, part: str = "") -> str:
    return f"truth_{truth}_{part}" if part else f"truth_{truth}"


def _in(truth: str, part: str) -> str:
    return f"In('{_place(truth, part)}')"


def _element(parent: ET.Element | None, tag: str, **attributes: str) -> ET.Element:
    name = f"{{{NAMESPACE}}}{tag}"
    return ET.Element(name, attributes) if parent is None else ET.SubElement(parent, name, attributes)
