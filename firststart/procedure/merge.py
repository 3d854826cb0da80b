"""A user's own folder: it may add hold points, cautions and work, and can weaken nothing that ships."""

from __future__ import annotations

from collections.abc import Mapping

from firststart.errors import Problem
from firststart.procedure.library import established_by
from firststart.procedure.model import HazardClass, Procedure, Safety
from firststart.procedure.needs import hazards_of
from firststart.procedure.reader import Document
from firststart.procedure.validate import model_of

TRIGGERS = ("crank", "start", "stop")  # what a hold point may be undone by, beside the work that says so
NOT_REPLACED = ("make-safe",)  # what a stop leads to is the same for everybody


def merge_safety(shipped: Safety, document: Document, problems: list[Problem]) -> Safety:
    """`shipped` with the additions of `document`: hold points that are new, and what classes demand in addition."""
    data = document.data if isinstance(document.data, dict) else {}
    added = model_of(Safety, document, (), {"hold-points": {}, "hazards": {}, **data}, problems)
    if added is None:
        return shipped
    points = dict(shipped.hold_points)
    for name, point in added.hold_points.items():
        if name in points:
            problems.append(
                document.problem(
                    ("hold-points", name), f"the hold point {name!r} ships already; give yours another name"
                )
            )
        else:
            points[name] = point
    hazards = {name: _joined(old, added.hazards.get(name)) for name, old in shipped.hazards.items()}
    hazards.update({name: new for name, new in added.hazards.items() if name not in hazards})
    merged = shipped.model_copy(update={"hold_points": points, "hazards": hazards})
    problems += safety_problems(added, document, merged)
    return merged


def safety_problems(safety: Safety, document: Document, merged: Safety | None = None) -> list[Problem]:
    """Names in `safety` that mean nothing: they would leave a guard out without a word."""
    known = (merged or safety).hold_points
    found = [
        document.problem(("hazards", name, "holds"), f"there is no hold point called {hold!r}; add it or mend the name")
        for name, hazard in safety.hazards.items()
        for hold in hazard.holds
        if hold not in known
    ]
    for name, point in safety.hold_points.items():
        for trigger in point.undone_by:
            if trigger not in TRIGGERS:
                message = f"nothing is called {trigger!r} that undoes a hold point; use {', '.join(TRIGGERS)}"
                found.append(document.problem(("hold-points", name, "undone-by"), message))
    return found


def own_problems(
    own: Procedure, replaces: str | None, document: Document, shipped: Mapping[str, Procedure], safety: Safety
) -> list[Problem]:
    """What a procedure of a user's folder would weaken: hold points met too lightly, hazards and undoings left out.

    A shipped hold point is met by what ships alone. Work that replaces such work could not meet it, so nobody would,
    and that is refused too.
    """
    old = shipped.get(own.id) if replaces == own.id else None
    found: list[Problem] = []
    if replaces is not None and replaces != own.id:
        found.append(document.problem((), f"replaces is {replaces!r}, but the id is {own.id!r}; make them equal"))
    if own.id in NOT_REPLACED:
        found.append(document.problem(("id",), f"{own.id!r} is what a stop leads to and cannot be replaced; remove it"))
    for hold in sorted(established_by(own) & set(safety.hold_points)):
        message = f"only the work that ships can meet {hold!r}; do not establish it here, nor replace what does"
        found.append(document.problem(("results",), message))
    if old is not None:
        found += _left_out(own, old, document, safety)
    return found


def _left_out(own: Procedure, old: Procedure, document: Document, safety: Safety) -> list[Problem]:
    """What the work that is replaced had, and the replacement has not."""
    parts = (
        ("the hazard class", "name it on a step", _hazards(old) - _hazards(own)),
        ("the hold point in prereq", "ask for it too", set(old.prereq) - set(own.prereq)),
        ("the undoing of", "undo it too", (_undone(old) - _undone(own)) & set(safety.hold_points)),
    )
    return [
        document.problem(("steps",), f"the replacement leaves out {what} {name!r}; {remedy}")
        for what, remedy, names in parts
        for name in sorted(names)
    ]


def _hazards(procedure: Procedure) -> set[str]:
    return {h for step in procedure.steps.values() for h in hazards_of(step)}


def _undone(procedure: Procedure) -> set[str]:
    steps = {n for step in procedure.steps.values() for n in step.undoes}
    return steps | {n for result in procedure.results.values() for n in result.undoes}


def _joined(old: HazardClass, more: HazardClass | None) -> HazardClass:
    if more is None:
        return old
    return old.model_copy(
        update={
            "holds": tuple(dict.fromkeys((*old.holds, *more.holds))),
            "permit": old.permit or more.permit,
            "cautions": tuple(dict.fromkeys((*old.cautions, *more.cautions))),
            "gear": tuple(dict.fromkeys((*old.gear, *more.gear))),
        }
    )

