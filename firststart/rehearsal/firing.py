"""Does it fire? Air, fuel, spark, compression and timing of each cylinder, from the parts alone."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from firststart.rehearsal import fuelling
from firststart.rehearsal.body import Body
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.sparking import spark
from firststart.rehearsal.turning import Cranking, advance, compression, crank, held, sound_gauge

WINDOW = 14.0  # degrees of spark timing, either way, in which it still starts (common practice, no source)
STEEP = 30.0  # how sharply the chance of lighting falls below a margin of 1
LIGHTS_K = 730.0  # air at the end of compression that lights diesel (common practice, no source)
GLOW_K = 130.0  # what glow plugs, or the cartridge of an engine without a battery, add (common practice, no source)


@dataclass(frozen=True)
class Answer:
    """How the engine answered a try. `word`: silent, coughs, pops, bangs, dies, runs; `after` seconds of cranking."""

    word: str
    after: float = 0.0

    @property
    def runs(self) -> bool:
        """Does it go on by itself?"""
        return self.word == "runs"


def margins(parts: Parts, body: Body, cylinder: int, turning: Cranking, primed: bool = False) -> dict[str, float]:
    """For each thing a cylinder needs, how far it is met: 1 is just enough."""
    gauge = compression(parts, body, cylinder, turning.rps)
    if not body.petrol:
        return _diesel(parts, body, cylinder, turning)
    phi = fuelling.mixture(parts, body, turning)
    if primed and phi < fuelling.RICH:
        phi = max(phi, 1.2)
    return {
        "air": min(parts("air.share"), 1.0) / 0.1,
        "exhaust": parts("exhaust.share") / 0.12,
        "spark": spark(parts, body, cylinder, turning, gauge).fires,
        "lean": phi / fuelling.LEAN,
        "rich": fuelling.RICH / max(phi, 1e-6),
        "compression": gauge / (0.42 * sound_gauge(body)),
        "timing": WINDOW / max(abs(advance(parts)), 1e-6),
        "valves": 28.0 / max(abs(parts("cam.degrees")), 1e-6),
        "order": 0.0 if parts.so("leads.crossed") and body.cylinders > 1 else 9.0,
    }


def _diesel(parts: Parts, body: Body, cylinder: int, turning: Cranking) -> dict[str, float]:
    glow = 0.0 if parts.so("glow.dead", cylinder) or parts.so("glow-supply.open") else GLOW_K
    kept = held(parts, body, cylinder, turning.rps)
    end = body.air * (body.effective * kept**0.5) ** 0.33 if turning.turns else 0.0
    fuel = fuelling.line_share(parts, body) * (0.0 if parts.so("line.air") or parts.so("rack.stuck") else 1.0)
    fuel *= 0.0 if parts.so("stop-lever.stop") else 1.0
    spray = 1 - 0.75 * parts("injector.drip", cylinder)
    return {
        "air": min(parts("air.share"), 1.0) / 0.15,
        "exhaust": parts("exhaust.share") / 0.15,
        "lean": fuel * spray * (1 - fuelling.water(parts)) / 0.25,
        "compression": (end + glow) / LIGHTS_K,
        "timing": 9.0 / max(abs(parts("pump.degrees")), 1e-6),
        "valves": 28.0 / max(abs(parts("cam.degrees")), 1e-6),
    }


def lights(rng: random.Random, found: dict[str, float]) -> bool:
    """Does a cylinder with these margins light at least now and then? Chance passes one half where a margin is 1."""
    chance = 1.0
    for margin in found.values():
        chance *= 1 / (1 + math.exp(-STEEP * math.log(max(margin, 1e-6)))) if margin < 3 else 1.0
    return rng.random() < chance


def answer(parts: Parts, body: Body, rng: random.Random, primed: bool = False) -> tuple[Cranking, Answer]:
    """What a try to start does now."""
    turning = crank(parts, body)
    if not turning.turns:
        return turning, Answer("silent")
    found = {c: margins(parts, body, c, turning, primed) for c in body.numbers}
    lit = [c for c in body.numbers if lights(rng, found[c])]
    return turning, Answer(_word(parts, body, rng, found, lit, primed), rng.uniform(0.8, 3.5))


def _word(
    parts: Parts, body: Body, rng: random.Random, found: dict[int, dict[str, float]], lit: list[int], primed: bool
) -> str:
    if not lit:
        return _near_miss(parts, body, rng, found)
    if len(lit) * 2 <= body.cylinders and body.cylinders > 1:
        return "coughs" if rng.random() < 0.8 else "pops"
    if primed or not fuelling.sustained(parts, body):
        return "dies"
    return "runs"


def _near_miss(parts: Parts, body: Body, rng: random.Random, found: dict[int, dict[str, float]]) -> str:
    """Nothing runs; what is heard depends on what is missing: a charge that burns at the wrong time, or hardly."""
    worst = {name: max(found[c][name] for c in body.numbers) for name in found[1]}
    missing = {name: margin for name, margin in worst.items() if margin < 1}
    burns = worst.get("lean", 1) > 1 and worst.get("rich", 1) > 1 and worst.get("spark", 1) > 1
    if burns and ({"timing", "order"} & set(missing)):
        return "bangs" if rng.random() < 0.55 else "pops"
    if burns and "valves" in missing:
        return "pops" if rng.random() < 0.6 else "silent"
    if burns and parts.most("intake.mm2", body.numbers) > 3:
        return "pops" if rng.random() < 0.5 else "silent"
    if all(margin > 0.6 for margin in worst.values()) and missing:
        return "coughs" if rng.random() < 0.6 else "silent"
    return "silent"
