"""What a job once knew and does not know any more: answers and readings that later work has made stale."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from firststart.job.situation import Situation
from firststart.procedure.library import Library

_AGAIN = "went back to answer again"  # the question stands again, or was answered anew: nothing is missing


@dataclass(frozen=True)
class Gone:
    """One of them: what it told of, since when it counts no more, and because of what."""

    say: str
    since: datetime
    because: str


def gone_evidence(library: Library, situation: Situation) -> tuple[Gone, ...]:
    """Each name whose newest answer (of some cylinder) is stale, in the order in which they went."""
    newest = {(seen.name, seen.cylinder): seen for seen in situation.observed}
    names = library.remembered("words of evidence", lambda: _names(library))
    found = {
        seen.name: Gone(names.get(seen.name, seen.name.replace(".", " ")), seen.stale_at, seen.stale)
        for seen in newest.values()
        if seen.stale and seen.stale != _AGAIN and seen.stale_at is not None
    }
    return tuple(sorted(found.values(), key=lambda gone: gone.since))


def _names(library: Library) -> dict[str, str]:
    """The short words of the step that asks for it, by the name under which the answer is kept."""
    found: dict[str, str] = {}
    for procedure in library.procedures.values():
        for step in procedure.steps.values():
            for name in (step.observe, step.measure.name if step.measure is not None else None):
                if name is not None:
                    found.setdefault(name, step.key or procedure.title.lower())
    return found
