"""Every calculation that a person can ask for is reached by the guided work too, by a judge, an amount or a permit.

The names are followed through the source itself: from what a procedure names, along the calls, to the calculator.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

import firststart
from firststart.judge.registry import AMOUNTS, JUDGES
from firststart.physics.subjects import SUBJECTS
from firststart.procedure.library import Library
from firststart.procedure.model import Procedure
from firststart.starter.permit import permit

ROOMS = ("physics", "judge", "starter")
AMOUNT = re.compile(r"\{amount:([a-z-]+)\}")
PERMIT = "a permit to crank"

HEARTS = {  # calculation -> the calculator at its heart: both `reckon` and the guided work must come to it
    "atmosphere": "atmosphere.pressure",
    "compression": "compression.cranking_gauge",
    "compression-altitude": "compression.at_altitude",
    "wet-test-oil": "compression.oil_factor",
    "cranking-time": "compression.cranking_time",
    "compression-torque": "compression.peak_torque",
    "leak-down": "leakdown.loss",
    "piston-position": "crankgeometry.piston_drop",
    "crank-angle": "crankgeometry.angle_at_drop",
    "crank-torque": "crankgeometry.crank_torque",
    "timing-mark": "timingmark.arc",
    "top-dead-centre": "timingmark.stop_centre",
    "firing-interval": "timingmark.firing_interval",
    "firing-order": "firingorder.pairs",
    "battery-rest": "battery.charge_by_voltage",
    "battery-density": "battery.corrected_density",
    "battery-load": "battery.load_floor",
    "battery-standing": "battery.self_discharge",
    "cable-drop": "wiring.cable_resistance",
    "cable-drop-gauge": "wiring.awg_area",
    "wire-gauge": "wiring.awg_area",
    "series-resistance": "wiring.series_resistance",
    "feed-fuse": "wiring.feed_fuse",
    "copper-heating": "winding.heating_rate",
    "winding-temperature": "windingheat.temperature_by_resistance",
    "starter-tries": "winding.modes",
    "wire-melting": "windingheat.fusing_current",
    "spark-voltage": "ignition.uniform_field",
    "test-gap": "ignition.open_air_gap",
    "coil-energy": "coil.coil_energy",
    "dwell": "coil.dwell_share",
    "coil-resistance": "windingheat.resistance_as_at_20",
    "lead-resistance": "coil.lead_limit",
    "fuel-age": "fuel.age_word",
    "fuel-water": "fuel.water_held",
    "fuel-spill": "fuel.flammable_air",
    "premix": "fuel.premix_oil",
    "mixture": "fuel.blend_ratio",
    "fuel-flow": "fuelflow.cranking_flow",
    "gravity-head": "fuelflow.gravity_head",
    "pressure-decay": "fuelflow.corrected_end",
    "carbon-monoxide": "carbonmonoxide.seconds_until",
    "oil-viscosity": "oil.dynamic",
    "oil-viscosity-index": "viscosityindex.kv40_from_index",
    "near-limit": "uncertainty.decide",
}
ONLY_ASKED = {  # calculation -> why no guided work uses it
    "cool-down": "one time constant that the person must have measured; the permit answers with two thermal masses",
}


def _imports(tree: ast.Module, module: str) -> dict[str, str]:
    """Names of a module that stand for something in the three rooms: `name` -> `module.name`."""
    found = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[1:2] and node.level == 0:
            room = node.module.split(".")
            if room[0] == "firststart" and room[1] in ROOMS and len(room) == 3:
                found.update({a.asname or a.name: f"{room[2]}.{a.name}" for a in node.names})
    found.update(
        {n.name: f"{module}.{n.name}" for n in tree.body if isinstance(n, ast.FunctionDef | ast.ClassDef)}
    )
    return found


@cache
def calls() -> dict[str, frozenset[str]]:
    """What each function or class of the three rooms names, of those rooms."""
    graph: dict[str, frozenset[str]] = {}
    for room in ROOMS:
        for path in sorted((Path(firststart.__file__).parent / room).glob("*.py")):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            names = _imports(tree, path.stem)
            for node in tree.body:
                if isinstance(node, ast.FunctionDef | ast.ClassDef):
                    used = {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
                    graph[f"{path.stem}.{node.name}"] = frozenset(names[u] for u in used if u in names)
    return graph


@cache
def reached(start: str) -> frozenset[str]:
    """Everything that `start` comes to along the calls."""
    seen, ahead = {start}, [start]
    while ahead:
        for name in calls().get(ahead.pop(), ()):
            if name not in seen:
                seen.add(name)
                ahead.append(name)
    return frozenset(seen)


def root(function: Callable[..., object]) -> str:
    return f"{function.__module__.rsplit('.', 1)[-1]}.{function.__qualname__}"


def texts_of(procedure: Procedure) -> str:
    texts = [r.say for r in procedure.results.values()] + [s.amount for s in procedure.supplies]
    for step in procedure.steps.values():
        texts += [step.cmd, step.why, step.info, *(n.text for n in step.note)]
    return " ".join(texts)


def named_by(library: Library) -> dict[str, set[str]]:
    """Roots of the calculations that procedures name -> the procedures."""
    found: dict[str, set[str]] = {}
    for procedure in library.procedures.values():
        judges = {s.judge or (s.measure.judge if s.measure else None) for s in procedure.steps.values()} - {None}
        roots = [root(JUDGES[str(j)].run) for j in judges]
        roots += [root(AMOUNTS[a]) for a in AMOUNT.findall(texts_of(procedure))]
        roots += [root(permit)] if any(s.crank for s in procedure.steps.values()) else []
        for name in roots:
            found.setdefault(name, set()).add(procedure.id)
    return found


def users(library: Library, heart: str) -> set[str]:
    """The procedures whose judges, amounts or permits come to a calculator."""
    return {p for start, names in named_by(library).items() if heart in reached(start) for p in names}


def test_every_calculation_is_listed_once() -> None:
    """A new calculation must say where the work uses it, or why only a person asks for it."""
    assert sorted(SUBJECTS) == sorted([*HEARTS, *ONLY_ASKED])
    assert len(ONLY_ASKED) <= 1


@pytest.mark.parametrize("subject", HEARTS)
def test_the_guided_work_uses_the_calculation(library: Library, subject: str) -> None:
    """What `reckon` computes and what some procedure judges or tells by is the same calculator."""
    heart = HEARTS[subject]

    assert heart in reached(root(SUBJECTS[subject].run)), f"reckon {subject} does not use {heart}"
    assert users(library, heart), f"no procedure uses {heart}"


def test_a_calculator_that_nothing_calls_is_found_out(library: Library) -> None:
    """The check is no empty one: a calculator of the record alone is used by no procedure."""
    assert not users(library, "windingheat.cooling_seconds")
    assert "windingheat.cooling_seconds" in reached(root(SUBJECTS["cool-down"].run))


def test_every_judge_and_every_amount_is_named_by_some_procedure(library: Library) -> None:
    """No judge and no amount stands there for nobody."""
    named = set(named_by(library))

    assert [] == [name for name, judge in JUDGES.items() if root(judge.run) not in named]
    assert [] == [name for name, amount in AMOUNTS.items() if root(amount) not in named]
