"""Leak-down (differential pressure) test: loss, and what the tester's own orifice does to it.

Air goes through the tester's restrictor into the cylinder and out by the leak: two orifices in series, each ideal
compressible flow of air (ratio of specific heats 1.4) with the same discharge coefficient, choked or not. Pressures
in Pa absolute inside, gauge where the name says so. Standard gas dynamics, from memory.
"""

from __future__ import annotations

import math

from firststart.physics.compression import check_gauge
from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

GAMMA = 1.4
CRITICAL = (2 / (GAMMA + 1)) ** (GAMMA / (GAMMA - 1))  # 0.52828; below this pressure ratio the flow is choked
SMALL_BORE_RESTRICTOR = 0.040 * 0.0254  # m; bore under 5.00 in
LARGE_BORE_RESTRICTOR = 0.060 * 0.0254  # m; bore 5.00 in and over
LARGE_BORE = 5.00 * 0.0254  # m


def loss(gauge: float, supply: float) -> float:
    """Share of the `supply` gauge pressure that the cylinder does not hold, 0 to 1. Raises RangeError.

    Source: definition, as in AC 43.13-1B page 8-15 (more than 25 per cent of the input is suspect).
    """
    above(supply, "supply", 0, "Pa")
    within(gauge, "cylinder pressure", 0, supply, "Pa", "the cylinder cannot hold more than the supply")
    return 1 - gauge / supply


def flow_factor(upstream: float, downstream: float) -> float:
    """Mass flow of air per area, times sqrt(R T) over `upstream`, through an ideal orifice. Raises RangeError."""
    above(upstream, "upstream pressure", 0, "Pa", "absolute")
    within(downstream, "downstream pressure", 0, upstream, "Pa", "air flows from high to low")
    ratio = max(downstream / upstream, CRITICAL)  # choked: the flow no longer knows what is downstream
    inner = ratio ** (2 / GAMMA) - ratio ** ((GAMMA + 1) / GAMMA)
    return math.sqrt(2 * GAMMA / (GAMMA - 1) * max(inner, 0.0))


def leak_area_ratio(gauge: float, supply: float, ambient: float = 101325.0) -> float:
    """Area of the leak over that of the restrictor, from the cylinder's and the `supply` gauge in Pa. RangeError.

    A cylinder that holds nothing has no finite leak and is refused.
    """
    check_gauge(gauge, ambient)
    within(gauge, "cylinder pressure", 1.0, supply, "Pa", "nothing held: the leak is too large for this tester")
    inside = flow_factor(supply + ambient, gauge + ambient) * (supply + ambient)
    return inside / (flow_factor(gauge + ambient, ambient) * (gauge + ambient))


def reading(ratio: float, supply: float, ambient: float = 101325.0) -> float:
    """Cylinder gauge pressure in Pa for a leak `ratio` times the restrictor's area. Raises RangeError.

    The flow through the restrictor falls and that through the leak grows with the cylinder's pressure, so there is
    exactly one answer; found by halving to 1e-12 of the supply.
    """
    within(ratio, "leak over restrictor", 0, None)
    above(supply, "supply", 0, "Pa")
    above(ambient, "air pressure", 0, "Pa", "below a vacuum")
    low, high = 0.0, supply
    while high - low > 1e-12 * supply:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        into = flow_factor(supply + ambient, middle + ambient) * (supply + ambient)
        out = ratio * flow_factor(middle + ambient, ambient) * (middle + ambient)
        low, high = (middle, high) if into > out else (low, middle)
    return (low + high) / 2


def leak_diameter(gauge: float, supply: float, restrictor: float, ambient: float = 101325.0) -> float:
    """Diameter in m of the round hole that leaks as much as the cylinder. Raises RangeError."""
    return above(restrictor, "restrictor", 0, "m") * math.sqrt(leak_area_ratio(gauge, supply, ambient))


def through_another(gauge: float, supply: float, own: float, other: float, ambient: float = 101325.0) -> float:
    """What the same cylinder would read in Pa gauge through a restrictor of `other` m diameter. Raises RangeError."""
    above(own, "restrictor", 0, "m")
    above(other, "other restrictor", 0, "m")
    return reading(leak_area_ratio(gauge, supply, ambient) * (own / other) ** 2, supply, ambient)


def restrictor_for(bore: float) -> float:
    """Diameter in m of the restrictor that AC 43.13-1B change 1, section 8-14, names for a `bore` in m. RangeError.

    Read in a secondary copy. Both makers of the engines it was written for override it with 0.040 in for all bores.
    """
    return SMALL_BORE_RESTRICTOR if above(bore, "bore", 0, "m") < LARGE_BORE else LARGE_BORE_RESTRICTOR


def _run(values: Values) -> tuple[Answer, ...]:
    gauge, supply, own = values["reading"], values["supply"], values["restrictor"]
    answers = [Answer("loss", from_si(loss(gauge, supply), "%", "percent"), "of the supply")]
    if gauge > 0:
        hole = leak_diameter(gauge, supply, own)
        other = LARGE_BORE_RESTRICTOR if own < LARGE_BORE_RESTRICTOR else SMALL_BORE_RESTRICTOR
        there = through_another(gauge, supply, own, other)
        name = f"{other / 0.0254:.3f} in"
        answers += [
            Answer("leak", from_si(hole, "mm", "length"), "round hole that leaks as much"),
            Answer("elsewhere", from_si(there, "psi", "pressure"), f"what a {name} restrictor would show"),
            Answer("elsewhere-loss", from_si(loss(there, supply), "%", "percent"), f"through {name}"),
        ]
    return tuple(answers)


SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "leak-down", "Leak-down loss, and the size of the leak behind it",
        "loss = 1 - p / supply; A_leak / A_restrictor from two ideal orifices in series, choked where p2/p1 < 0.528",
        "AC 43.13-1B page 8-15 (loss); isentropic orifice flow of air (from memory)", "read",
        (
            Given("reading", "pressure", "psi", 0, 200, meaning="cylinder gauge"),
            Given("supply", "pressure", "psi", 5, 200, "80 psi", "regulated supply"),
            Given("restrictor", "length", "mm", 0.2, 6, "1.016 mm", "diameter of the tester's orifice"),
        ),
        _run,
    ),
)
