"""Facts to rows and back, through a named upcast for every older version of a kind."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from pydantic import ValidationError

from firststart.errors import RecordDamaged, RecordTooNew
from firststart.job.facts import VERSION, ClockSet, CrankBegan, CrankEnded, CrankTold, Fact, from_json, to_json

KEPT_OF_OTHERS = (CrankBegan, CrankEnded, CrankTold, ClockSet)
KEPT_NAMES = ("crank-began", "crank-ended", "crank-told", "clock-set")

# (kind, version) -> what turns its body into the next version's. A stored sample of each lies in the tests.
UPCASTS: dict[tuple[str, int], Callable[[dict[str, Any]], dict[str, Any]]] = {}


def time_text(moment: datetime) -> str:
    """RFC 3339 in UTC with microseconds: sorts as text."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


def time_of(text: str) -> datetime:
    return datetime.fromisoformat(text)


def row_of(fact: Fact) -> tuple[str, str, int, str]:
    """(at, kind, version, body) of a fact."""
    kind: str = fact.type  # type: ignore[attr-defined]
    return time_text(fact.at), kind, VERSION, to_json(fact)


def fact_of(job: str, number: int, kind: str, version: int, body: str) -> Fact:
    """The fact in a row. Raises RecordTooNew, RecordDamaged."""
    if version > VERSION:
        raise RecordTooNew(f"Entry {number} of job {job!r} was made by a newer firststart; update this one to read it.")
    if version == VERSION:
        text = body
    else:
        data = json.loads(body)
        for step in range(version, VERSION):
            upcast = UPCASTS.get((kind, step))
            data = upcast(data) if upcast else data
        text = json.dumps(data)
    try:
        return from_json(text)
    except ValidationError as error:
        raise RecordDamaged(
            f"Entry {number} of job {job!r} ({kind}) cannot be read: {error.errors()[0]['msg']}; restore a copy."
        ) from error
