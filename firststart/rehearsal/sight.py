"""What a person can see, hear, feel and read at a virtual engine now: the common ground of all observables."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from firststart.rehearsal.body import Body
from firststart.rehearsal.firing import Answer
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.turning import Cranking, crank

Word = str | tuple[str, ...] | None
Look = Callable[["Sight", "int | None"], Word]
Read = Callable[["Sight", "int | None"], "float | None"]


@dataclass
class Sight:
    """The engine as it stands: parts, measures, the last try, and how long fuel has been drawn in without firing."""

    parts: Parts
    body: Body
    rng: random.Random
    last_try: Answer | None = None
    soaked: float = 0.0  # seconds cranked with fuel on since it last fired or dried
    wet_ml: float = 0.0  # oil put into the cylinder for a wet test
    coil: int = 1  # which of several coils is being measured
    tilt: float = 1.0  # this instrument's own constant error, as a factor

    def turning(self) -> Cranking:
        """What the starter does when it is asked now."""
        return crank(self.parts, self.body)

    def cylinders(self, cylinder: int | None) -> range:
        """The cylinders that are meant: one, or all of them for None."""
        return self.body.numbers if cylinder is None else range(cylinder, cylinder + 1)

    def any(self, part: str, cylinder: int | None, above: float) -> bool:
        """Does a part of this cylinder (of any, when none is named) exceed `above`?"""
        return any(self.parts(part, c) > above for c in self.cylinders(cylinder))

    def noise(self, share: float) -> float:
        """A factor for the scatter of a reading: normal, of this standard deviation, and the instrument's own error."""
        return max(0.0, self.rng.gauss(1.0, share)) * (1 + (self.tilt - 1) * share / 0.02)


def yes(part: str, bad: Word, above: float = 0.5) -> Look:
    """A look that shows one part directly."""
    return lambda s, c: bad if s.any(part, c, above) else None


def merged(*tables: Mapping[str, Look]) -> dict[str, Look]:
    """Several tables of looks as one; a name in two of them is a slip."""
    found: dict[str, Look] = {}
    for table in tables:
        twice = set(found) & set(table)
        if twice:
            raise ValueError(f"two looks are called {sorted(twice)}")
        found.update(table)
    return found
