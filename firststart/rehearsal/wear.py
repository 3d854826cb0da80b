"""What age alone has done to a sound engine: drawn from years, storage and climate, never enough to stop it.

Invented, of the size the trade knows (common practice, no source), and within the published limits of what is
measured: a clamp or an earth keeps under 0.1 V at the starter's current (Chevrolet Impala 1983 service manual), and so
do closed points at theirs. What goes beyond the limits is a condition.
"""

from __future__ import annotations

import math
import random

from firststart.rehearsal.body import Body

DAMP = {"heated": 0.3, "dry": 0.6, "damp": 1.0, "outdoors": 1.5}


def worn_parts(body: Body, rng: random.Random, prepared: bool = False) -> dict[str, float]:
    """Part -> value of a sound engine of this age and storage; `prepared`: old fuel is out and fresh fuel is in."""
    rust = DAMP.get(body.storage, 1.0) * math.sqrt(max(body.years, 0.0))
    use = rng.betavariate(2, 5)  # how much of its life it has run
    return {
        "rings.mm2": 0.12 + 0.06 * use + 0.012 * rust * rng.random(),
        "exhaust.mm2": 0.02 + 0.02 * use * rng.random() + 0.004 * rust,
        "intake.mm2": 0.015 + 0.01 * use,
        "terminals.ohm": 0.00012 + 0.00002 * rust * rng.random(),
        "earth.ohm": 0.00012 + 0.00002 * rust * rng.random(),
        "points.ohm": 0.012 + 0.001 * rust * rng.random(),
        "plug.gap": 1.0 + 0.15 * use,
        "battery.health": max(0.6, 1 - 0.3 * rng.random()),
        "battery.charge": rng.uniform(0.85, 0.98),
        "filter.share": 1 - 0.15 * use * rng.random(),
        "tap.share": 1 - 0.1 * rng.random(),
        "setting.degrees": rng.gauss(0, 1.0),
        "flywheel.gap": 1 + 0.03 * rust * rng.random(),
        "valve.clearance": rng.uniform(0.85, 1.05),
        "fuel.days": 4.0 if prepared else max(30.0, 365 * body.years),
        "tank.level": 0.3 if prepared else rng.uniform(0.1, 0.6),
    }
