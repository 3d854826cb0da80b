"""What each check did to the suspects: the diagnosis asked again after each piece of evidence, in order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby

from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence, Finding, NoStart, Ran, Repair, settle
from firststart.diagnosis.network import Network, fit
from firststart.report.model import Round, Shift

_MOVED = 0.02  # a chance that moved by less is not told
_SHOWN = 8
NEWEST = 12  # checks told, the newest ones


def rounds_of(
    book: Book, profile: Mapping[str, str], years: float | None, storage: str | None, evidence: Sequence[Evidence]
) -> tuple[Round, ...]:
    """One round for each check, try and repair that moved a suspect's chance, in order; the newest `NEWEST`.

    The arguments are those of `diagnosis.advise`. Chances are from 0 to 1. Loads numpy.
    """
    network = fit(book, profile, years, storage)
    counted = [e for e in evidence if not (isinstance(e, Finding) and e.stale_because)]
    before = _chances(network, ())
    rounds: list[Round] = []
    taken: list[Evidence] = []
    for _, group in groupby(counted, key=lambda e: e.seq):
        now = list(group)
        taken += now
        after = _chances(network, taken)
        shifts = _shifts(network, before, after)
        if shifts:
            check, outcome = _told(book, now[0])
            rounds.append(Round(check, outcome, now[0].at, shifts))
        before = after
    return tuple(rounds[-NEWEST:])


def _chances(network: Network, evidence: Sequence[Evidence]) -> tuple[float, ...]:
    """The exact chance of each suspect after `evidence`."""
    from firststart.diagnosis.infer import solve  # numpy is loaded here, not at import
    from firststart.diagnosis.policy import mended_of

    settled = settle(evidence, network.book.causes, [s.id for s in network.suspects])
    return tuple(solve(network.numbers, settled.findings, mended_of(network, settled)).chances.now)


def _shifts(network: Network, before: Sequence[float], after: Sequence[float]) -> tuple[Shift, ...]:
    """The suspects whose chance moved, those that moved most first."""
    moved = [
        Shift(s.name, before[n], after[n])
        for n, s in enumerate(network.suspects)
        if abs(after[n] - before[n]) >= _MOVED
    ]
    return tuple(sorted(moved, key=lambda s: -abs(s.after - s.before))[:_SHOWN])


def _told(book: Book, item: Evidence) -> tuple[str, str]:
    """A piece of evidence in words: what was done, and how it came out."""
    match item:
        case Finding():
            return (book.check(item.check).name if item.check in book.rows else item.check), item.word or item.outcome
        case Repair():
            name = book.suspects[item.suspect].name if item.suspect in book.suspects else item.suspect
            return f"mending {name}", "not put right" if item.success == 0 else "done"
        case NoStart():
            return "a try to start", "it did not start"
        case Ran():
            return "a try to start", "it started"
