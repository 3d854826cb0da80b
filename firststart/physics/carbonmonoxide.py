"""Carbon monoxide in a closed space: how fast it comes, never a licence to run indoors.

A well-mixed box: dc/dt = G / V - n c, where G is the flow of carbon monoxide (m3/s), V the room (m3) and n its
air changes per second. Shares by volume. Real rooms are worse near the exhaust.
"""

from __future__ import annotations

import math

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

NIOSH_TWA, NIOSH_CEILING, IDLH = 35e-6, 200e-6, 1200e-6
IDLE_FILL = 0.3  # share of the swept volume drawn in at idle (common practice, no source)
IDLE_SPEED = 25.0  # rev/s, 1500 rpm, a small engine (common practice, no source)
WARNING = "Open doors, windows and fans do not make it safe: run outdoors only."  # NIOSH 96-118


def exhaust_flow(
    displacement: float, speed: float = IDLE_SPEED, fill: float = IDLE_FILL, strokes: int = 4
) -> float:
    """Exhaust in m3/s brought back to the air's temperature. Raises RangeError."""
    within(fill, "fill", 0, 1.2)
    above(speed, "speed", 0, "Hz")
    return above(displacement, "displacement", 0, "m3") * speed * fill / (strokes / 2)


def concentration(flow: float, room: float, seconds: float, changes: float = 0.0) -> float:
    """Share of carbon monoxide after `seconds` of `flow` m3/s of it into `room` m3 with `changes` per s.

    Raises RangeError.
    """
    within(flow, "flow", 0, None, "m3/s")
    within(seconds, "time", 0, None, "s")
    rate = within(changes, "changes", 0, None, "1/s")
    grown = -math.expm1(-rate * seconds) / rate if rate > 1e-12 else seconds
    return flow / above(room, "room", 0, "m3") * grown


def seconds_until(share: float, flow: float, room: float, changes: float = 0.0) -> float | None:
    """Seconds until `share` is reached; None when the air changes keep it below for ever. Raises RangeError."""
    within(share, "share", 0, 1)
    rate = within(changes, "changes", 0, None, "1/s")
    pace = above(flow, "flow", 0, "m3/s") / above(room, "room", 0, "m3")
    if rate <= 1e-12:
        return share / pace
    return None if share * rate >= pace else -math.log1p(-share * rate / pace) / rate


def air_needed(flow: float, share: float) -> float:
    """Fresh air in m3/s that would hold `share` for ever. Raises RangeError."""
    return within(flow, "flow", 0, None, "m3/s") / above(share, "share", 0)


def _run(values: Values) -> tuple[Answer, ...]:
    flow = exhaust_flow(values["displacement"], values["speed"], values["fill"]) * values["share"]
    rows = []
    for name, share in (("twa-35", NIOSH_TWA), ("ceiling-200", NIOSH_CEILING), ("danger-1200", IDLH)):
        seconds = seconds_until(share, flow, values["room"], values["changes"] / 3600)
        rows.append(Answer(name, "never in this model" if seconds is None else from_si(seconds, "min", "time")))
    air = air_needed(flow, NIOSH_CEILING)
    return (*rows, Answer("air-to-hold-200", from_si(air, "l/min", "flow"), "fresh air"), Answer("warning", WARNING))


SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "carbon-monoxide", "Carbon monoxide in a closed space", "dc/dt = G/V - n c; G = V speed fill share / 2",
        "box model; limits NIOSH 35 and 200 ppm, immediate danger 1200 ppm; warning NIOSH 96-118", "read",
        (Given("displacement", "volume", "ml", 20, 20000, meaning="engine size"),
         Given("room", "volume", "l", 1000, 1e7, "60000 l", "volume of the closed space"),
         Given("share", "percent", "%", 0.01, 15, "5 %", "carbon monoxide in the exhaust"),
         Given("speed", "speed", "rpm", 100, 6000, "1500 rpm", "engine speed"),
         Given("fill", "count", "", 0.05, 1.2, "0.3", "share of the swept volume drawn in"),
         Given("changes", "count", "", 0, 200, "0", "air changes an hour")),
        _run,
    ),
)  # fmt: skip
