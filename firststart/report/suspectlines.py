"""Suspects put together for reading: the likely ones each on a line, the rest by what they have in common."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from firststart.report.model import DiagnosisPart, Suspect
from firststart.report.wording import per_cent

FAINT = 0.02  # suspects that are left at less than this stand together on one line


@dataclass(frozen=True)
class SuspectLine:
    """One line: the suspects' names, where they stand, the chance in words, and what decided."""

    names: str
    stand: str
    chance: str = ""
    word: str = ""
    reason: str = ""


def suspect_lines(d: DiagnosisPart) -> tuple[SuspectLine, ...]:
    """Found and likely suspects one by one; ruled out ones by the check that cleared them; unlikely ones together."""
    return tuple(_lines(d))


def _lines(d: DiagnosisPart) -> Iterator[SuspectLine]:
    for s in d.found:
        yield _single(s, "found")
    faint = [s for s in d.left if s.chance is not None and s.chance < FAINT]
    for s in d.left:
        if s not in faint:
            yield _single(s, "still possible")
    if d.outside is not None:
        yield SuspectLine("something that is not in the book of suspects", "still possible", per_cent(d.outside))
    if faint:
        yield SuspectLine(_names(faint), "hardly likely", f"under {per_cent(FAINT)} each")
    for s in d.mended:
        yield SuspectLine(s.name, "mended", "" if s.chance is None else per_cent(s.chance), reason=s.reason)
    for reason in dict.fromkeys(s.reason for s in d.ruled_out):
        group = [s for s in d.ruled_out if s.reason == reason]
        yield SuspectLine(_names(group), "ruled out", _together(group), reason=reason)


def _single(s: Suspect, stand: str) -> SuspectLine:
    chance = per_cent(s.chance) if s.chance is not None else ""
    return SuspectLine(s.name, stand, chance, s.word if s.word != stand else "", s.reason)


def _names(group: list[Suspect]) -> str:
    return ", ".join(s.name for s in group)


def _together(group: list[Suspect]) -> str:
    known = [s.chance for s in group if s.chance is not None]
    if not known:
        return ""
    return per_cent(known[0]) if len(group) == 1 else f"{per_cent(max(known))} each at most"
