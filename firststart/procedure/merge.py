"""A user's own hazards: they may add hold points and cautions, and can weaken nothing that ships."""

from __future__ import annotations

from firststart.errors import Problem
from firststart.procedure.model import HazardClass, HoldPoint, Safety
from firststart.procedure.reader import Document
from firststart.procedure.validate import model_of


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
    return Safety.model_validate({"hold-points": _plain(points), "hazards": _plain(hazards)})


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


def _plain(models: dict[str, HoldPoint] | dict[str, HazardClass]) -> dict[str, object]:
    return {name: model.model_dump(by_alias=True) for name, model in models.items()}
