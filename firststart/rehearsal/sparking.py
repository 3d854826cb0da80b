"""The spark: from the current in the coil to the voltage at a test gap and at the plug under compression.

Battery coils store energy L I^2 / 2; magnetos and source coils give a voltage that grows with the speed; a capacitor
box fires whatever its source coil has charged it to. Sizes of coils are typical (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firststart.physics.coil import coil_current, coil_energy
from firststart.physics.ignition import uniform_field
from firststart.rehearsal.body import Body
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.turning import Cranking, rest_volts

TEST_GAP = 6e-3  # m
SECONDARY = 1.0e-10  # F, coil, lead and plug together (common practice, no source)
SOURCE_OHM = 2e5  # ohm, what a magneto or coil looks like to a fouled plug (common practice, no source)
_POINT_FACTOR = 0.62  # sharp points need less than a uniform field (common practice, no source)
_COILS = {"6": (1.5, 4e-3), "12": (3.0, 8e-3), "24": (6.0, 16e-3)}  # ohm, H (common practice, no source)


@dataclass(frozen=True)
class Spark:
    """One cylinder's spark: volts that its coil can give at the plug cap, and what the plug itself needs."""

    available: float
    at_plug: float
    needed: float

    @property
    def strength(self) -> float:
        """Volts available over those that the test gap needs."""
        return self.available / test_need()

    @property
    def fires(self) -> float:
        """Volts at the plug over those it needs under compression."""
        return self.at_plug / max(self.needed, 1.0)


def test_need() -> float:
    """Volts that jump the test gap in open air."""
    return uniform_field(101325.0, 293.15, TEST_GAP) * _POINT_FACTOR


def killed(parts: Parts, unplugged: bool = False) -> bool:
    """Is the ignition held off by a stop or safety control? `unplugged`: the stop wire is off at the ignition."""
    own = parts.so("immobiliser.on") or parts.so("tip.open")
    wire = any(parts.so(p) for p in ("stop.set", "stop-switch.earthed", "stop-wire.earthed", "safety.open", "oil.low"))
    return own or (wire and not unplugged)


def coil_volts(parts: Parts, body: Body, turning: Cranking) -> float:
    """Voltage at the coil's feed with the points closed, while cranking (or at rest when it does not turn)."""
    source = turning.posts if turning.posts > 0 else rest_volts(parts, body)
    if any(parts.so(p) for p in ("main-fuse.open", "ignition-fuse.open", "ballast.open", "tip.open", "stop.set")):
        return 0.0
    if body.ignition == "ecu" and parts.so("ecu.dead"):
        return 0.0
    resistance, _ = _COILS[body.system if body.system != "none" else "12"]
    outside = parts("key.ohm") + parts("feed.ohm") + parts("terminals.ohm") + parts("earth.ohm")
    return source * resistance / (resistance + outside)


def primary_energy(parts: Parts, body: Body, turning: Cranking, unplugged: bool = False) -> float:
    """Energy in J that one spark starts with; 0 when something cuts it."""
    dead = ("primary.open", "box.dead", "pickup.dead", "source.dead")
    if not turning.turns or killed(parts, unplugged) or any(parts.so(p) for p in dead):
        return 0.0
    if own_current(body):
        return _by_magnet(parts, body, turning)
    return _by_battery(parts, body, turning)


def own_current(body: Body) -> bool:
    """Does the ignition make its own current, needing no battery?"""
    return body.ignition in ("magneto", "cdi") or body.system == "none"


def _by_battery(parts: Parts, body: Body, turning: Cranking) -> float:
    volts = coil_volts(parts, body, turning)
    if volts <= 0.2 or (body.ignition == "ecu" and parts.so("ecu.dead")):
        return 0.0
    resistance, inductance = _COILS[body.system if body.system != "none" else "12"]
    if body.ignition == "ecu":
        resistance, inductance = resistance * 0.3, inductance * 0.4
    if body.ignition == "points":
        resistance += parts("points.ohm")
    dwell = min(0.4 / max(turning.rps, 0.5), 0.1) if body.ignition != "ecu" else 0.006
    current = min(coil_current(min(volts, 40.0), resistance, inductance, dwell), 7.0)
    return coil_energy(inductance, current) * _breaking(parts, body)


def _by_magnet(parts: Parts, body: Body, turning: Cranking) -> float:
    """Induced voltage grows with speed and falls with the air gap; energy with its square."""
    flux = 1.0 / max(parts("flywheel.gap"), 0.3)
    share = min(1.3, turning.rps / body.rps * flux)
    most = 30e-3 if body.ignition == "cdi" else 45e-3
    resistance = parts("points.ohm") if body.ignition == "magneto" else 0.0
    return most * share**2 * _breaking(parts, body) / (1 + resistance) ** 2


def _breaking(parts: Parts, body: Body) -> float:
    """How cleanly the current is broken: 1 with a good break."""
    if body.ignition not in ("points", "magneto"):
        return 1.0
    gap = min(1.0, max(0.0, parts("points.gap")) ** 2)
    return gap * (1 - parts("condenser.leak")) ** 2


def spark(parts: Parts, body: Body, cylinder: int, turning: Cranking, gauge: float, unplugged: bool = False) -> Spark:
    """The spark of one cylinder at cranking, with `gauge` Pa of compression in it."""
    energy = primary_energy(parts, body, turning, unplugged)
    volts = 0.9 * math.sqrt(2 * energy / SECONDARY) * (1 - parts("secondary.leak"))
    volts *= (1 - 0.85 * parts("distributor.tracks")) * (1 - 0.8 * parts("lead.leak", cylinder))
    needed = plug_need(parts, body, cylinder, gauge)
    if parts.so("cap.open", cylinder):
        volts *= 0.3
    if parts.so("own-coil.open", cylinder):
        volts = 0.0
    shunt = parts("plug.shunt", cylinder)
    at_plug = volts * shunt / (shunt + SOURCE_OHM)
    if parts.so("plug.cracked", cylinder):
        at_plug = min(at_plug, 4e3)
    return Spark(volts, at_plug, needed)


def plug_need(parts: Parts, body: Body, cylinder: int, gauge: float) -> float:
    """Volts that a plug's gap needs near the top of compression: the gas is hot, dense and between sharp points."""
    absolute = 0.75 * gauge + body.ambient  # the spark comes before the top
    kelvin = body.air * (absolute / body.ambient) ** (0.27 / 1.27)
    gap = min(body.plug_gap * parts("plug.gap", cylinder), 8e-3)
    return uniform_field(absolute, kelvin, max(gap, 5e-5)) * _POINT_FACTOR


def word(strength: float) -> str:
    """How the spark at the test gap looks: strong, weak or none."""
    if strength >= 1.25:
        return "strong"
    return "weak" if strength >= 0.75 else "none"
