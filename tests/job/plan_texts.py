"""The plans of ten invented engines as text that a mechanic can argue with.

`python tests/job/plan_texts.py` writes them anew to `tests/job/plans/*.txt`; the test compares them. Read the
difference before you keep it: the order is the trade's business and not the program's.
"""

from __future__ import annotations

from pathlib import Path

from firststart.bench.desk import open_job
from firststart.bench.shop import make_rules
from firststart.clock import SimulatedClock
from firststart.engine.profile import NUMBERS
from firststart.job import inputs as i
from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.journal.memory import MemoryJournal
from firststart.procedure.catalogue import data_folder, load_library
from firststart.procedure.needs import needs_of
from firststart.units import parse

PLANS = Path(__file__).resolve().parent / "plans"

ENGINES: dict[str, tuple[str, dict[str, str]]] = {  # all invented
    "motorcycle-twin": (
        "A four-stroke motorcycle twin with points, kick and electric start, eight years in a dry shed",
        {"kind": "motorcycle", "fuel": "petrol", "cycle": "four-stroke", "cooling": "air", "starting": "electric",
         "ignition": "points", "feed": "gravity", "battery": "12", "earth": "negative", "lubrication": "wet-sump",
         "gearbox": "neutral", "storage": "dry", "cylinders": "2", "displacement": "500 ml", "years": "8 years"},
    ),
    "motorcycle-two-stroke": (
        "A two-stroke motorcycle single with capacitor discharge, kick start and premix, twelve years in a damp barn",
        {"kind": "motorcycle", "fuel": "petrol", "cycle": "two-stroke", "cooling": "air", "starting": "kick",
         "ignition": "cdi", "feed": "gravity", "battery": "none", "lubrication": "premix", "gearbox": "neutral",
         "storage": "damp", "cylinders": "1", "displacement": "125 ml", "years": "12 years"},
    ),
    "car-positive-earth": (
        "A four-cylinder car engine with six volts and positive earth, thirty years under a roof",
        {"kind": "car", "fuel": "petrol", "cycle": "four-stroke", "cooling": "water", "starting": "electric",
         "ignition": "points", "feed": "pump", "battery": "6", "earth": "positive", "lubrication": "wet-sump",
         "gearbox": "neutral", "storage": "damp", "cylinders": "4", "displacement": "1200 ml", "years": "30 years"},
    ),
    "car-injection": (
        "A V8 car engine with an engine computer and injection, three years in a heated hall",
        {"kind": "car", "fuel": "petrol", "cycle": "four-stroke", "cooling": "water", "starting": "electric",
         "ignition": "ecu", "feed": "injection", "battery": "12", "earth": "negative", "lubrication": "wet-sump",
         "gearbox": "neutral", "storage": "heated", "cylinders": "8", "displacement": "4600 ml", "years": "3 years"},
    ),
    "tractor-diesel": (
        "A three-cylinder diesel tractor, ten years outdoors",
        {"kind": "tractor", "fuel": "diesel", "cycle": "four-stroke", "cooling": "water", "starting": "electric",
         "ignition": "none", "feed": "injection", "battery": "12", "earth": "negative", "lubrication": "wet-sump",
         "gearbox": "neutral", "storage": "outdoors", "cylinders": "3", "displacement": "2500 ml", "years": "10 years"},
    ),
    "tractor-magneto": (
        "A hand-cranked four-cylinder petrol tractor with a magneto, forty years in a barn",
        {"kind": "tractor", "fuel": "petrol", "cycle": "four-stroke", "cooling": "water", "starting": "hand",
         "ignition": "magneto", "feed": "gravity", "battery": "none", "lubrication": "wet-sump",
         "gearbox": "neutral", "storage": "dry", "cylinders": "4", "displacement": "2000 ml", "years": "40 years"},
    ),
    "mower-recoil": (
        "A four-stroke push mower with a magneto and a recoil start, four years in a shed",
        {"kind": "mower", "fuel": "petrol", "cycle": "four-stroke", "cooling": "air", "starting": "recoil",
         "ignition": "magneto", "feed": "gravity", "battery": "none", "lubrication": "wet-sump",
         "gearbox": "none", "storage": "damp", "cylinders": "1", "displacement": "150 ml", "years": "4 years"},
    ),
    "generator-diesel": (
        "A single-cylinder air-cooled diesel generator, five years in a cellar",
        {"kind": "generator", "fuel": "diesel", "cycle": "four-stroke", "cooling": "air", "starting": "electric",
         "ignition": "none", "feed": "injection", "battery": "12", "earth": "negative", "lubrication": "wet-sump",
         "gearbox": "none", "storage": "dry", "cylinders": "1", "displacement": "420 ml", "years": "5 years"},
    ),
    "outboard-two-stroke": (
        "A two-stroke outboard with capacitor discharge and recoil start, six years in a boathouse",
        {"kind": "outboard", "fuel": "petrol", "cycle": "two-stroke", "cooling": "raw-water", "starting": "recoil",
         "ignition": "cdi", "feed": "pump", "battery": "none", "lubrication": "premix",
         "gearbox": "neutral", "storage": "damp", "cylinders": "2", "displacement": "250 ml", "years": "6 years"},
    ),
    "inboard-petrol": (
        "A six-cylinder petrol boat engine with raw-water cooling, nine years in a closed boat",
        {"kind": "inboard", "fuel": "petrol", "cycle": "four-stroke", "cooling": "raw-water", "starting": "electric",
         "ignition": "points", "feed": "pump", "battery": "12", "earth": "negative", "lubrication": "wet-sump",
         "gearbox": "neutral", "storage": "damp", "cylinders": "6", "displacement": "3800 ml", "years": "9 years"},
    ),
}  # fmt: skip


def told(rules: Rules, name: str) -> tuple[Situation, SimulatedClock]:
    """A job on one of the engines, its profile known and nothing done yet."""
    clock = SimulatedClock()
    desk = open_job(rules, MemoryJournal(), clock, i.Open(name, name, "test", "yard"))
    for field, value in ENGINES[name][1].items():
        if field in NUMBERS:
            kind, unit, _, _ = NUMBERS[field]
            desk.submit(i.SetProfile(field, number=parse(value, kind, unit or None, field)))
        else:
            desk.submit(i.SetProfile(field, word=value))
    return desk.situation, clock


def plan_text(rules: Rules, name: str) -> str:
    """The whole plan: stage by stage, each piece of work with its minutes and the hold points it waits for."""
    situation, clock = told(rules, name)
    words, library = rules.words(situation), rules.library
    items = plan(library, situation, words, situation.effective(clock.now()))
    lines, stage = [f"{ENGINES[name][0]}.", ""], ""
    for number, item in enumerate(items, 1):
        if item.stage != stage:
            stage = item.stage
            lines.append(library.stages[stage].title)
        needs = needs_of(library.procedures[item.procedure], library, words)
        after = f"  [{', '.join(needs)}]" if needs else ""
        lines.append(f"  {number:2}. {item.title}, {item.minutes:g} min{after}")
    lines += ["", f"{len(items)} pieces of work, {sum(i.minutes for i in items):g} minutes."]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write every plan."""
    rules = make_rules(load_library(data_folder("procedures")))
    for name in ENGINES:
        (PLANS / f"{name}.txt").write_text(plan_text(rules, name), encoding="utf-8")


if __name__ == "__main__":
    main()
