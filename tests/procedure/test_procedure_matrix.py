"""The matrix of stages by sorts of engine: no empty cell that the trade would fill."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from firststart.cli import main
from firststart.engine.profile import WORDS, applies
from firststart.errors import DataError
from firststart.procedure.catalogue import data_folder
from firststart.procedure.library import Library
from firststart.procedure.matrix import Cell, Matrix, matrix, read_sorts
from firststart.procedure.reader import read

SORTS = read_sorts(read((data_folder("procedures") / "sorts.yaml").read_text(encoding="utf-8"), "sorts.yaml"))
EXCUSES = yaml.safe_load((Path(__file__).parent / "empty_cells.yaml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def table(library: Library) -> Matrix:
    return matrix(library, SORTS)


def excuses(stage: str, sort: str) -> list[int]:
    """The numbers of the reasons that excuse a cell from being filled."""
    return [n for n, e in enumerate(EXCUSES) if stage in e["stages"] and applies(e["when"], SORTS[sort], unknown=False)]


def test_every_empty_cell_has_its_reason(table: Matrix) -> None:
    """Where a stage holds no work for a sort of engine, the data says why the trade would do none either."""
    unexcused = [at for at in table.empty() if not excuses(*at)]

    assert not unexcused


def test_every_reason_is_true_of_every_cell_that_it_excuses(table: Matrix) -> None:
    """A reason that excuses a cell in which there is work, or no cell at all, is out of date."""
    filled = [at for at in table.cells if excuses(*at) and at not in table.empty()]
    used = {n for at in table.empty() for n in excuses(*at)}

    assert not filled
    assert used == set(range(len(EXCUSES)))


def test_every_word_of_a_profile_that_tells_engines_apart_has_its_sort() -> None:
    """Each kind, fuel, cycle, cooling, way of starting, ignition, feed, battery, earth and oiling is in some column."""
    told = {(field, word) for sort in SORTS.values() for field, word in sort.items()}
    fields = [field for field in WORDS if WORDS[field] and field not in ("storage", "climate", "manual")]
    missing = [(field, word) for field in fields for word in WORDS[field] if (field, word) not in told]

    assert not missing


def test_a_stage_without_work_shows_as_empty(library: Library) -> None:
    """The planted gap that proves the check: without the spark proof every petrol engine has an empty cell."""
    poorer = {name: p for name, p in library.procedures.items() if p.stage != "spark"}
    holed = matrix(replace(library, procedures=poorer), SORTS)
    found = {sort for stage, sort in holed.empty() if stage == "spark"}

    assert set(SORTS) == found


def test_a_word_that_is_none_is_refused_with_its_line() -> None:
    """A sort of engine told in words that the profile does not know is a problem, not an empty column."""
    with pytest.raises(DataError, match=r"sorts.yaml:2.*steam"):
        read_sorts(read("boiler:\n  fuel: steam\n", "sorts.yaml"))


def test_the_matrix_is_printed(capsys: pytest.CaptureFixture[str], library: Library) -> None:
    """`verify --matrix` shows every stage and every sort within 110 columns."""
    assert main(["verify", "--matrix"]) == 0
    told = capsys.readouterr().out.splitlines()

    assert not [s for s in library.stages.values() if not any(line.startswith(s.title) for line in told)]
    assert not [name for name in SORTS if not any(line.endswith(name) for line in told)]
    assert max(map(len, told)) < 111


@pytest.mark.parametrize(("cell", "shown"), [(Cell(2, 5), "2"), (Cell(0, 5), "+5"), (Cell(0, 0), "-")])
def test_a_cell_tells_planned_work_from_work_on_demand(cell: Cell, shown: str) -> None:
    """The plan's count stands alone, a plus marks what is only done when asked for."""
    assert shown == str(cell)
