"""Guided work for every check and repair of the book that has no procedure of its own.

So the bench can lead through the whole book hands-free: a check becomes its instruction and a question
with the book's outcome words; a repair becomes its instruction and whether it was done. A check that
cranks is led through a counted crank like any other.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from firststart.diagnosis.book import Book
from firststart.diagnosis.fields import event_of, profile_conditions
from firststart.diagnosis.model import Check, Suspect
from firststart.diagnosis.words import listed
from firststart.engine.profile import WORDS
from firststart.procedure.model import Procedure
from firststart.prompt.expect import GENERAL, NO, YES

STAGE = "no-start"
CRANK_S = 5
ASK = "told-how"
LONGER = 2.0
SPARE = 3.0
"""Written work that only happens to tell what a check asks may take so many times its minutes, and so many more:
nobody should change the oil to read the dipstick."""
SAID = {
    "sticks": "it sticks", "white": "it is white", "stale": "it is stale", "varnish": "it is varnish",
    "steady": "it is steady", "crossed": "they are crossed", "stiff": "it is stiff",
}  # fmt: skip
"""Outcomes of one word that noise makes another word, such as stop or status, and how they are said."""
JUDGED = ("pass", "fail")
"""Outcomes that a calculator gives. Only written work measures and judges; nobody is asked to be the judge."""


def check_id(check: str) -> str:
    """The id of the made-up procedure for a check."""
    return f"check-{_plain(check)}"[:48]


def mend_id(suspect: str) -> str:
    """The id of the made-up procedure for a repair."""
    return f"mend-{_plain(suspect)}"[:48]


def _plain(name: str) -> str:
    return name.lower().replace(" ", "-").replace("_", "-").replace("/", "-")


def workings(book: Book, existing: Mapping[str, Procedure]) -> dict[str, Procedure]:
    """A procedure for each check and each repair that `existing` does not already guide."""
    made: dict[str, Procedure] = {}
    telling = tellers(existing)
    for check in book.checks.values():
        if _guided_check(book, check, existing, telling) is None:
            made[check_id(check.id)] = _check(book, check)
    for suspect in book.suspects.values():
        if _guided_repair(suspect, existing) is None:
            made[mend_id(suspect.id)] = _mend(suspect)
    return made


def tellers(existing: Mapping[str, Procedure]) -> dict[str, tuple[str, ...]]:
    """For each name that is observed or judged, the procedures that tell it."""
    found: dict[str, dict[str, None]] = {}
    for procedure in existing.values():
        for step in procedure.steps.values():
            if step.observe is not None:
                found.setdefault(step.observe, {})[procedure.id] = None
            if step.measure is not None and step.measure.judge:
                found.setdefault(step.measure.name, {})[procedure.id] = None
    return {name: tuple(ids) for name, ids in found.items()}


def procedure_for_check(
    book: Book, check: str, existing: Mapping[str, Procedure], telling: Mapping[str, tuple[str, ...]] | None = None
) -> str:
    """The procedure that does a check: its own, or the made-up one. `telling` is `tellers` of these or of more."""
    telling = tellers(existing) if telling is None else telling
    return _guided_check(book, book.check(check), existing, telling) or check_id(check)


def _guided_check(
    book: Book, check: Check, existing: Mapping[str, Procedure], telling: Mapping[str, tuple[str, ...]]
) -> str | None:
    """A written procedure for a check: the one the book names, else the quickest that tells it and is short enough."""
    if check.procedure in existing:
        return check.procedure
    known = [existing[name] for name in telling.get(check.observes, ()) if name in existing]
    able = [p for p in known if _fits(book, p, check)]
    found = min(able, key=lambda p: (p.minutes, p.id), default=None)
    return None if found is None else found.id


def _fits(book: Book, procedure: Procedure, check: Check) -> bool:
    """Short enough for the check; or the check takes what only written work gives: a judge, or care in taking apart."""
    judged = any(word in JUDGED for word in check.words)
    apart = any(book.access[name].minutes > SPARE for name in check.access)
    return judged or apart or procedure.minutes <= LONGER * check.minutes + SPARE


def procedure_for_fix(book: Book, suspect: str, existing: Mapping[str, Procedure]) -> str:
    """The procedure that mends a suspect: the book's, one whose result repairs it, or the made-up one."""
    return _guided_repair(book.suspects[suspect], existing) or mend_id(suspect)


def _guided_repair(suspect: Suspect, existing: Mapping[str, Procedure]) -> str | None:
    """A written procedure for a repair: the one the book names, else one that can end with this repair."""
    if suspect.fix.procedure in existing:
        return suspect.fix.procedure
    able = [p.id for p in existing.values() if any(suspect.id in r.repairs for r in p.results.values())]
    return min(able, key=lambda name: (not name.startswith("mend-"), name), default=None)


