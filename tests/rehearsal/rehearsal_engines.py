"""Virtual engines for tests, without any wear or scatter of their own."""

from __future__ import annotations

import random

from rehearsal_world import world

from firststart.rehearsal.body import Body, body_of
from firststart.rehearsal.engine import VirtualEngine
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.scenario import Hidden, profile_of

TWIN = {
    "kind": "motorcycle", "fuel": "petrol", "cycle": "four-stroke", "cylinders": "2",
    "bore": "67 mm", "stroke": "51 mm",
    "starting": "electric", "ignition": "points", "feed": "gravity", "battery": "12", "ratio": "9:1",
    "air-temperature": "20 degC", "altitude": "0 m", "years": "5 year", "storage": "dry",
}  # fmt: skip


def body(**changes: str) -> Body:
    """The measures of a twin, with some fields changed (underscores for hyphens)."""
    return body_of(profile_of({**TWIN, **{k.replace("_", "-"): v for k, v in changes.items()}}))


def sound() -> Parts:
    """Every part sound."""
    return Parts()


def parts(**values: float) -> Parts:
    """Sound parts but for some (double underscores for dots, underscores for hyphens)."""
    return Parts(worn={k.replace("__", ".").replace("_", "-"): v for k, v in values.items()})


def engine(*hidden: Hidden, seed: int = 1, **changes: str) -> VirtualEngine:
    """A prepared virtual engine with hidden conditions."""
    profile = profile_of({**TWIN, **{k.replace("_", "-"): v for k, v in changes.items()}})
    kit = world().kit
    return VirtualEngine.of(profile, tuple(hidden), kit.conditions, kit.repairs, seed, prepared=True)


def rng() -> random.Random:
    return random.Random(5)
