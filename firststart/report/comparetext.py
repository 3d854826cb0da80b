"""A comparison as text, 80 columns wide."""

from __future__ import annotations

from collections.abc import Iterator

from firststart.report.compare import HIGHER, LOWER, Comparison
from firststart.report.text import change_lines, head, item, wrapped
from firststart.report.wording import plural

_SORTS = (("outcome", "Outcomes"), ("verdict", "Verdicts"), ("answer", "Answers"), ("engine", "The engine's profile"))


def comparison_text(c: Comparison) -> str:
    """What changed between two tests or jobs, and what can be said of it."""
    lines = [*wrapped(f"Comparison on {c.engine}"), *wrapped(f"Before: {c.before}"), *wrapped(f"After: {c.after}"), ""]
    for part in (_readings(c), _told(c), _missing(c)):
        body = list(part)
        lines += [*body, ""] if body else []
    lines += wrapped(
        "A difference within the steps of the instruments may be no change at all. One beyond them may come from the "
        "engine, from another gauge, or from another day: air, height and a warm engine move readings too."
    )
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _readings(c: Comparison) -> Iterator[str]:
    yield from head("Readings")
    if not c.changes:
        yield "No reading was made in both."
        return
    moved = [x for x in c.changes if x.word in (HIGHER, LOWER)]
    both = plural(len(c.changes), "reading")
    yield from wrapped(f"{both} made in both, {len(moved)} changed by more than the steps explain.")
    yield from change_lines(c.changes)


def _told(c: Comparison) -> Iterator[str]:
    for sort, title in _SORTS:
        group = [t for t in c.told if t.sort == sort]
        if group:
            yield from head(title)
        for t in group:
            yield from item(f"{t.what}: {t.before} before, {t.after} after")


def _missing(c: Comparison) -> Iterator[str]:
    for title, names in (("Read before only", c.only_before), ("Read after only", c.only_after)):
        if names:
            yield from head(title)
        for name in names:
            yield from item(name)
