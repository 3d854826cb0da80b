"""The proofs can fail: each is shown a table that was spoilt in one place, and names the shortest way to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise, product

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.bench.verify import JUDGE_WORDS
from firststart.engine.profile import UNKNOWN, WORDS, applies
from firststart.machine.compile import MAX_CYLINDERS, compile_table
from firststart.machine.kinds import Condition, kinds
from firststart.machine.proofs import Fault, faults_of
from firststart.machine.prove import engines, prove
from firststart.machine.table import EVENTLESS, LEAVE, PERMIT, Arrow, Table
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure

CRANK = Procedure.model_validate({
    "id": "turn-it", "title": "Turn it", "purpose": "Turn the engine and look.", "stage": "spark", "minutes": 1,
    "prereq": ["leak-free", "stop-proven"], "steps": {
        "ask": {"cmd": "Is it free?", "why": "It tells.", "choices": {"yes": None, "no": None},
                "go": {"yes": "turn", "no": "stuck"}},
        "turn": {"cmd": "Crank it.", "why": "It shows.", "hazard": ["cranking"], "go": "done",
                 "crank": {"purpose": "spin", "seconds": 5}},
    },
    "results": {"done": {"outcome": "ok", "say": "It was turned."}, "stuck": {"outcome": "bad", "say": "It is stuck."}},
})  # fmt: skip


@pytest.fixture
def good(library: Library) -> Table:
    return compile_table(CRANK, library.safety, JUDGE_WORDS, {"fuel": "petrol"}, 1)


def with_arrows(table: Table, change: Callable[[Arrow], Arrow | None], *more: Arrow) -> Table:
    """The table with each arrow changed, or taken away, and others added."""
    changed = [change(a) for a in table.arrows]
    return replace(table, arrows=(*(a for a in changed if a is not None), *more))


def kept(arrow: Arrow) -> Arrow:
    return arrow


def gate_without(hold: str) -> Callable[[Arrow], Arrow]:
    def change(arrow: Arrow) -> Arrow:
        opens = arrow.source == "turn.gate" and arrow.event == EVENTLESS
        return replace(arrow, needs=arrow.needs - {hold}) if opens else arrow

    return change


def back_without(hold: str) -> Callable[[Arrow], Arrow]:
    return lambda a: replace(a, needs=a.needs - {hold}) if a.lacking else a


def without(source: str, event: str) -> Callable[[Arrow], Arrow | None]:
    return lambda a: None if (a.source, a.event) == (source, event) else a


HOLDS = ("place-ready", "fire-ready", "turns-by-hand", "oil-in", "pre-lubed", "bilge-clear", "clear-to-crank")
SPOILT: dict[str, tuple[Callable[[Table], Table], str, str]] = {
    "a way round the gate": (
        lambda t: with_arrows(t, kept, Arrow("ask", "yes-now", "turn")), "turn", "without its gate"
    ),
    "begun inside": (lambda t: replace(t, initial="turn"), "turn", "without its gate"),
    **{f"gate without {h}": (
        lambda t, h=h: with_arrows(t, gate_without(h)), "turn", f"does not demand {h}"
    ) for h in (*HOLDS, PERMIT)},
    **{f"kept without {h}": (
        lambda t, h=h: with_arrows(t, back_without(h)), "turn", "gone stale"
    ) for h in HOLDS},
    "never falls back": (lambda t: with_arrows(t, lambda a: None if a.lacking else a), "turn", "gone stale"),
    "falls back too late": (
        lambda t: replace(t, arrows=tuple(sorted(t.arrows, key=lambda a: a.lacking))), "turn", "gone stale"
    ),
    "does not ask again": (
        lambda t: replace(t, states={**t.states, "turn": replace(t.states["turn"], needs=())}), "turn", "again"
    ),
    "begun without a gate": (lambda t: replace(t, initial="ask"), "ask", "begins without leak-free, stop-proven"),
    **{f"begun without {h}": (
        lambda t, h=h: with_arrows(t, lambda a: replace(a, needs=a.needs - {h}) if a.source == "prereq.gate" else a),
        "prereq.gate", f"begins without {h}",
    ) for h in ("leak-free", "stop-proven")},
    "cannot be left": (lambda t: with_arrows(t, without("ask", LEAVE)), "ask", "cannot be left"),
    "an answer to nowhere": (lambda t: with_arrows(t, without("ask", "no")), "ask", "'no' leads nowhere"),
    "an answer to two places": (lambda t: with_arrows(t, kept, Arrow("ask", "no", "done")), "ask", "two places"),
    "moves for ever": (
        lambda t: with_arrows(t, without("ask", LEAVE), Arrow("ask", EVENTLESS, "ask")), "ask", "for ever"
    ),
    "no safe end": (
        lambda t: with_arrows(t, lambda a: a if a.event in ("yes", EVENTLESS) else None), "ask", "no way from here"
    ),
}  # fmt: skip


def test_the_good_table_has_no_fault(good: Table, library: Library) -> None:
    """As the compiler makes it, it is proved."""
    assert () == faults_of(good, library.safety, JUDGE_WORDS)


@pytest.mark.parametrize("name", SPOILT)
def test_a_spoilt_table_is_found_with_its_path(name: str, good: Table, library: Library) -> None:
    """The fault is told at its state, with a path of arrows that leads there."""
    spoil, state, words = SPOILT[name]
    bad = spoil(good)
    found = [f for f in faults_of(bad, library.safety, JUDGE_WORDS) if words in f.message and f.state == state]

    assert found
    assert is_path(bad, found[0])


def is_path(table: Table, fault: Fault) -> bool:
    ways = {(a.source, a.target) for a in table.arrows}
    return fault.path[0] == table.initial and all(step in ways for step in pairwise(fault.path))


@pytest.mark.external
def test_paths_are_the_shortest(library: Library) -> None:
    """Each path to a fault is as short as networkx finds one, over all work that cranks."""
    for procedure in library.procedures.values():
        if not any(step.crank for step in procedure.steps.values()):
            continue
        table = compile_table(procedure, library.safety, JUDGE_WORDS, {}, 2)
        bad = with_arrows(table, lambda a: None if a.lacking else a)
        graph = networkx.DiGraph((a.source, a.target) for a in bad.arrows)
        found = [f for f in faults_of(bad, library.safety, JUDGE_WORDS) if "stale" in f.message]
        assert found
        for fault in found:
            assert len(networkx.shortest_path(graph, bad.initial, fault.state)) == len(fault.path)


FIELDS = ("kind", "fuel", "starting", "starter-class")
WORD = {f: (*WORDS[f], "named-a", "named-b") if not WORDS[f] else WORDS[f] for f in FIELDS}


@st.composite
def some_conditions(draw: st.DrawFn) -> list[Condition]:
    """Conditions on a few fields, each on some of their words."""
    found = []
    for _ in range(draw(st.integers(1, 5))):
        fields = draw(st.lists(st.sampled_from(FIELDS), max_size=3, unique=True))
        words = {f: draw(st.lists(st.sampled_from((*WORD[f], UNKNOWN)), min_size=1, max_size=3)) for f in fields}
        found.append(Condition(words, draw(st.booleans())))
    return found


@given(some_conditions())
def test_kinds_of_engine_are_all_that_brute_force_finds(conditions: list[Condition]) -> None:
    """The merged enumeration gives exactly the answers that trying every profile gives, and a profile for each."""
    every = set()
    for words in product(*((*WORD[f], UNKNOWN, *(() if WORDS[f] else ("something-else",))) for f in FIELDS)):
        profile = {f: w for f, w in zip(FIELDS, words, strict=True) if w != UNKNOWN}
        every.add(tuple(applies(c.words, profile, unknown=c.unknown) for c in conditions))
    found = kinds(conditions)

    assert every == {k.answers for k in found}
    assert len(found) == len(every)
    for kind in found:
        assert kind.answers == tuple(applies(c.words, kind.words, unknown=c.unknown) for c in conditions)


def test_every_number_of_cylinders_is_proved(library: Library) -> None:
    """Work that goes from cylinder to cylinder is compiled for each number there can be, and for none known."""
    told = {c for _words, c in engines(library.procedures["compression"], library)}

    assert {None, *range(1, MAX_CYLINDERS + 1)} == told


def test_too_many_kinds_are_told_and_not_left_out(library: Library, monkeypatch: pytest.MonkeyPatch) -> None:
    """A procedure that tells more engines apart than can be proved is a problem by itself."""
    monkeypatch.setattr("firststart.machine.prove.MOST_KINDS", 3)
    proof = prove(library, JUDGE_WORDS, ("first-crank",))

    assert any("kinds of engine apart" in p.message for p in proof.problems)
