"""How the engine turns: battery, cables, starter and load, as one circuit; compression and leak-down per cylinder.

A starter is taken as a motor of constant flux: its current is the torque asked of it, its speed the voltage left
over. Its size is chosen so that a sound engine of this body turns at `body.rps` (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firststart.physics.battery import VOLTAGE_12, interpolate, scaled
from firststart.physics.compression import cranking_gauge, oil_factor
from firststart.physics.leakdown import reading
from firststart.physics.oil import dynamic, from_index
from firststart.rehearsal.body import Body
from firststart.rehearsal.parts import Parts

STALL = 4.0  # stall current over running current of a starter (common practice, no source)
RELAY_NEEDS = 0.55  # share of the nominal voltage that still pulls a relay in (common practice, no source)
SUPPLY = 552e3  # Pa, 80 psi gauge, leak-down supply
RESTRICTOR = math.pi / 4 * 1.016e-3**2  # m2, 0.040 in
KICKS = 40.0  # degrees too early from which an engine kicks back at cranking speed (common practice, no source)
_OIL = from_index(11e-6, 100)  # a fresh 30 grade: 11 mm2/s at 100 degC (SAE J300 band 9.3 to 12.5, from memory)
_EXPONENT = 1.27  # polytropic exponent of cranking, inside 1.30 +- 0.05 (Heywood, from memory)
_OUTFLOW = 0.8 * 0.685  # discharge coefficient by the choked flow function of air (standard gas dynamics)
_HOT_K = 550.0  # gas near top dead centre while cranking
_NEAR_TOP = 50 / 360  # share of a turn in which the pressure is near its peak


@dataclass(frozen=True)
class Cranking:
    """What happens when the starter is asked. `word` is what the person sees and hears; `rps` crank turns a second."""

    word: str
    rps: float = 0.0
    amps: float = 0.0
    posts: float = 0.0  # volts at the battery's posts

    @property
    def turns(self) -> bool:
        """Does the crankshaft turn?"""
        return self.rps > 0.4


def rest_volts(parts: Parts, body: Body) -> float:
    """The battery's open-circuit voltage."""
    if body.system == "none":
        return 0.0
    whole = scaled(interpolate(VOLTAGE_12, parts("battery.charge")), body.system)
    if parts("battery.charge") < 0.0:
        whole = 0.0
    cells = body.volts / 2
    return whole * (cells - parts("battery.dead-cells")) / cells


def inner_ohm(parts: Parts, body: Body) -> float:
    """The battery's inner resistance: from the cold cranking rating (7.2 V held at -18 degC), less in the warm."""
    rated = body.volts / 12 * (12.6 - 7.2) / body.cca
    cold = min(max((body.air - 255.15) / 40, 0.0), 1.0)
    charge = max(parts("battery.charge"), 0.03)
    worn = max(parts("battery.health"), 0.05)
    dead = 1 + 1.5 * parts("battery.dead-cells")
    return float(rated * (1 - 0.55 * cold) / (worn * min(1.0, (charge / 0.7) ** 0.8)) * dead)


def crank(parts: Parts, body: Body) -> Cranking:
    """What the starter does when it is asked now."""
    stuck = parts.so("engine.stuck") or parts.most("cylinder.liquid", body.numbers) > 0.8
    if body.starting != "electric":
        return _by_hand(parts, body, stuck)
    if _no_signal(parts):
        return Cranking("nothing", posts=rest_volts(parts, body))
    return _by_motor(parts, body, stuck)


def _by_hand(parts: Parts, body: Body, stuck: bool) -> Cranking:
    if parts.so("recoil.slips"):
        return Cranking("whirrs")
    if stuck:
        return Cranking("stops dead")
    drag = load(parts, body)
    speed = body.rps / max(drag, 0.3) ** 0.5
    return Cranking(_turning_word(parts, body, speed), speed)


def _no_signal(parts: Parts) -> bool:
    """The relay's small wire stays dead."""
    opened = ("main-fuse.open", "interlock.open", "button.open", "immobiliser.on")
    return any(parts.so(p) for p in opened[:3]) or parts("key.ohm") > 5 or parts("earth.ohm") > 5


def _by_motor(parts: Parts, body: Body, stuck: bool) -> Cranking:
    open_volts, inner = rest_volts(parts, body), inner_ohm(parts, body)
    run = running_amps(body)
    motor = (body.volts / (STALL * run)) * 0.75 * parts("motor.ohm")
    outside = inner + parts("terminals.ohm") + parts("earth.ohm") + parts("relay.ohm")
    if open_volts < RELAY_NEEDS * body.volts:
        return Cranking("nothing", posts=open_volts)
    slips = parts.so("drive.slips")
    wanted = run * (0.35 if slips else load(parts, body) * parts("motor.drag"))
    stall = open_volts / (outside + motor)
    sound = body.volts * 1.05 - run * (body.volts / (STALL * run))
    left = open_volts - wanted * (outside + motor)
    share = left / sound
    if (stuck and not slips) or share < 0.12:
        return _stalled(parts, body, open_volts, inner, stall, stuck)
    speed = body.rps * min(share, 1.4)
    word = "whirrs" if slips else _turning_word(parts, body, speed)
    return Cranking(word, 0.0 if slips else speed, wanted, open_volts - wanted * inner)


