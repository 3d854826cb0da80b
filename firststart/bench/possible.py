"""Which checks cannot be done now, and why: asked before anything is scored, so that none of them is advised.

Two things stand in the way of a check until something is put right: a hold point that its work needs and that could not
be had, and work that was led through to its end and could not tell. Work from before the first try is not counted: it
prepared the start and was not asked why it fails.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from firststart.bench.trying import FIRST_CRANK, failed
from firststart.diagnosis.book import Book
from firststart.diagnosis.fields import book_words, word_of
from firststart.diagnosis.model import Check, applies
from firststart.job.holds import fresh_holds
from firststart.job.rules import Rules
from firststart.job.situation import Ended, Situation
from firststart.procedure.needs import needs_of

FAILED = ("bad", "undecided")
"""Outcomes of work that was meant to meet a hold point and did not. What was left is simply offered again."""


def hindrances(
    rules: Rules, situation: Situation, book: Book, work_of: Callable[[str], str],
) -> dict[str, str]:
    """For each check that cannot be done now, the reason in words. `work_of` gives the procedure that does a check."""
    words = book_words(rules.profile(situation.profile).words)
    changed = max([_first_try(situation), *(r.number for r in situation.repairs)])
    missing = _missing_holds(rules, situation, changed)
    found: dict[str, str] = {}
    for check in book.checks.values():
        if applies(check.applies, words):
            work = work_of(check.id)
            why = _could_not_tell(situation, check, work, changed) or _held(rules, situation, work, missing)
            if why:
                found[check.id] = why
    return found


def _first_try(situation: Situation) -> int:
    return min((seen.number for seen in situation.observed if failed(seen)), default=-1)


def _missing_holds(rules: Rules, situation: Situation, changed: int) -> dict[str, str]:
    """The hold points that do not hold and could not be had since anything was put right, with the reason."""
    library, words = rules.library, rules.words(situation)
    fresh = fresh_holds(library.safety, situation, situation.now) if situation.now is not None else frozenset()
    found: dict[str, str] = {}
    for hold, point in library.safety.hold_points.items():
        if hold in fresh or point.quick:
            continue
        tried = [situation.ended[p] for p in library.establishers(hold, words) if p in situation.ended]
        newest = max(tried, key=lambda e: e.number, default=None)
        if newest is not None and newest.number > changed and newest.outcome in FAILED:
            found[hold] = f"{point.say} could not be had"
    return found


def _held(rules: Rules, situation: Situation, work: str, missing: Mapping[str, str]) -> str:
    procedure = rules.library.procedures[work]
    needs = needs_of(procedure, rules.library, rules.words(situation)) if missing else ()
    return next((missing[hold] for hold in needs if hold in missing), "")


def _could_not_tell(situation: Situation, check: Check, work: str, changed: int) -> str:
    """Was the work of this check done since anything was put right, and told nothing of it that holds at its end?"""
    ended = situation.ended.get(work)
    if ended is None or work == FIRST_CRANK or ended.number < changed or _told(situation, check, ended):
        return ""
    return "it was left unfinished" if ended.outcome == "left" else "it was tried, and could not tell"


def _told(situation: Situation, check: Check, ended: Ended) -> bool:
    return any(
        seen.name == check.observes and seen.run == ended.run and word_of(seen.word, check.words) is not None
        and not (seen.stale and seen.stale_at is not None and seen.stale_at <= ended.at)
        for seen in situation.observed
    )
