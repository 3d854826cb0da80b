"""Fuel and air: the flow to the engine, what stands in the bowl, and the mixture in the cylinder.

Restrictions in one line add as orifices do: 1/s^2 = sum of 1/s_i^2. The mixture is counted as the share of the vapour
that burns best; it lights between about 0.5 and 2.5 (limits of petrol in air 1.4 to 7.6 % about a best of 2 to 3 %,
from memory).
"""

from __future__ import annotations

import math

from firststart.physics.fuel import DAY, LIVES, age_word, separates
from firststart.physics.fuelflow import gravity_head, idle_flow
from firststart.rehearsal.body import Body
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.turning import Cranking

LEAN, RICH = 0.5, 2.5
FAST_IDLE = 6.0  # times the flow of a warm idle that a cold engine on its choke takes (common practice, no source)
FILLS = 5e-6 / 60  # m3/s, 5 ml a minute: less does not fill a bowl while people wait (common practice, no source)
_SEAT = math.pi / 4 * 1.8e-3**2  # m2, the narrowest passage of a sound line (common practice, no source)
_HEAD_M = 0.25  # tank above the carburettor (common practice, no source)
_BLUNT = 0.6  # discharge coefficient of a sharp orifice (standard, from memory)


def in_line(*shares: float) -> float:
    """What passages in one line let through together, 1 when all are whole."""
    if min(shares) <= 0.001:
        return 0.0
    return 1 / math.sqrt(1 + sum(1 / s**2 - 1 for s in shares))


def line_share(parts: Parts, body: Body, vented: bool = False, at: str = "carburettor") -> float:
    """Share of the sound flow that reaches the carburettor (or leaves the tap)."""
    if parts("tank.level") <= 0.02 or (parts.so("tap.shut") and body.feed != "injection"):
        return 0.0
    vent = 1.0 if vented else parts("vent.share")
    passages = [parts("tap.share"), vent]
    if at == "carburettor":
        passages += [parts("filter.share"), parts("hose.share"), 1 - 0.9 * parts("fuel.slime")]
        passages += [parts("bulb.share")] if body.kind == "outboard" else []
        passages += [parts("lift.share"), 1 - 0.97 * parts("fuel.wax")] if not body.petrol else []
    flow = in_line(*(min(max(p, 0.0), 1.0) for p in passages))
    return flow * (parts("pump.share") if body.feed == "pump" and at == "carburettor" and body.petrol else 1.0)


def flow(parts: Parts, body: Body, vented: bool = False, at: str = "carburettor") -> float:
    """Fuel flow in m3/s out of the hose: an orifice under the tank's head, or what a pump gives."""
    if body.feed == "pump":
        sound = 12 * idle_flow(body.swept * body.cylinders) + 2e-6
    else:
        head = gravity_head(_HEAD_M) / 740
        sound = _BLUNT * _SEAT * math.sqrt(2 * head)
    return sound * line_share(parts, body, vented, at)


def sustained(parts: Parts, body: Body) -> bool:
    """Does the supply keep up with an idling engine, once the bowl is used?"""
    if not body.petrol:
        return line_share(parts, body) > 0.3 and not parts.so("line.air")
    if body.feed == "injection":
        return rail(parts) > 0.55
    stuck = 0.0 if parts.so("float.shut") else 1.0
    return flow(parts, body) * stuck > FAST_IDLE * idle_flow(body.swept * body.cylinders)


def bowl(parts: Parts, body: Body) -> float:
    """How full the float bowl stands after some minutes with the tap open, 0 to 1; above 1 it runs over."""
    if parts.so("float.shut") or flow(parts, body) < FILLS:
        return 0.0
    return 1.0 + 0.5 * parts("float.leak")


def rail(parts: Parts) -> float:
    """Share of the injection's sound rail pressure."""
    if any(parts.so(p) for p in ("pump-relay.open", "ecu.dead", "main-fuse.open", "tip.open", "immobiliser.on")):
        return 0.0
    if parts("key.ohm") > 5:
        return 0.0
    passages = in_line(max(parts("filter.share"), 0.0), max(parts("hose.share"), 0.0), max(parts("vent.share"), 0.0))
    return parts("rail-pump.share") * parts("rail.share") * passages * (1.0 if parts("tank.level") > 0.02 else 0.0)


def volatility(parts: Parts, body: Body) -> float:
    """How readily the fuel becomes vapour, 1 for fresh petrol at 20 degC."""
    days = parts("fuel.days")
    warmth = math.exp((body.air - 293.15) / 22)  # vapour pressure doubles in about 15 K (from memory)
    life = LIVES["e0"].longest
    stale = 1.0 if days <= life else 1 / (1 + (days - life) / 500)
    return warmth * stale


def age(parts: Parts) -> str:
    """fresh, doubtful or stale, as `physics` words it."""
    return age_word(max(parts("fuel.days"), 0.0) * DAY, LIVES["e0"])


def water(parts: Parts) -> float:
    """Share of the bowl's outlet that is water: what the fuel could not hold lies at the bottom."""
    share = parts("fuel.water")
    return share if share > 0 and separates(1e-3, 0.05, share * 1e-3) else 0.0


def mixture(parts: Parts, body: Body, turning: Cranking) -> float:
    """Vapour in the cylinder over what burns best, with choke or cold-start device in use as the cold asks."""
    if parts.so("flood"):
        return 6.0
    liquid = _injected(parts, body) if body.feed == "injection" else _drawn(parts, body)
    air = max(0.12, parts("air.share")) * (1 + 2.2 * parts("boot.leak")) * max(0.3, 1 - 0.5 * parts("case.leak"))
    speed = min(1.0, turning.rps / (0.5 * body.rps)) if turning.turns else 0.0
    wet = liquid * (1 - water(parts)) * speed / air
    return wet * min(volatility(parts, body), 1.6)


def _drawn(parts: Parts, body: Body) -> float:
    """Liquid that a carburettor gives while cranking, over what a cold start wants at 20 degC."""
    if bowl(parts, body) <= 0:
        return 0.0
    cold_start = 0.0 if parts.so("choke.open") else parts("choke-circuit.share")
    if parts.so("choke.shut"):
        cold_start = 3.0
    needs_choke = min(1.0, max(0.0, (308.15 - body.air) / 15))
    base = parts("pilot.share") * parts("diaphragm.share") * (1.15 - 0.7 * needs_choke)
    choke = 0.9 * needs_choke / max(min(volatility_day(body), 1.0), 0.25) * cold_start * parts("diaphragm.share")
    weak = 1 - 0.9 * parts("reed.gap")
    return (base + choke * min(1.0, 0.3 + 0.7 * parts("pilot.share"))) * weak * (1 + 1.8 * parts("float.leak"))


def volatility_day(body: Body) -> float:
    """What the day's cold alone leaves of the vapour; the cold-start device makes up for it."""
    return math.exp((body.air - 293.15) / 22)


def _injected(parts: Parts, body: Body) -> float:
    pressure = rail(parts)
    if pressure < 0.1 or parts.so("pickup.dead"):
        return 0.0
    enriched = max(0.15, 1 - parts("sensor.off") / 70)
    cold = max(min(volatility_day(body), 1.0), 0.25)
    return 1.1 * math.sqrt(min(pressure, 1.5)) * parts("injector.share") * enriched / cold