def _stalled(parts: Parts, body: Body, volts: float, inner: float, stall: float, stuck: bool) -> Cranking:
    """The motor cannot turn it: it stops dead against a stuck engine, else the relay clicks or drops out."""
    posts = volts - stall * inner
    at_relay = posts - stall * (parts("terminals.ohm") + parts("earth.ohm"))
    if parts("relay.ohm") > 1 or parts("motor.ohm") > 50:
        return Cranking("click", 0.0, 5.0, volts)
    if at_relay < RELAY_NEEDS * body.volts:
        return Cranking("click" if volts > 0.85 * body.volts else "nothing", 0.0, stall * 0.5, posts)
    return Cranking("stops dead" if stuck else "click", 0.0, stall, posts)


def _turning_word(parts: Parts, body: Body, speed: float) -> str:
    """How the turning sounds: slow, free of compression, kicking back, or normal."""
    share = speed / body.rps
    gauges = [compression(parts, body, c, speed) for c in body.numbers]
    if share < 0.62:
        return "slow"
    if advance(parts) > KICKS:
        return "kicks back"
    if sum(gauges) / len(gauges) < 0.3 * sound_gauge(body):
        return "free"
    return "normal"


def advance(parts: Parts) -> float:
    """How many degrees too early the spark comes (below zero: too late)."""
    return parts("rotor.degrees") + parts("setting.degrees")


def running_amps(body: Body) -> float:
    """Current of a sound starter on this engine, A. Common practice, no source."""
    litres = body.swept * body.cylinders * 1000
    return (50 + (70 if body.petrol else 130) * litres) * 12 / max(body.volts, 6)


def viscosity_ratio(body: Body) -> float:
    """How much thicker the oil is than at 20 degC."""
    return dynamic(_OIL, max(body.air, 233.15)) / dynamic(_OIL, 293.15)


def load(parts: Parts, body: Body) -> float:
    """Torque to turn the engine over that of a sound one at 20 degC: half oil drag, half compression and bearings."""
    drag = (viscosity_ratio(body) * parts("oil.thickness")) ** 0.4 if body.cycle == "four-stroke" else 1.0
    gauges = [compression(parts, body, c, body.rps) for c in body.numbers]
    pump = sum(gauges) / len(gauges) / max(sound_gauge(body), 1.0)
    return 0.5 * drag + 0.25 + 0.25 * pump


def sound_gauge(body: Body) -> float:
    """What a tight engine of this body would show on a compression gauge here, Pa."""
    return cranking_gauge(body.ambient, body.effective, _EXPONENT)


def leaks(parts: Parts, body: Body, cylinder: int, wet: bool = False) -> dict[str, float]:
    """Leak areas of one cylinder by where the air goes, m2. Oil on the rings closes two thirds of theirs."""
    size = (body.swept / 250e-6) ** (2 / 3) * 1e-6
    rings = parts("rings.mm2", cylinder) * (0.35 if wet else 1.0)
    found = {
        "breather": rings, "intake": parts("intake.mm2", cylinder), "gasket": parts("gasket.mm2", cylinder),
        "exhaust": parts("exhaust.mm2", cylinder) + parts("decompressor.mm2"),
    }
    return {where: area * size for where, area in found.items()}


def held(parts: Parts, body: Body, cylinder: int, rps: float, wet: bool = False) -> float:
    """Share of the trapped air still there at the top of one stroke: it leaks out, choked, near the top."""
    area = sum(leaks(parts, body, cylinder, wet).values())
    speed = _OUTFLOW * math.sqrt(287.05 * _HOT_K)
    seconds = _NEAR_TOP / max(rps, 0.3)
    return math.exp(-area * speed * seconds / body.clearance)


def compression(parts: Parts, body: Body, cylinder: int, rps: float | None = None, wet_ml: float = 0.0) -> float:
    """Gauge pressure in Pa that builds up in a cylinder; `wet_ml` of oil was put in first."""
    turning = body.rps if rps is None else rps
    if turning < 0.3:
        return 0.0
    wrong = abs(parts("cam.degrees"))
    effective = 1 + (body.effective - 1) * max(0.05, 1 - wrong / 90)
    filled: float = body.ambient * (1 - 0.6 * parts("reed.gap")) * (0.75 + 0.25 * min(1.0, parts("air.share") * 4))
    ideal = filled * effective**_EXPONENT
    gauge = ideal * held(parts, body, cylinder, turning, wet_ml > 0) - body.ambient
    oil = min(wet_ml * 1e-6, 0.3 * body.clearance)
    if oil > 0:
        gauge *= oil_factor(body.swept, body.ratio, oil, _EXPONENT)
    return float(max(0.0, gauge))


def leak_down(parts: Parts, body: Body, cylinder: int) -> float:
    """Cylinder gauge pressure in Pa on a leak-down tester at 80 psi with a 0.040 in restrictor."""
    area = sum(leaks(parts, body, cylinder).values())
    return reading(min(area / RESTRICTOR, 1e4), SUPPLY, body.ambient)


def leak_route(parts: Parts, body: Body, cylinder: int) -> str:
    """Where most of the leaking air comes out."""
    found = leaks(parts, body, cylinder)
    return max(found, key=lambda where: found[where])
