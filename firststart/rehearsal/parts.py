"""The parts of a virtual engine whose state can differ from sound, with the value each has when sound.

A value is a number: a share (1 is whole), a resistance in ohm, a leak in mm2 (of a cylinder of 250 ml; larger
cylinders leak in proportion to their bore's area), an angle in degrees, or 1 for "it is so" and 0 for "it is not".
All figures are invented, of the size the trade knows (common practice, no source); what follows from them is
computed by the calculators of `physics`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

PARTS: dict[str, float] = {
    # battery and supply
    "battery.charge": 0.92,  # share, when it is connected
    "battery.dead-cells": 0,
    "battery.health": 1,  # share of the cold cranking current it still has
    "terminals.ohm": 0.0004,
    "earth.ohm": 0.0004,
    "main-fuse.open": 0,
    "key.ohm": 0.03,
    "ignition-fuse.open": 0,
    "feed.ohm": 0.05,
    # starter
    "relay.ohm": 0.0005,
    "motor.drag": 1,  # torque asked of the starter by its own friction, 1 when sound
    "motor.ohm": 1,  # its resistance, 1 when sound
    "drive.slips": 0,
    "interlock.open": 0,
    "button.open": 0,
    "recoil.slips": 0,
    # the engine itself
    "engine.stuck": 0,
    "cylinder.liquid": 0,  # share of the clearance volume
    "oil.thickness": 1,  # times the viscosity of the right grade
    # compression
    "rings.mm2": 0.14,
    "intake.mm2": 0.02,
    "exhaust.mm2": 0.03,
    "gasket.mm2": 0.0,
    "decompressor.mm2": 0.0,
    "valve.stuck": 0,
    "valve.clearance": 1,  # share of the maker's figure
    "cam.degrees": 0,
    "case.leak": 0,  # two-stroke crankcase, share of the filling lost
    "reed.gap": 0,  # share of the filling blown back
    # stop and safety controls
    "stop.set": 0,
    "stop-switch.earthed": 0,
    "stop-wire.earthed": 0,
    "safety.open": 0,
    "oil.low": 0,
    "immobiliser.on": 0,
    "tip.open": 0,
    # low tension
    "points.ohm": 0.03,
    "points.gap": 1,  # share of the maker's figure
    "condenser.leak": 0,  # share of the break's sharpness lost
    "primary.open": 0,
    "ballast.open": 0,
    "pickup.dead": 0,
    "source.dead": 0,
    "box.dead": 0,
    "ecu.dead": 0,
    "flywheel.gap": 1,  # times the right air gap
    # high tension
    "own-coil.open": 0,  # the primary of a coil that serves one cylinder alone
    "secondary.leak": 0,  # share of the voltage lost inside the coil
    "distributor.tracks": 0,
    "leads.crossed": 0,
    "cap.open": 0,
    "lead.leak": 0,
    "plug.shunt": 1e8,  # ohm across its insulator
    "plug.gap": 1,  # times the right gap
    "plug.cracked": 0,
    # timing
    "rotor.degrees": 0,  # turned on its shaft
    "setting.degrees": 0,
    # fuel supply: what each lets through, as a share
    "tank.level": 0.6,
    "tap.shut": 0,
    "tap.share": 1,
    "vent.share": 1,
    "fuel.days": 3,  # age of the fuel in the tank
    "fuel.water": 0,  # share of the bowl
    "filter.share": 1,
    "hose.share": 1,
    "pump.share": 1,
    "rail-pump.share": 1,
    "pump-relay.open": 0,
    "bulb.share": 1,
    # mixture
    "float.shut": 0,
    "float.leak": 0,
    "pilot.share": 1,
    "choke-circuit.share": 1,
    "flood": 0,
    "choke.open": 0,
    "choke.shut": 0,
    "diaphragm.share": 1,
    "injector.share": 1,
    "rail.share": 1,
    "sensor.off": 0,  # kelvin read too hot
    # air and exhaust
    "air.share": 1,
    "boot.leak": 0,  # share of the air that comes in behind the carburettor
    "throttle.stuck": 0,
    "exhaust.share": 1,
    # diesel
    "stop-lever.stop": 0,
    "line.air": 0,
    "lift.share": 1,
    "fuel.slime": 0,
    "fuel.wax": 0,
    "rack.stuck": 0,
    "injector.drip": 0,
    "glow.dead": 0,
    "glow-supply.open": 0,
    "pump.degrees": 0,
}

EACH_CYLINDER = frozenset({
    "cylinder.liquid", "rings.mm2", "intake.mm2", "exhaust.mm2", "gasket.mm2", "valve.stuck", "valve.clearance",
    "cap.open", "lead.leak", "own-coil.open", "plug.shunt", "plug.gap", "plug.cracked", "injector.drip", "glow.dead",
})  # fmt: skip


@dataclass
class Parts:
    """The present state: sound values, with what hidden conditions and wear have made of them.

    `worn` are values that age alone has given (they never mend); `layers` are the conditions still there.
    """

    worn: dict[str, float] = field(default_factory=dict)
    layers: dict[int, tuple[Mapping[str, float], int | None]] = field(default_factory=dict)
    adjusted: dict[tuple[str, int | None], float] = field(default_factory=dict)  # set by hand: beats all else

    def __call__(self, part: str, cylinder: int | None = None) -> float:
        """The value of a part (of a cylinder): the one farthest from sound among all that set it."""
        if (part, cylinder) in self.adjusted:
            return self.adjusted[(part, cylinder)]
        sound = PARTS[part]
        value = self.worn.get(part, sound)
        for values, where in self.layers.values():
            if part in values and (where is None or cylinder is None or where == cylinder):
                given = values[part]
                if abs(given - sound) >= abs(value - sound):
                    value = given
        return value

    def with_good(self, parts: Iterable[str], cylinders: Iterable[int]) -> Parts:
        """The same engine with known good parts in the place of some, as for a trial."""
        where = (None, *cylinders)
        good = {(part, c): PARTS[part] for part in parts for c in where}
        return Parts(self.worn, self.layers, {**self.adjusted, **good})

    def so(self, part: str, cylinder: int | None = None) -> bool:
        """Is it so: is a yes-or-no part at yes (more than half)?"""
        return self(part, cylinder) > 0.5

    def share(self, *parts: str) -> float:
        """The product of several shares."""
        product = 1.0
        for part in parts:
            product *= max(self(part), 0.0)
        return product

    def most(self, part: str, cylinders: Iterable[int]) -> float:
        """The value farthest from sound over the cylinders."""
        sound = PARTS[part]
        return max((self(part, c) for c in cylinders), key=lambda v: abs(v - sound))
