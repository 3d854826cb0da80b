"""Vocabularies and what was heard as JSON, on their way between the bench and the process of the ears."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

from firststart.devices.ears import Heard, Vocabulary, Zone


def json_of(vocabulary: Vocabulary) -> dict[str, Any]:
    """The vocabulary as JSON takes it."""
    told = {f.name: getattr(vocabulary, f.name) for f in fields(vocabulary)}
    return {name: sorted(v) if isinstance(v, frozenset) else _plain(v) for name, v in told.items()}


def vocabulary_of(told: dict[str, Any]) -> Vocabulary:
    """The vocabulary again: lists become what the field holds by its nature."""
    sets = {f.name for f in fields(Vocabulary) if isinstance(f.default, frozenset)}
    made: dict[str, Any] = {
        n: frozenset(v) if n in sets else tuple(v) if isinstance(v, list) else v for n, v in told.items()
    }
    return Vocabulary(**made)


def heard_of(told: dict[str, Any]) -> Heard:
    """What was heard. Raises TypeError, ValueError for anything else."""
    return Heard(**{**told, "zone": Zone(told["zone"])})


def _plain(value: Any) -> Any:
    return dict(value) if hasattr(value, "items") else value
