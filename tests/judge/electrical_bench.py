"""A bench for the judges of battery, ignition and fuel: any field of a profile, any reading by name."""

from __future__ import annotations

from collections.abc import Mapping

from judge_bench import LIMITS as LIMITS

from firststart.engine.profile import NUMBERS, EngineProfile
from firststart.judge import battery, fuel, ignition
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.units import Measured, parse

BY_NAME: dict[str, Judge] = {j.name: j for part in (battery, ignition, fuel) for j in part.JUDGES}
Readings = Mapping[tuple[str, int | None], Measured]


def context(readings: Readings | None = None, **facts: str) -> Context:
    """A context with the shipped limits: `context(battery="12", air_temperature="-5 degC")`."""
    profile = EngineProfile()
    for name, text in facts.items():
        field = name.replace("_", "-")
        if field in NUMBERS:
            profile = profile.with_number(field, parse(text, NUMBERS[field][0]))
        else:
            profile = profile.with_word(field, text)
    return Context(profile, LIMITS, readings or {})


def read(name: str, text: str, kind: str, cylinder: int | None = None) -> Readings:
    """One earlier reading."""
    return {(name, cylinder): parse(text, kind)}


def taken(judge: str, text: str, resolution: float | None = None, name: str = "") -> Reading:
    """A reading of the judge's own kind from a person's text."""
    return Reading(name or judge, parse(text, BY_NAME[judge].of), None, resolution)


def judged(judge: str, reading: Reading | str | None, where: Context) -> Verdict:
    """What the judge says, having checked that its word is one of its own and that it names a source."""
    found = BY_NAME[judge]
    verdict = found.run(taken(judge, reading) if isinstance(reading, str) else reading, where)
    assert verdict.word in found.words
    assert verdict.source
    assert verdict.say.endswith(".")
    return verdict
