"""Facts to rows and back, through a named upcast for every older version of a kind."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from pydantic import ValidationError

from firststart.errors import RecordDamaged, RecordTooNew
from firststart.job.facts import (
    ClockSet,
    CrankBegan,
    CrankEnded,
    CrankTold,
    Fact,
    from_json,
    to_json,
    version_of,
)

KEPT_OF_OTHERS = (CrankBegan, CrankEnded, CrankTold, ClockSet)
KEPT_NAMES = ("crank-began", "crank-ended", "crank-told", "clock-set")

# (kind, version) -> what turns its body into the next version's. A stored sample of each lies in the tests.
UPCASTS: dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {}


def time_text(moment: datetime) -> str:
    """RFC 3339 in UTC with microseconds: sorts as text."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def time_of(text: str) -> datetime:
    """The moment that `time_text` wrote. Raises ValueError."""
    return datetime.fromisoformat(text)


def row_of(fact: Fact) -> tuple[str, str, int, str]:
    """(at, kind, version, body) of a fact."""
    kind: str = fact.type  # type: ignore[attr-defined]
    return time_text(fact.at), kind, version_of(kind), to_json(fact)


def seal(job: str, number: int, at: str, kind: str, version: int, body: str) -> str:
    """A checksum of a whole row (BLAKE2b, RFC 7693, 8 bytes as hex): a byte that changed on the disk is seen."""
    row = f"{job}\0{number}\0{at}\0{kind}\0{version}\0{body}"
    return hashlib.blake2b(row.encode("utf-8", "surrogatepass"), digest_size=8).hexdigest()


def fact_of(job: str, number: int, kind: str, version: int, body: str) -> Fact:
    """The fact in a row. Raises RecordTooNew, RecordDamaged."""
    newest = version_of(kind)
    if version > newest:
        raise RecordTooNew(f"Entry {number} of job {job!r} was made by a newer firststart; update this one to read it.")
    try:
        fact = from_json(body if version == newest else _brought_up(kind, version, body))
    except ValidationError as error:
        raise _unreadable(job, number, kind, error.errors()[0]["msg"]) from error
    except (ValueError, LookupError, TypeError, RecursionError) as error:  # no JSON, or not what an upcast expects
        raise _unreadable(job, number, kind, str(error)) from error
    if fact.type != kind:  # type: ignore[attr-defined]
        raise _unreadable(job, number, kind, "its kind and its body differ")
    return fact


def _brought_up(kind: str, version: int, body: str) -> str:
    """An older body as the newest version writes it."""
    data = json.loads(body)
    for step in range(max(version, 0), version_of(kind)):
        upcast = UPCASTS.get((kind, step))
        data = upcast(data) if upcast else data
    return json.dumps(data)


def _unreadable(job: str, number: int, kind: str, why: str) -> RecordDamaged:
    return RecordDamaged(
        f"Entry {number} of job {job!r} ({kind}) cannot be read: {why}; see what can be with: firststart salvage"
    )
