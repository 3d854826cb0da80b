"""The conflicts between published sources, and the traps in them: each has its test, and none may vanish unseen."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

from firststart.procedure.library import Library

TESTS = Path(__file__).parents[1]
CONFLICTS = {  # what disagrees or misleads -> the tests that hold it, by file and by words of their docstring
    "compression limits run from 10 psi to 70 %; one set passes one and fails four": (
        ("judge/test_judge_compressionset.py", "one set passes one published rule and fails four"),
    ),
    "15 ml of wet-test oil locks cylinders below about 125 ml": (
        ("physics/test_physics_compression.py", "15 ml of large-engine manuals locks small cylinders"),
        ("judge/test_judge_oil.py", "never over a quarter of the clearance volume"),
    ),
    "the restrictor switch at a bore of 5 in is overridden by two makers": (
        ("physics/test_physics_leakdown.py", "the switch at a bore of 5.00 in"),
        ("judge/test_judge_leakdown.py", "the switch by bore is told together with the makers' override"),
        ("judge/test_judge_leakdown.py", "a reading without its orifice size means little"),
    ),
    "Paschen's constants have another minimum than measured air, and a stored page omits the logarithm": (
        ("physics/test_physics_ignition.py", "305.3 V at 0.836 Torr cm by the law"),
        ("physics/test_physics_ignition.py", "a stored page omits the ln"),
    ),
    "a public worksheet writes Onderdonk with 234 - Ta": (
        ("physics/test_physics_winding.py", "the copied slip 234 - Ta would give 178 A"),
    ),
    "printed slips: 9^1.3, and the standard temperature at 4572 m": (
        ("physics/test_physics_compression.py", "A public page prints 17.347"),
        ("physics/test_physics_atmosphere.py", "a public page prints -25.96"),
    ),
    "an idling page claims seven times the fuel of the DOE's data": (
        ("physics/test_physics_fuel.py", "claims 0.6 US gal/h a litre"),
    ),
    "extinguisher, battery and gas numbers are United States figures": (
        ("judge/test_judge_limits.py|judge/test_judge_amounts_electrical.py", "each says that local law may differ"),
        ("physics/test_physics_conflicts.py", "Regulations of the United States are named as such"),
    ),
    "voltage drop by path: 0.1, 0.2, 0.4 or 0.5 V by maker": (
        ("judge/test_judge_battery.py", "disagree: 0.1, 0.2, 0.4, 0.5 V by path"),
    ),
    "two load-test tables split at -18 degC; cells may part by 0.025 or 0.050": (
        ("physics/test_physics_battery.py", "the makers differ by half a volt"),
        ("judge/test_judge_battery.py", "passes one maker's 8.0 V and fails the other's 8.5 V"),
        ("judge/test_judge_battery.py", "condemns over 0.025, TM 5-3740-214-14 over 0.050"),
    ),
    "published derating by altitude is milder than pressure scaling": (
        ("physics/test_physics_compression.py", "made by density, asks up to 5.5 % more than pressure scaling"),
    ),
    "the gauge does not change with the air's temperature": (
        ("physics/test_physics_compression.py", "no density correction for temperature"),
    ),
}
HELD = [(what, files, words) for what, tests in CONFLICTS.items() for files, words in tests]


@cache
def docstrings(name: str) -> str:
    """What the tests of one file say of themselves."""
    tree = ast.parse((TESTS / name).read_text(encoding="utf-8"))
    functions = [n for n in tree.body if isinstance(n, ast.FunctionDef) and n.name.startswith("test_")]
    return " ".join(" ".join((ast.get_docstring(f) or "").split()) for f in functions)


def test_all_twelve_stand_here() -> None:
    """The list of conflicts and traps is whole."""
    assert len(CONFLICTS) == 12


@pytest.mark.parametrize(("what", "files", "words"), HELD, ids=[f"{w[:30]}: {t[:30]}" for w, _, t in HELD])
def test_each_conflict_and_trap_has_its_test(what: str, files: str, words: str) -> None:
    """A test still says that it holds it."""
    assert any(words in docstrings(name) for name in files.split("|")), f"no test says {words!r} for: {what}"


REGULATION = re.compile(r"\b(?:CFR|NIOSH|OSHA|NFPA)\b")
ELSEWHERE = re.compile(r"United States|[Ll]ocal (?:law|code|rule)")


def test_regulations_are_told_as_those_of_one_country(library: Library) -> None:
    """Regulations of the United States are named as such on the screen: local law may differ and comes first."""
    bare = [
        (procedure.id, name)
        for procedure in library.procedures.values()
        for name, step in procedure.steps.items()
        if REGULATION.search(step.info) and not ELSEWHERE.search(step.info)
    ]

    assert bare == []
