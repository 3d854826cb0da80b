"""What an instrument shows: one function a reading, from the parts to an SI value before noise and rounding."""

from __future__ import annotations

import math
from collections.abc import Callable

from firststart.physics.crankgeometry import piston_drop
from firststart.physics.windingheat import resistance_at
from firststart.rehearsal.body import Body
from firststart.rehearsal.fuelling import flow, rail
from firststart.rehearsal.sight import Read, Sight
from firststart.rehearsal.sparking import coil_volts
from firststart.rehearsal.turning import advance, compression, inner_ohm, leak_down, leaks, rest_volts

SCATTER: dict[str, float] = {  # share, one standard deviation of a careful reading (common practice, no source)
    "pressure": 0.015, "voltage": 0.003, "resistance": 0.01, "length": 0.02, "current": 0.03, "volume": 0.02,
    "flow": 0.05, "speed": 0.02, "angle": 0.03, "time": 0.01, "temperature": 0.001, "percent": 0.04,
    "relative density": 0.001, "capacitance": 0.02,
}  # fmt: skip
LEAK_SUPPLY = 552e3  # Pa, 80 psi (AC 43.13-1B page 8-15)
MAKERS_DEGREES = 10.0  # of advance, as an invented maker has it
DISC_OFF, STOP_DEGREES = 7.0, 35.0  # invented: how a disc was fixed, and where the stop met the piston
SECONDARY_OHM = 8.5e3  # high-tension winding of a sound coil (common practice, no source)
_ACID = 0.845  # V a cell above the relative density (rule of thumb, from memory)


def _nominal(value: float) -> Callable[[Body], float]:
    return lambda _body: value


def _points_gap(body: Body) -> float:
    """The maker's gap of the points: six cams leave less room between two sparks than fewer do."""
    return 0.25e-3 if body.cylinders >= 6 else 0.40e-3


SETTINGS: dict[str, tuple[str, Callable[[Body], float]]] = {  # reading -> the part it sets, and its sound value
    "plug.gap": ("plug.gap", lambda body: body.plug_gap),
    "points.gap": ("points.gap", _points_gap),
    "valve.exhaust": ("valve.clearance", _nominal(0.15e-3)),
}


def _compression(s: Sight, c: int | None) -> float:
    return compression(s.parts, s.body, c or 1, s.turning().rps)


def _wet(s: Sight, c: int | None) -> float:
    return compression(s.parts, s.body, c or 1, s.turning().rps, wet_ml=s.wet_ml or _wet_dose(s))


def _wet_dose(s: Sight) -> float:
    """Oil of a wet test in ml: a hundredth of the cylinder, as the trade measures it out."""
    return s.body.swept * 1e6 * 0.012


def _first_puff(s: Sight, c: int | None) -> float:
    """The jump at the first stroke: leaking rings climb after it, a leaking valve does not (common practice)."""
    found = leaks(s.parts, s.body, c or 1)
    rings = found["breather"] > sum(found.values()) / 2
    return _compression(s, c) * (0.5 if rings else 0.9)


def _poured(s: Sight, _c: int | None) -> float:
    return (s.wet_ml or _wet_dose(s)) * 1e-6


def _lost(s: Sight, c: int | None) -> float:
    return 1 - leak_down(s.parts, s.body, c or 1) / LEAK_SUPPLY


def _piston(s: Sight, _c: int | None) -> float:
    """The piston below its top when it sparks: the maker's angle and what the setting is out by."""
    angle = math.radians(max(0.0, MAKERS_DEGREES + advance(s.parts)))
    return piston_drop(angle, s.body.stroke, s.body.rod)


def _stop(side: int) -> Read:
    """The disc where a stop met the piston, its zero a few degrees off the top."""
    return lambda _s, _c: math.radians((DISC_OFF + side * STOP_DEGREES) % 360)


def _sag(s: Sight, _c: int | None) -> float:
    turning = s.turning()
    return turning.posts if turning.posts > 0 else rest_volts(s.parts, s.body)


def _under_load(s: Sight, _c: int | None) -> float:
    """After fifteen seconds at half the cold cranking current: what the inner resistance leaves."""
    return max(0.0, rest_volts(s.parts, s.body) - s.body.cca / 2 * inner_ohm(s.parts, s.body))


def _dwell(s: Sight, _c: int | None) -> float:
    return math.radians(60 if s.body.cylinders < 4 else 50) * (2 - s.parts("points.gap"))


def _drop(part: str) -> Read:
    return lambda s, _: s.turning().amps * s.parts(part)


def _feed_drop(s: Sight, _c: int | None) -> float:
    """From the live post to the starter's terminal: its clamp, half of both, and the starter's switch."""
    return s.turning().amps * (s.parts("terminals.ohm") / 2 + s.parts("relay.ohm"))


def _points_drop(s: Sight, _c: int | None) -> float:
    volts = coil_volts(s.parts, s.body, s.turning())
    return volts * s.parts("points.ohm") / (s.parts("points.ohm") + s.body.volts / 4)


