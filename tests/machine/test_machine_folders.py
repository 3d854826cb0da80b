"""A user's own folder adds, and weakens nothing: each refusal has its own smallest folder, with place and remedy."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from firststart.bench.shop import make_rules
from firststart.bench.verify import JUDGE_WORDS, find_problems
from firststart.engine.profile import WORDS, applies
from firststart.errors import DataError, UnknownName
from firststart.machine.compile import compile_table
from firststart.machine.table import PERMIT
from firststart.procedure.catalogue import data_folder, load_library, load_with_problems
from firststart.procedure.library import Library
from firststart.procedure.model import HazardClass, Procedure, Safety
from firststart.procedure.needs import hazards_of

BAD = Path(__file__).resolve().parent / "bad"
NAMES = sorted(p.name for p in BAD.iterdir() if p.is_dir())


def folders_of(name: str) -> tuple[Path, ...]:
    """The folder of that name, or the folders in it when it has several."""
    several = sorted(p for p in (BAD / name).iterdir() if p.is_dir() and (p / "work").is_dir())
    return tuple(several) or (BAD / name,)


@cache
def problems_of(name: str) -> tuple[list[str], list[str]]:
    """What loading, and then proving, finds in the shipped procedures with one bad folder beside them."""
    folders = folders_of(name)
    library, loading = load_with_problems(data_folder("procedures"), folders)
    own = {p.stem for folder in folders for p in (folder / "work").glob("*.yaml")}
    proving = find_problems(library, sorted(own))[0] if library is not None and not loading else []
    return [str(p) for p in sorted(set(loading))], [str(p) for p in sorted(set(proving))]


@pytest.mark.parametrize("name", NAMES)
def test_a_bad_folder_is_refused_with_place_and_remedy(name: str) -> None:
    """The problems of the smallest bad folder are exactly those written beside it."""
    expected = (BAD / f"{name}.problems").read_text(encoding="utf-8").strip().splitlines()

    loading, proving = problems_of(name)
    assert expected == [*loading, *proving]
    if name not in ("folder-nobody-establishes", "folder-cycle"):
        assert loading, "what takes a guard away is refused when it is read, not only when somebody verifies"


def test_the_bench_does_not_open_with_a_folder_that_weakens() -> None:
    """Loading raises all the problems at once."""
    with pytest.raises(DataError) as caught:
        load_library(data_folder("procedures"), folders_of("folder-leaves-out"))

    assert 6 == len(caught.value.problems)


@pytest.mark.parametrize("name", ["folder-nobody-establishes", "folder-cycle"])
def test_the_bench_does_not_open_with_work_that_is_not_proved(name: str) -> None:
    """Hold points that nobody meets, or that wait for each other, are refused by the bench as by verify."""
    library = load_library(data_folder("procedures"), folders_of(name))
    with pytest.raises(DataError) as caught:
        make_rules(library)

    assert problems_of(name)[1] == [str(p) for p in caught.value.problems]


def test_a_new_hold_point_on_shipped_work_must_be_met_by_something(tmp_path: Path) -> None:
    """A folder with hazards alone that lets all cranking wait for what nobody can meet does not open the bench."""
    text = """
hold-points: {helper-there: {say: a helper, why: Alone it is not safe.}}
hazards:
  cranking:
    say: cranking
    holds: [helper-there]
    permit: true
    cautions: [{signal: WARNING, text: Keep the helper clear of belts.}]
    gear: []
