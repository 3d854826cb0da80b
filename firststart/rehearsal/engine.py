"""The virtual engine: parts, hidden conditions and the changes that work makes, under one door.

It answers observables by word and measures by number, turns when cranked, fires or does not, and is changed by the
facts of the job: a repair takes its condition away, a crank drains the battery and wets the plugs. It knows nothing
of checks, suspects or chances.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import dataclass

from firststart.engine.profile import EngineProfile
from firststart.rehearsal.body import Body, body_of
from firststart.rehearsal.conditions import Condition, Conditions
from firststart.rehearsal.doing import doings
from firststart.rehearsal.firing import Answer, answer
from firststart.rehearsal.looks_engine import ENGINE
from firststart.rehearsal.looks_fuel import FUEL
from firststart.rehearsal.looks_spark import SPARK
from firststart.rehearsal.looks_trial import TRIALS
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.readings import READINGS, SCATTER, SETTINGS
from firststart.rehearsal.scenario import Hidden
from firststart.rehearsal.sight import Sight, Word, merged
from firststart.rehearsal.turning import Cranking
from firststart.rehearsal.wear import worn_parts

LOOKS = merged(ENGINE, SPARK, FUEL, TRIALS)
SEVERE = 0.75  # severity of a condition whose scenario names none
CHARGED = ("battery_flat", "battery_flat_coil", "battery_cell")  # repairs that leave a charged battery
REWORKED = frozenset({
    "air.path", "choke", "throttle", "exhaust.look", "intake.boot", "stop.control", "stop.circuit", "oil.level",
    "oil.dip", "fuel.tap", "controls.position", "safety.position", "jets", "float.needle", "fuel.filter", "fuel.hose",
    "carburettor.cold-start", "valve.clearance",
    "points", "flywheel.gap", "fuses", "interlock", "lead.order", "wiring", "decompressor", "diaphragm", "float.bowl",
    "diesel.bleed", "distributor.cap", "lead.ohms", "overflow", "plug.state", "timing",
})  # looks at one part: asked again after work, that work was done


@dataclass(frozen=True)
class Present:
    """A condition that is there."""

    name: str
    cylinder: int | None
    severity: float
    condition: Condition


@dataclass
class VirtualEngine:
    """One engine on the virtual bench."""

    body: Body
    sight: Sight
    present: dict[int, Present]
    repairs: Mapping[str, tuple[str, ...]]
    rng: random.Random
    wide_open: bool = False  # the throttle is held open for the next crank

    @classmethod
    def of(
        cls, truth: EngineProfile, hidden: tuple[Hidden, ...], conditions: Conditions,
        repairs: Mapping[str, tuple[str, ...]], seed: int, prepared: bool = False,
    ) -> VirtualEngine:  # fmt: skip
        """The engine of a scenario; `repairs` maps what a repair puts right to the conditions it takes away."""
        rng = random.Random(f"engine {seed}")
        body = body_of(truth)
        present = {
            n: Present(h.condition, h.cylinder if h.cylinder or not conditions[h.condition].each else 1,
                       SEVERE if h.severity is None else h.severity, conditions[h.condition])
            for n, h in enumerate(hidden)
        }  # fmt: skip
        parts = Parts(worn_parts(body, rng, prepared))
        parts.layers = {n: (p.condition.values(p.severity), p.cylinder) for n, p in present.items()}
        return cls(body, Sight(parts, body, rng, tilt=rng.gauss(1, 0.01)), present, repairs, rng)

    @property
    def parts(self) -> Parts:
        """The state of its parts."""
        return self.sight.parts

    # what it shows ---------------------------------------------------------------------------------------

    def look(self, name: str, cylinder: int | None) -> Word:
        """The words, best first, that fit what is seen; None when nothing out of the ordinary is."""
        look = LOOKS.get(name)
        return look(self.sight, cylinder) if look else None

    def read(self, name: str, kind: str, cylinder: int | None) -> float | None:
        """What the instrument shows, SI, with scatter but not yet rounded; None when it cannot be modelled."""
        reading = READINGS.get(name)
        value = reading(self.sight, cylinder) if reading else None
        return None if value is None else value * self.sight.noise(SCATTER.get(kind, 0.01))

    def read_exactly(self, name: str, cylinder: int | None) -> float | None:
        """The true value behind `read`."""
        reading = READINGS.get(name)
        return reading(self.sight, cylinder) if reading else None

    # what work does to it ---------------------------------------------------------------------------------

    def turn(self, seconds: float) -> Cranking:
        """Crank for `seconds` without any try to fire: the battery is drained, fuel is drawn in."""
        turning = self.sight.turning()
        self._drain(turning.amps * seconds)
        self.sight.soaked += seconds if turning.turns else 0.0
        if self.wide_open and turning.turns and seconds >= 3:
            self._take("flooded", 0.7)
            self.sight.soaked = 0.0
        self.wide_open = False
        return turning

    def told(self, text: str) -> None:
        """The person does as `text` says; what that alone changes is changed."""
        for doing in doings(text):
            for name in doing.takes:
                self._take(name, doing.chance)
            if doing.effect == "wide-open":
                self.wide_open = True
            elif doing.effect == "dry-plugs":
                self.sight.soaked = 0.0
            elif doing.effect == "drained":
                self.parts.worn["tank.level"] = 0.0
            elif doing.effect == "fresh-fuel":
                self._pour_fresh()
            elif doing.effect == "charge":
                self.parts.worn["battery.charge"] = 0.97
                self._take("battery-flat", 0.85)

    def _pour_fresh(self) -> None:
        """Fresh fuel: what was left in the tank spoils it in its share."""
        worn = self.parts.worn
        old = worn["tank.level"]
        worn["fuel.days"] = 4.0 + worn["fuel.days"] * old / (old + 0.2)
        worn["tank.level"] = min(1.0, old + 0.2)

    def adjust(self, name: str, cylinder: int | None, si: float) -> None:
        """Something that can be set was set to `si`."""
        sound = SETTINGS.get(name)
        if sound is not None:
            part, nominal = sound
            self.parts.adjusted[(part, cylinder)] = si / nominal(self.body)

    def _take(self, name: str, chance: float) -> tuple[Present, ...]:
        return self._remove([n for n, p in self.present.items() if p.name == name and self.rng.random() < chance])

    def try_to_start(self) -> tuple[Cranking, Answer]:
        """A try: what the starter does and how the engine answers. The caller cranks, and tells how long by `turn`."""
        turning, heard = answer(self.parts, self.body, self.rng)
        self.sight.last_try = heard
        if heard.runs:
            self.sight.soaked = 0.0
        return turning, heard

    def _drain(self, coulomb: float) -> None:
        if self.body.system == "none" or coulomb <= 0:
            return
        hours = 3600 * max(self.body.cca / 7, 5)  # ampere hours of a starter battery by its cold cranking current
        worn = self.parts.worn
        worn["battery.charge"] = max(0.0, self.parts("battery.charge") - coulomb / hours)

    def mend(self, repair: str) -> tuple[Present, ...]:
        """A repair was done: every condition it puts right goes, as often as such a repair works. Those that went."""
        wanted = self.repairs.get(repair, ())
        if repair in CHARGED:
            self.parts.worn["battery.charge"] = 0.96
        gone = [n for n, p in self.present.items() if p.name in wanted and self.rng.random() < p.condition.mends]
        return self._remove(gone)

    def rework(self, name: str, cylinder: int | None) -> tuple[Present, ...]:
        """Work was done at what `name` shows, before it is looked at again: whatever it shows is put right."""
        if name not in REWORKED:
            return ()
        shown = [n for n in self.present if self._shows(name, cylinder, n)]
        return self._remove([n for n in shown if self.rng.random() < self.present[n].condition.mends])

    def _shows(self, name: str, cylinder: int | None, index: int) -> bool:
        """Would the look change if this condition were not there?"""
        state = self.rng.getstate()
        now = self.look(name, cylinder)
        layer = self.parts.layers.pop(index)
        without = self.look(name, cylinder)
        self.parts.layers[index] = layer
        self.rng.setstate(state)
        return now != without

    def _remove(self, indices: list[int]) -> tuple[Present, ...]:
        gone = tuple(self.present.pop(n) for n in indices)
        for n in indices:
            self.parts.layers.pop(n)
        if any("flood" in p.condition.sets or "plug.shunt" in p.condition.sets for p in gone):
            self.sight.soaked = 0.0
        return gone

    def needed(self) -> frozenset[str]:
        """The repairs that would put right something that is there."""
        return self.repairs_of({p.name for p in self.present.values()})

    def repairs_of(self, conditions: set[str]) -> frozenset[str]:
        """The repairs that put right one of these conditions."""
        return frozenset(repair for repair, names in self.repairs.items() if conditions & set(names))

    def left(self) -> tuple[Present, ...]:
        """The conditions that are still there."""
        return tuple(self.present.values())
