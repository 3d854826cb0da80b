"""What to carry: everything for what is left, each thing once, in its group, with amounts for this engine."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from bench_profile import tell_profile

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk, open_job
from firststart.bench.shop import book_of
from firststart.bench.tools import NOT_CARRIED, Tools, tools_for
from firststart.cli import main
from firststart.clock import SimulatedClock
from firststart.job import inputs as i
from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.job.situation import Ended
from firststart.journal.memory import MemoryJournal
from firststart.journal.sqlite import SqliteJournal

TWIN = {"kind": "motorcycle", "fuel": "petrol", "cycle": "four-stroke", "cooling": "air", "starting": "electric",
        "ignition": "points", "feed": "gravity", "battery": "12", "lubrication": "wet-sump", "cylinders": "2",
        "displacement": "500 ml", "ratio": "9:1", "oil-capacity": "2.5 l", "plug-gap": "0.7 mm"}  # fmt: skip
TRACTOR = {**TWIN, "kind": "tractor", "fuel": "diesel", "cooling": "water", "ignition": "none", "feed": "injection",
           "cylinders": "3", "displacement": "2500 ml", "ratio": "17:1", "oil-capacity": "6 l"}  # fmt: skip
LITTLE_PUMP = {"kind": "pump", "fuel": "petrol", "cycle": "two-stroke", "cooling": "air", "starting": "recoil",
                 "ignition": "cdi", "feed": "gravity", "battery": "none", "lubrication": "premix", "cylinders": "1",
                 "displacement": "50 ml", "premix-ratio": "50:1"}  # fmt: skip


def desk_of(rules: Rules, facts: dict[str, str]) -> Desk:
    desk = open_job(rules, MemoryJournal(), SimulatedClock(), i.Open("job", "engine", "test", "yard"))
    tell_profile(desk, facts)
    return desk


def tools_of(rules: Rules, facts: dict[str, str]) -> Tools:
    desk = desk_of(rules, facts)
    return tools_for(rules, desk.situation, desk.now)


@pytest.mark.parametrize(
    ("facts", "group", "item"),
    [
        (TWIN, "supply", "fresh engine oil of a grade that the manual allows, 2.5 l"),
        (TWIN, "supply", "clean engine oil for the cylinders, 5 ml for each of 2 cylinders, 10 ml in all"),
        (TWIN, "supply", "fuses for the feed lead, a 10 A fuse"),
        (TWIN, "tool", "spark tester with an adjustable gap, or a spare plug opened to it, 6.3 mm"),
        (TWIN, "tool", "charged battery of the right voltage"),
        (TWIN, "gear", "fire extinguisher for burning liquids (class B)"),
        (TRACTOR, "tool", "compression gauge made for diesels with the right adapter"),
        (TRACTOR, "supply", "fresh engine oil of a grade that the manual allows, 6 l"),
        (TRACTOR, "gear", "carbon dioxide extinguisher"),
        (LITTLE_PUMP, "supply", "two-stroke oil, 20 ml per litre"),
        (LITTLE_PUMP, "supply", "clean engine oil for the cylinders, 1 ml"),
    ],
)  # fmt: skip
def test_amounts_are_reckoned_for_this_engine(rules: Rules, facts: dict[str, str], group: str, item: str) -> None:
    """Litres, millilitres, the fuse and the test gap stand beside the thing that needs them."""
    assert item in getattr(tools_of(rules, facts), group)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (TWIN, ("diesel", "glow plug", "two-stroke oil", "coolant", "impeller")),
        (TRACTOR, ("plug spanner", "spark tester", "carburettor", "tie the throttle", "no fuse")),
        (LITTLE_PUMP, ("battery", "fuses", "engine oil of a grade", "filter wrench", "valve")),
    ],
)
def test_nothing_useless_is_carried(rules: Rules, facts: dict[str, str], words: tuple[str, ...]) -> None:
    """No plug spanner for a diesel, no battery for an engine without one, no coolant for air cooling."""
    found = tools_of(rules, facts)
    useless = [item for group in vars(found).values() for item in group for word in words if word in item]

    assert not useless


@pytest.mark.parametrize("facts", [TWIN, TRACTOR, LITTLE_PUMP], ids=["twin", "tractor", "pump"])
def test_everything_that_the_plan_needs_is_there(rules: Rules, facts: dict[str, str]) -> None:
    """Each supply, each instrument and each piece of gear of the plan is listed, by itself or inside a fuller entry."""
    desk = desk_of(rules, facts)
    words, found = rules.words(desk.situation), tools_for(rules, desk.situation, desk.now)
    listed = " | ".join(item for group in vars(found).values() for item in group).lower()
    missing = []
    for item in plan(rules.library, desk.situation, words, desk.now):
        procedure = rules.library.procedures[item.procedure]
        for supply in procedure.supplies:
            if all(words.get(f) in accepted for f, accepted in supply.applies.items()):
                missing += [w for w in supply.item.replace(",", "").lower().split() if w.rstrip("s") not in listed]

    assert not missing


def test_each_thing_is_listed_once(rules: Rules) -> None:
    """A plain spanner is left out beside a fuller one, and nothing stands twice."""
    found = tools_of(rules, TWIN)
    every = [*found.tool, *found.supply, *found.gear]

    assert len(every) == len(set(every))
    assert [item for item in found.tool if item.startswith("plug spanner")] == ["plug spanner and brass brush"]
    assert "meter" not in found.tool


def test_what_is_read_off_the_machine_is_not_carried(rules: Rules) -> None:
    """A label, papers, or what somebody knows is no tool."""
    found = tools_of(rules, TWIN)

    assert not [item for item in found.tool if NOT_CARRIED & set(item.split())]


def test_lists_are_taken_apart_and_asides_stay(rules: Rules) -> None:
    """Two things in one entry are two lines; "marked in millilitres" belongs to its syringe."""
    found = tools_of(rules, TWIN)

    assert {"bright lamp", "white tray", "syringe with a soft hose, marked in millilitres"} <= set(found.tool)
    assert {"solvent-proof gloves", "safety glasses"} <= set(found.gear)


def test_what_is_done_needs_nothing_more(rules: Rules) -> None:
    """Once the oil is out, its drain tray is not asked for."""
    desk = desk_of(rules, TWIN)
    before = tools_for(rules, desk.situation, desk.now)
    done = Ended(run=1, procedure="oil-out", result="no-metal", outcome="ok", say="", at=desk.now, number=1)
    after = tools_for(rules, replace(desk.situation, ended={"oil-out": done}), desk.now)

    assert "drain tray that holds all the oil" in before.tool
    assert "drain tray that holds all the oil" not in after.tool


def test_the_next_check_of_a_diagnosis_brings_its_tools(rules: Rules) -> None:
    """While it does not start, what the advised check needs is carried too."""
    desk = desk_of(rules, TWIN)
    plain = tools_for(rules, desk.situation, desk.now)
    more = tools_for(rules, desk.situation, desk.now, ("leak-down",))

    assert "leak-down tester with the right adapter" not in plain.tool
    assert "leak-down tester with the right adapter" in more.tool
    assert Adviser(rules, book_of(rules.library)).leads_to(desk.situation) == ()


def test_unknown_cylinders_are_told_as_each(rules: Rules) -> None:
    """With the number of cylinders unknown the amount is for each, and no sum is made up."""
    known = {k: v for k, v in TWIN.items() if k not in ("cylinders", "displacement", "ratio")}
    found = [item for item in tools_of(rules, known).supply if item.startswith("clean engine oil for the cylinders")]

    assert [item.endswith("for each cylinder") for item in found] == [True]


def test_the_command_prints_the_groups(tmp_path: Path, rules: Rules, capsys: pytest.CaptureFixture[str]) -> None:
    """`firststart tools` prints three groups, and the same as JSON."""
    journal = SqliteJournal(tmp_path / "record.db", write=True)
    open_job(rules, journal, SimulatedClock(), i.Open("green twin", "green twin", "test", "yard"))
    journal.close()
    assert main(["tools", "--home", str(tmp_path)]) == 0
    text = capsys.readouterr().out
    assert main(["tools", "--home", str(tmp_path), "--format", "json"]) == 0

    assert [line for line in text.splitlines() if line in ("tools", "supplies", "protective gear")] == [
        "tools", "supplies", "protective gear",
    ]  # fmt: skip
    assert set(json.loads(capsys.readouterr().out)) == {"tool", "supply", "gear"}
