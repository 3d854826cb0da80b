"""An engine's facts as a person would tell them, for tests of the bench."""

from __future__ import annotations

from firststart.bench.desk import Desk
from firststart.engine.profile import NUMBERS
from firststart.job import inputs as i
from firststart.units import parse


def tell_profile(desk: Desk, facts: dict[str, str]) -> None:
    """Each field of the profile told: a number with its unit where it is one, else a word."""
    for field, value in facts.items():
        if field in NUMBERS:
            kind, unit, _, _ = NUMBERS[field]
            desk.submit(i.SetProfile(field, number=parse(value, kind, unit or None, field)))
        else:
            desk.submit(i.SetProfile(field, word=value))
