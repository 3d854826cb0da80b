"""A job as JSON and back: to_json(report, facts) -> text, from_json(text) -> facts.

What is read back is the record itself, checked: every fact valid, in an order that folds, with consistent
units. Version 1 had no photos and sounds; its entries are read as they are.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from firststart.errors import FirststartError, InputError, RecordTooNew
from firststart.job import facts as f
from firststart.job.fold import fold
from firststart.job.situation import Situation
from firststart.report import wire
from firststart.report.document import document
from firststart.report.model import Report
from firststart.units import Measured, measured

MOST_BYTES = 64 * 1024 * 1024
MOST_FACTS = 50_000
_AHEAD = timedelta(days=1)  # a clock on another bench may run this far ahead of ours

_FACTS: TypeAdapter[tuple[f.Fact, ...]] = TypeAdapter(tuple[f.AnyFact, ...])


def to_json(report: Report, facts: Sequence[f.Fact]) -> str:
    """The job as JSON text: what the report says, and the facts it was made from.

    Raises InputError when a fact's time has no zone.
    """
    for number, fact in enumerate(facts, 1):
        if fact.at.tzinfo is None:
            raise InputError(f"Entry {number} has a time without a zone; it cannot be exported.")
    return document(report, facts).model_dump_json(indent=1) + "\n"


def from_json(text: str | bytes, now: datetime | None = None) -> tuple[f.Fact, ...]:
    """The facts of an exported job, equal to those it was made from.

    With `now`, entries dated later than a day after it are refused: they would hold up every rest.
    Raises InputError (not JSON, not an export, entries that are wrong or do not follow each other) and
    RecordTooNew, each with one sentence that says what and where.
    """
    facts = _read(_envelope(_loaded(text)))
    _check_values(facts)
    _check_order(facts)
    if now is not None:
        _check_times(facts, now)
    return facts


class _Head(BaseModel):
    """What must stand in an export before its facts are looked at."""

    model_config = ConfigDict(extra="ignore")

    format: str
    version: int
    facts: list[Any]


def _loaded(text: str | bytes) -> Any:
    if len(text) > MOST_BYTES:
        raise InputError(f"The export is larger than {MOST_BYTES // 1024 // 1024} MB; it is no single job.")
    try:
        return json.loads(text, object_pairs_hook=_once, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        reason = str(error) if isinstance(error, InputError) else getattr(error, "msg", "nested too deep or not text")
        where = f" in line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise InputError(f"The export is not JSON{where} ({reason}); export the job again.") from error


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(n for n in names if names.count(n) > 1)
        raise InputError(f"the key {twice[:40]!r} stands twice")
    return found


def _no_constant(name: str) -> float:
    raise InputError(f"{name} is no number")


def _envelope(data: Any) -> list[Any]:
    if not isinstance(data, dict) or data.get("format") != wire.FORMAT:
        raise InputError("This file is no exported job; choose one that firststart report --format json wrote.")
    try:
        head = _Head.model_validate(data)
    except ValidationError as error:
        raise InputError(f"The export is damaged: {_first(error)}; export the job again.") from error
    if head.version > wire.VERSION:
        raise RecordTooNew("The export was made by a newer firststart; update this one to read it.")
    if head.version < 1 or not head.facts or len(head.facts) > MOST_FACTS:
        raise InputError(f"The export must hold 1 to {MOST_FACTS} entries and a version of 1 or more; export it again.")
    return head.facts


def _read(entries: list[Any]) -> tuple[f.Fact, ...]:
    try:
        return _FACTS.validate_python(entries)
    except ValidationError as error:
        found = error.errors(include_url=False, include_input=False)[0]
        if found["type"] == "string_too_long":
            most = found["ctx"]["max_length"]
            raise InputError(
                f"Entry {int(found['loc'][0]) + 1} of the export has a text of more than {most} characters; "
                "no job holds one as long."
            ) from error
        raise InputError(f"The export is damaged: entry {_first(error, 1)}; export the job again.") from error


def _first(error: ValidationError, count_from: int = 0) -> str:
    """The first fault: its path, entries counted from 1, and what is wrong."""
    found = error.errors(include_url=False, include_input=False)[0]
    place = [str(p + count_from) if isinstance(p, int) and n == 0 else str(p) for n, p in enumerate(found["loc"])]
    return f"{'.'.join(place)[:80]}: {found['msg'][:120]}"


def _check_values(facts: Iterable[f.Fact]) -> None:
    """Numbers with units must say the same in both, and times must have a zone."""
    for number, fact in enumerate(facts, 1):
        if fact.at.tzinfo is None:
            raise InputError(f"Entry {number} of the export has a time without a zone; write it as RFC 3339 asks.")
        value = getattr(fact, "value", None) or getattr(fact, "number", None)
        if isinstance(value, Measured):
            _check_value(number, value)


def _check_value(number: int, value: Measured) -> None:
    try:
        again = measured(value.value, value.unit, value.kind)
    except InputError as error:
        raise InputError(f"Entry {number} of the export has a value that cannot be read: {error}") from error
    if again.unit != value.unit or not math.isclose(again.si, value.si, rel_tol=1e-9, abs_tol=1e-12):
        raise InputError(
            f"Entry {number} of the export says {value} but gives {value.si:g} for it in SI, not {again.si:g}; "
            "it was changed by hand."
        )


def _check_order(facts: Sequence[f.Fact]) -> None:
    """The facts must be those of one job and fold from the first to the last."""
    if not isinstance(facts[0], f.JobOpened) or any(isinstance(x, f.JobOpened) for x in facts[1:]):
        raise InputError("The export must begin with the opening of one job, and open no other.")
    situation = Situation()
    for number, fact in enumerate(facts, 1):
        try:
            situation = fold(situation, fact)
        except (StopIteration, FirststartError, ValueError, LookupError, ArithmeticError) as error:
            kind = getattr(fact, "type", "")
            raise InputError(f"Entry {number} of the export ({kind}) does not follow from those before it.") from error


def _check_times(facts: Sequence[f.Fact], now: datetime) -> None:
    newest = max(range(len(facts)), key=lambda n: facts[n].at)
    if facts[newest].at > now + _AHEAD:
        raise InputError(
            f"Entry {newest + 1} of the export is dated {facts[newest].at:%d %B %Y}, which is still to come; "
            "set the clock right, or have the job exported again."
        )