"""
    (tmp_path / "hazards.yaml").write_text(text, encoding="utf-8")
    library = load_library(data_folder("procedures"), (tmp_path,))
    with pytest.raises(DataError, match="helper-there"):
        make_rules(library)


def test_a_replacement_begins_with_the_same_checks(tmp_path: Path) -> None:
    """Work that replaces shipped work must ask for its hold points before it begins."""
    shipped = (data_folder("procedures") / "work" / "mixed-fuel.yaml").read_text(encoding="utf-8")
    assert "\nprereq: [place-ready, fire-ready]\n" in shipped
    (tmp_path / "work").mkdir()
    own = tmp_path / "work" / "mixed-fuel.yaml"
    own.write_text(shipped.replace("\nprereq: [place-ready, fire-ready]\n", "\nreplaces: mixed-fuel\n"), "utf-8")
    with pytest.raises(DataError) as caught:
        load_library(data_folder("procedures"), (tmp_path,))

    assert ["fire-ready", "place-ready"] == [p.message.split("'")[1] for p in caught.value.problems]


def test_work_of_ones_own_that_is_proved_is_led_through(tmp_path: Path) -> None:
    """A sound procedure and a hold point of its own open the bench, and lint of wording does not shut it."""
    (tmp_path / "work").mkdir()
    look = BAD / "long-sentence.yaml"
    (tmp_path / "work" / look.name).write_text(look.read_text(encoding="utf-8"), encoding="utf-8")
    library = load_library(data_folder("procedures"), (tmp_path,))

    assert frozenset({"long-sentence"}) == library.own
    assert "long-sentence" in make_rules(library).library.procedures


def crank_of(hazard: list[str], purpose: str = "spin") -> Procedure:
    """A procedure that cranks, of whatever classes its author wrote."""
    return Procedure.model_validate({
        "id": "mine", "title": "My own crank", "purpose": "Crank it in my own way.", "stage": "spark", "minutes": 1,
        "steps": {"turn": {"cmd": "Crank it.", "why": "It shows.", "hazard": hazard, "go": "done",
                           "crank": {"purpose": purpose, "seconds": 5}}},
        "results": {"done": {"outcome": "ok", "say": "Done."}},
    })  # fmt: skip


def with_class(safety: Safety, name: str, holds: tuple[str, ...], permit: bool) -> Safety:
    note = {"signal": "WARNING", "text": "Mind your hands."}
    added = HazardClass.model_validate({"say": "my class", "holds": list(holds), "permit": permit, "cautions": [note]})
    return safety.model_copy(update={"hazards": {**safety.hazards, name: added}})


@pytest.mark.parametrize("hazard", [[], ["my-class"], ["hot-parts"]])
def test_whoever_writes_it_a_crank_demands_what_cranking_demands(library: Library, hazard: list[str]) -> None:
    """No class, or a light one of one's own: hold points and permit of cranking stand before every crank."""
    safety = with_class(library.safety, "my-class", (), True)
    table = compile_table(crank_of(hazard), safety, JUDGE_WORDS, {"fuel": "petrol"}, 1)
    gate = table.leaving["turn.gate"][0]

    assert table.initial == "turn.gate"
    assert set(library.safety.hazards["cranking"].holds) | {PERMIT} <= gate.needs
    assert gate.needs <= set(table.states["turn"].needs)


@pytest.mark.parametrize(("purpose", "hazard"), [("start", "running-engine"), ("compression", "open-cylinder")])
def test_what_a_crank_is_for_demands_its_own_class(library: Library, purpose: str, hazard: str) -> None:
    """Whoever tries to start it must be able to stop it, whatever the author wrote; open cylinders need no spark."""
    procedure = crank_of(["cranking"], purpose)
    table = compile_table(procedure, library.safety, JUDGE_WORDS, {"fuel": "petrol"}, 1)
    points = library.safety.hold_points
    holds = library.safety.hazards[hazard].holds
    wanted = {h for h in holds if applies(points[h].applies, {"fuel": "petrol"}, unknown=True)}

    assert wanted
    assert wanted <= table.leaving["turn.gate"][0].needs
    assert hazard in hazards_of(procedure.steps["turn"])


def test_a_name_that_does_not_exist_compiles_to_nothing(library: Library) -> None:
    """A class with a hold point nobody knows, and a class nobody knows, stop the compiler."""
    with pytest.raises(UnknownName, match="no hold point"):
        safety = with_class(library.safety, "my-class", ("place-redy",), False)
        compile_table(crank_of(["my-class"]), safety, JUDGE_WORDS, {}, 1)
    with pytest.raises(UnknownName, match="no hazard class"):
        compile_table(crank_of(["my-clas"]), library.safety, JUDGE_WORDS, {}, 1)


def test_a_folder_of_ones_own_adds_hold_points_to_a_shipped_class(tmp_path: Path) -> None:
    """More may be demanded; what ships is demanded still."""
    (tmp_path / "hazards.yaml").write_text(
        "hold-points:\n  gloves-on: {say: the gloves on, why: Hands.}\n"
        "hazards:\n  cranking:\n    say: cranking\n    holds: [gloves-on]\n    cautions:\n"
        "      - {signal: NOTICE, text: Gloves on.}\n",
        encoding="utf-8",
    )
    shipped = load_library(data_folder("procedures")).safety
    merged = load_library(data_folder("procedures"), (tmp_path,)).safety

    assert {*shipped.hazards["cranking"].holds, "gloves-on"} == set(merged.hazards["cranking"].holds)
    assert merged.hazards["cranking"].permit
    assert set(shipped.hazards["cranking"].cautions) < set(merged.hazards["cranking"].cautions)
    assert shipped.hold_points == {n: p for n, p in merged.hold_points.items() if n in shipped.hold_points}


def test_what_a_stop_leads_to_may_not_wait(library: Library) -> None:
    """A hazard, a wait or a prerequisite in the work after a stop is told by verify."""
    work = library.procedures["make-safe"]
    step = work.steps["key-off"].model_copy(update={"hazard": ("hot-parts",)})
    spoilt = (
        work.model_copy(update={"prereq": ("place-ready",)}),
        work.model_copy(update={"applies": {"fuel": (WORDS["fuel"][0],)}}),
        work.model_copy(update={"steps": {**work.steps, "key-off": step}}),
    )
    for bad in spoilt:
        beside = replace(library, procedures={**library.procedures, "make-safe": bad})
        problems, _proof = find_problems(beside, ("make-safe",))
        assert any("stop" in p.message for p in problems)