def sound_primary(body: Body) -> float:
    """The low-tension winding of a sound coil at 20 degC, ohm (common practice, no source)."""
    return {"magneto": 1.0, "cdi": 0.4, "ecu": 0.7}.get(body.ignition, 0.25 * max(body.volts, 6))


def _primary(s: Sight, _c: int | None) -> float:
    broken = s.parts.so("primary.open") or s.parts.so("own-coil.open", s.coil)
    return 2e6 if broken else resistance_at(sound_primary(s.body), s.body.air)


def _secondary(s: Sight, _c: int | None) -> float:
    shorted = 1 - 0.6 * s.parts("secondary.leak") if s.parts("secondary.leak") > 0.9 else 1.0
    return resistance_at(SECONDARY_OHM * shorted, s.body.air)


def _cap(s: Sight, c: int | None) -> float:
    return 2e6 if s.any("cap.open", c, 0.5) else 5e3


def _lead(s: Sight, c: int | None) -> float:
    """Cap and a lead of a quarter of a metre together."""
    return _cap(s, c) + 2.5e3


def _pickup(s: Sight, _c: int | None) -> float:
    return 2e6 if s.parts.so("pickup.dead") else resistance_at(220.0, s.body.air)


def _valve(kind: str) -> Read:
    usual = {"inlet": 0.10e-3, "exhaust": 0.15e-3}[kind]

    def read(s: Sight, c: int | None) -> float:
        if s.any("valve.stuck", c, 0.5):
            return 1.5e-3 if kind == "inlet" else usual
        return usual * (s.parts("valve.clearance", c) if kind == "exhaust" else 1.0)

    return read


def _density(s: Sight, _c: int | None) -> float:
    return rest_volts(s.parts, s.body) / max(s.body.volts / 2, 1) - _ACID


READINGS: dict[str, Read] = {
    "compression.dry": _compression,
    "compression.wet": _wet,
    "compression.first": _first_puff,
    "wet-oil": _poured,
    "leak-down.percent": _lost,
    "leak-down": lambda s, c: leak_down(s.parts, s.body, c or 1),
    "battery.rest": lambda s, _: rest_volts(s.parts, s.body),
    "battery.density": _density,
    "battery.density-best": _density,
    "battery.sag": _sag,
    "cranking-speed": lambda s, _: s.turning().rps,
    "starter-current": lambda s, _: s.turning().amps,
    "battery.load": _under_load,
    "drop.terminals": _drop("terminals.ohm"),
    "drop.earth": _drop("earth.ohm"),
    "drop.feed": _feed_drop,
    "coil.feed-voltage": lambda s, _: coil_volts(s.parts, s.body, s.turning()),
    "points.gap": lambda s, _: _points_gap(s.body) * s.parts("points.gap"),
    "points.drop": _points_drop,
    "condenser.capacitance": lambda s, _: 0.25e-6 * (1 - s.parts("condenser.leak")),
    "coil-primary": _primary,
    "coil-secondary": _secondary,
    "manual.coil-primary": lambda s, _: sound_primary(s.body),
    "manual.coil-secondary": lambda _s, _c: SECONDARY_OHM,
    "lead.ohms": _lead,
    "cap.ohms": _cap,
    "pickup.resistance": _pickup,
    "plug.gap": lambda s, c: s.body.plug_gap * s.parts("plug.gap", c),
    "valve.inlet": _valve("inlet"),
    "valve.exhaust": _valve("exhaust"),
    "timing.piston": _piston,
    "manual.timing-piston": lambda s, _: piston_drop(math.radians(MAKERS_DEGREES), s.body.stroke, s.body.rod),
    "stop.first": _stop(-1),
    "stop.second": _stop(1),
    "hot-coil": lambda s, _: resistance_at(sound_primary(s.body), s.body.air + 40),
    "timing": lambda s, _: math.radians(abs(advance(s.parts))),
    "fuel.flow": lambda s, _: flow(s.parts, s.body) or 0.0,
    "rail.pressure": lambda s, _: 3.0e5 * rail(s.parts),
    "fuel.age": lambda s, _: s.body.years * 3.156e7,
    "pump.pressure": lambda s, _: 2.5e4 * s.parts("pump.share"),
    "crankcase.start-temperature": lambda s, _: s.body.air,
    "crankcase.end-temperature": lambda s, _: s.body.air,
    "crankcase.start": lambda _s, _c: 6.0e4,
    "crankcase.end": lambda s, _: 6.0e4 * (0.97 - 0.9 * min(1.0, s.parts("case.leak"))),
    "idle.speed": lambda _s, _c: 20.0,
    "idle.dwell": _dwell,
    "run.oil-pressure": lambda _s, _c: 2.0e5,
    "run.voltage": lambda s, _: rest_volts(s.parts, s.body) * 1.12,
}
