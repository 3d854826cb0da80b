"""A small bench for judges: the shipped limits, an invented engine, readings in the units people use."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import yaml

from firststart.engine.profile import EngineProfile
from firststart.judge.model import Context, Limit, Limits, Reading, Verdict
from firststart.judge.registry import JUDGES
from firststart.units import Measured, parse

LIMITS_FOLDER = Path(__file__).parents[2] / "procedures" / "limits"
PSI = 6894.757293168


def shipped_limits() -> Limits:
    """Every limit of the procedures folder."""
    found: dict[str, Limit] = {}
    for file in sorted(LIMITS_FOLDER.glob("*.yaml")):
        found.update({k: Limit(**v) for k, v in yaml.safe_load(file.read_text(encoding="utf-8")).items()})
    return Limits(by_name=found)


LIMITS = shipped_limits()
KINDS = {
    "cylinders": "count", "displacement": "volume", "bore": "length", "stroke": "length", "rod": "length",
    "ratio": "ratio", "intake_closes": "angle", "manual_compression": "pressure", "timing": "angle",
    "flywheel": "length", "oil_capacity": "volume", "altitude": "length", "air_temperature": "temperature",
}  # fmt: skip


def engine(**facts: str) -> EngineProfile:
    """A profile from texts: `engine(kind="car", ratio="9:1")`."""
    profile = EngineProfile()
    for name, text in facts.items():
        field = name.replace("_", "-")
        profile = (
            profile.with_number(field, parse(text, KINDS[name])) if name in KINDS else profile.with_word(field, text)
        )
    return profile


def psi(values: list[float], name: str = "compression.dry") -> dict[tuple[str, int | None], Measured]:
    """Readings of cylinders 1, 2, ... in psi."""
    return {(name, i + 1): parse(f"{v:g} psi", "pressure") for i, v in enumerate(values)}


def bench(
    profile: EngineProfile | None = None,
    readings: Mapping[tuple[str, int | None], Measured] | None = None,
    earlier: Mapping[tuple[str, int | None], Measured] | None = None,
) -> Context:
    """A context with the shipped limits."""
    return Context(profile or EngineProfile(), LIMITS, readings or {}, earlier or {})


def judged(
    judge: str, text: str, context: Context, cylinder: int | None = None, resolution: float | None = None
) -> Verdict:
    """What a judge says of a text; an empty text judges the set. The word is one of the judge's own."""
    found = JUDGES[judge]
    reading = None
    if text:
        reading = Reading(judge, parse(text, found.of), cylinder, resolution)
    verdict = found.run(reading, context)
    assert verdict.word in found.words
    return verdict
