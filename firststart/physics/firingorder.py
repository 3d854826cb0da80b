"""What a firing order tells: when each cylinder comes up, and which two stand at their tops together.

An order is written as one whole number, its figures from number one on: 1342 for 1-3-4-2. Angles in radians.
"""

from __future__ import annotations

from firststart.errors import InputError
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.physics.timingmark import TURN, TURNS_PER_CYCLE
from firststart.units import from_si

LEAST, MOST = 1, 87654321  # one cylinder to eight


def order_of(number: float) -> tuple[int, ...]:
    """The cylinders in the order in which they fire, from number one on. Raises InputError when it is no order."""
    figures = [int(c) for c in f"{number:.0f}"] if number == round(number) else []
    if not figures or sorted(figures) != list(range(1, len(figures) + 1)):
        raise InputError(f"{number:.10g} is no firing order; give each cylinder once, as in 1 3 4 2.")
    first = figures.index(1)
    return (*figures[first:], *figures[:first])


def written(order: tuple[int, ...], between: str = " ") -> str:
    """The order as people write and say it: "1 3 4 2"."""
    return between.join(map(str, order))


def angle_after(order: tuple[int, ...], cylinder: int, cycle: str) -> float:
    """Crank angle in rad from number one's firing to this cylinder's, of an engine that fires evenly. ValueError."""
    return TURN * TURNS_PER_CYCLE[cycle] * order.index(cylinder) / len(order)


def pairs(order: tuple[int, ...], cycle: str) -> tuple[tuple[int, int], ...]:
    """Cylinders one turn of the crank apart, the lower number first: () where there are none.

    While one of them is at its firing top the other ends its exhaust stroke, and its valves rock. A coil with two leads
    serves such a pair. Only an even four-stroke with an even number of cylinders has them.
    """
    half, odd = divmod(len(order), 2)
    if odd or cycle != "four-stroke" or half < 2:
        return ()
    return tuple(sorted((min(p), max(p)) for p in zip(order[:half], order[half:], strict=True)))


def _run(values: Values) -> tuple[Answer, ...]:
    order, cycle = order_of(values["order"]), values["cycle"]
    found = ", ".join(f"{a} and {b}" for a, b in pairs(order, cycle))
    ups = (
        Answer(f"cylinder-{c}", from_si(angle_after(order, c, cycle), "deg", "angle"), "after number one")
        for c in order
    )
    return (Answer("pairs", found or "none", "one turn apart: one fires while the other's valves rock"), *ups)


SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "firing-order", "What a firing order tells", "720 / n degrees from one to the next, 360 / n two-stroke",
        "counting of cycles; pairs one turn apart", "from memory",
        (
            Given("order", "count", "", LEAST, MOST, meaning="its figures from number one on, as in 1342", whole=True),
            Given("cycle", "count", "", 0, 0, "four-stroke", "cycle", ("four-stroke", "two-stroke")),
        ),
        _run,
    ),
)  # fmt: skip