_LIVE = {  # else a sound part is blamed for a wire that hangs free, and the next hand trusts an ignition that is live
    "key": "ignition live",
    "cmd": "Key off. Plug in again all that was unplugged to make the ignition dead.",
    "info": "The coil's feed, and every lead on its plug or on bare metal. Nothing was unplugged? Go on.",
    "undoes": ["ignition-dead"],
}


def _check(book: Book, check: Check) -> Procedure:
    hazards = [event_of(h) for h in check.hazard]
    before, question = _split(check.do)
    good_first = [*check.ok_when, *(w for w in reversed(check.words) if w not in check.ok_when)]
    choices = {event_of(word): [_phrase(word)] for word in good_first}
    common = {"key": check.name[:24], "why": f"It tells something of {check.name}."}
    asked = {
        **common,
        "cmd": question or "Say what you found.",
        "choices": {**choices, "not-done": ["not done"]},
        "observe": check.observes,
        "undoes": list(check.undoes),
        "go": {**dict.fromkeys(choices, "told"), "not-done": "not-done"},
    }
    steps: dict[str, Any] = {}
    if check.access:
        ready = listed([book.access[name].name for name in check.access])
        still = [h for h in hazards if h not in ("cranking", "running-engine")]
        steps["ready"] = {**common, "cmd": f"Make it ready: {ready}.", "hazard": still}
    if "cranking" in hazards and "ignition-voltage" in hazards:
        steps["live"] = {**common, **_LIVE}
    if "cranking" in hazards:
        crank = {"purpose": "spin", "seconds": CRANK_S}
        steps["crank"] = {**common, "cmd": before or "Crank the engine.", "hazard": hazards, "crank": crank, "go": ASK}
    elif before:
        steps["look"] = {**common, "cmd": before, "hazard": hazards, "go": ASK}
    else:
        asked["hazard"] = hazards
    return _procedure(
        check_id(check.id),
        check.name,
        f"Find out about {check.name}.",
        check.minutes,
        profile_conditions(check.applies, WORDS),
        {**steps, ASK: asked},
        {
            "told": {"outcome": "ok", "say": "Noted."},
            "not-done": {"outcome": "undecided", "say": "Left open. It counts neither way."},
        },
    )


def _mend(suspect: Suspect) -> Procedure:
    steps = {
        "work": {
            "cmd": suspect.fix.do or f"Put right {suspect.name}.",
            "key": "put right",
            "info": f"Against {suspect.name}. The maker's manual comes first.",
            "why": f"The record points to {suspect.name}.",
        },
        "done": {
            "cmd": "Is that work finished?",
            "key": "finished",
            "why": "Only finished work counts as a repair.",
            "choices": {"finished": ["finished"], "not-possible": ["not possible"]},
            "go": {"finished": "mended", "not-possible": "not-mended"},
        },
    }
    return _procedure(
        mend_id(suspect.id),
        f"Put right {suspect.name}",
        f"Put right {suspect.name}.",
        suspect.fix.minutes,
        profile_conditions(suspect.applies, WORDS),
        steps,
        {
            "mended": {"outcome": "ok", "say": "The repair is recorded.", "repairs": [suspect.id]},
            "not-mended": {"outcome": "undecided", "say": "Not mended. It stays open."},
        },
    )


def _procedure(
    name: str,
    title: str,
    purpose: str,
    minutes: float,
    applies: dict[str, tuple[str, ...]],
    steps: dict[str, Any],
    results: dict[str, Any],
) -> Procedure:
    return Procedure.model_validate(
        {
            "id": name,
            "title": f"{title[0].upper()}{title[1:]}"[:60].ljust(3, "."),
            "purpose": purpose.ljust(10, "."),
            "stage": STAGE,
            "line": "asked",
            "minutes": max(minutes, 0.5),
            "applies": {k: list(v) for k, v in applies.items()},
            "steps": steps,
            "results": results,
        }
    )


def _split(text: str) -> tuple[str, str]:
    """An instruction and the question it ends with; either may be empty."""
    sentences = [s.strip() for s in re.findall(r"[^.?!]+[.?!]", text) if s.strip()]
    if sentences and sentences[-1].endswith("?"):
        return " ".join(sentences[:-1]), sentences[-1]
    return text, ""


def _phrase(word: str) -> str:
    """What is said for an outcome word; a word that has a general meaning is said in a phrase."""
    reserved = {p for phrases in GENERAL.values() for p in phrases} | set(YES) | set(NO)
    return SAID.get(word, f"it is {word}" if word in reserved else word)


def line_of(book: Book) -> dict[str, int]:
    """The line in the book behind each made-up procedure."""
    lines = {check_id(c.id): c.line for c in book.checks.values()}
    return {**lines, **{mend_id(s.id): s.line for s in book.suspects.values()}}
