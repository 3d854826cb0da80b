"""The leak check is undone by whatever opens the fuel system: on every path, at the moment it is opened."""

from __future__ import annotations

from collections.abc import Iterator

from firststart.bench.verify import JUDGE_WORDS
from firststart.machine.compile import compile_table
from firststart.machine.prove import engines
from firststart.machine.table import Table
from firststart.procedure.library import Library

POINT, CLASS = "leak-free", "open-fuel"
NOTHING_OPENED = {
    "bowl-drain": ("on",),  # before the drain is opened
    "drained-tank": ("look",),  # a look into an empty tank
    "fuel-hoses": ("look",),
    "fuel-out": ("level",),  # the filler cap, above the fuel
    "leak-check": ("mix",),  # in a can
    "mend-fuel-supply": ("open", "vent"),  # the tap is turned, the vent of the cap cleared
    "mixed-fuel": ("shake", "fill-rest"),  # in a can
    "no-fire": ("tank",),  # the filler cap
    "plug-look": ("out",),  # petrol may be behind a plug
    "prime": ("pour", "close-can"),  # from a bottle into the intake
    "pump-delivery": ("bulb",),  # squeezed from outside
    "spark-king-lead": ("shut",), "spark-other-box": ("shut",), "spark-other-plug": ("shut",),  # the tap is shut
    "spit-back": ("crank",),  # fuel may come out of the intake
    "stuck-engine": ("draw-off",),  # penetrating oil out of a cylinder
}  # fmt: skip


def opened_unseen(table: Table) -> Iterator[str]:
    """Steps with open fuel that some path reaches while the leak check still stands."""
    seen, todo = set[tuple[str, bool]](), [(table.initial, False)]
    while todo:
        place = todo.pop()
        if place in seen:
            continue
        seen.add(place)
        name, undone = place
        step = table.states[name].step
        if step is not None:
            undone = undone or POINT in step.undoes
            if CLASS in step.hazard and not undone:
                yield table.states[name].step_id
        todo += [(arrow.target, undone) for arrow in table.leaving.get(name, ())]


def test_no_opening_of_the_fuel_system_leaves_the_leak_check_standing(library: Library) -> None:
    """In all work, on every kind of engine; the steps that open nothing are listed above, and no others are."""
    found = {}
    for procedure in library.procedures.values():
        if any(CLASS in step.hazard for step in procedure.steps.values()):
            tables = (
                compile_table(procedure, library.safety, JUDGE_WORDS, words, cylinders)
                for words, cylinders in engines(procedure, library)
                if cylinders in (None, 1)
            )
            steps = {step for table in tables for step in opened_unseen(table)}
            if steps:
                found[procedure.id] = steps

    assert {name: set(steps) for name, steps in NOTHING_OPENED.items()} == found


def test_an_opening_that_forgets_it_is_found(library: Library) -> None:
    """With the undoing taken out of one step the walk finds that step."""
    whole = library.procedures["diesel-union"]
    bare = {name: step.model_copy(update={"undoes": ()}) for name, step in whole.steps.items()}
    table = compile_table(whole.model_copy(update={"steps": bare}), library.safety, JUDGE_WORDS, {"fuel": "diesel"}, 1)

    assert {"loosen"} == set(opened_unseen(table))
