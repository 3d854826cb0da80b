"""The whole of the work at a look: a row a stage, a square for each piece of work, filled when it was checked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from firststart.report.inline import DIM, INK
from firststart.report.model import Report, WorkLine
from firststart.report.picture import Picture, Table, cells
from firststart.report.plot import FILLS, GRID, canvas, rows, tip, write
from firststart.report.wording import plural

if TYPE_CHECKING:
    from firststart.report.plot import Axes

_ACROSS, _ROW = 14, 18.5  # squares beside each other, and the height of a row of them
_CSS = {
    "checked": "s0", "found wanting": "out", "undecided": "s2", "under way": "s1", "left for later": "open",
    "not done": "open",
}  # fmt: skip
_KEY = (
    ("s0", "checked"), ("out", "found wanting"), ("s2", "undecided"), ("s1", "under way"), ("open", "not done"),
)  # fmt: skip


def board_pictures(report: Report) -> tuple[Picture, ...]:
    """One picture of all work; none before any was begun."""
    stages: dict[str, list[WorkLine]] = {}
    for work in report.work:
        stages.setdefault(work.stage, []).append(work)
    return (_picture(report, stages),) if any(w.stand != "not done" for w in report.work) else ()


def _picture(report: Report, stages: Mapping[str, Sequence[WorkLine]]) -> Picture:
    deep = [(len(work) - 1) // _ACROSS + 1 for work in stages.values()]
    with canvas(_ROW * sum(deep) + 8) as figure:
        axes = figure.subplots()
        rows(axes, list(stages), 32, [sum(deep[:n]) for n in range(len(deep))])
        axes.set(xlim=(0, _ACROSS + 3.2), xticks=[], ylim=(sum(deep) - 0.4, -0.6))
        axes.spines["bottom"].set_visible(False)
        for n, work in enumerate(stages.values()):
            _row(axes, work, sum(deep[:n]))
            axes.axhline(sum(deep[: n + 1]) - 0.5, **GRID)
    there = {_CSS[w.stand] for w in report.work}
    key = tuple((css, what) for css, what in _KEY if css in there)
    return Picture("board", "Work by stage", _tells(report), figure, _twin(stages), key)


def _row(axes: Axes, work: Sequence[WorkLine], top: int) -> None:
    for n, one in enumerate(work):
        (square,) = axes.barh(top + n // _ACROSS, 0.76, 0.54, n % _ACROSS + 0.1, **FILLS[_CSS[one.stand]])
        tip(square, f"{one.title}: {one.stand}")
    done = sum(w.stand == "checked" for w in work)
    color = INK if done == len(work) else DIM
    write(axes, (_ACROSS + 3.2, top), f"{done} of {len(work)}", ha="right", va="center", color=color)


def _tells(r: Report) -> str:
    counts = [(len(r.of(s)), s) for s in ("checked", "found wanting", "undecided", "under way")]
    open_ = len(r.of("not done")) + len(r.of("left for later"))
    parts = [f"{n} {what}" for n, what in (*counts, (open_, "not done")) if n]
    return f"Of {plural(len(r.work), 'piece')} of work: {', '.join(parts)}."


def _twin(stages: Mapping[str, Sequence[WorkLine]]) -> Table:
    rows = []
    for stage, work in stages.items():
        checked, wanting = (sum(w.stand == stand for w in work) for stand in ("checked", "found wanting"))
        rows.append(cells(stage, str(checked), str(wanting), str(len(work) - checked - wanting)))
    return Table("Work by stage", ("Stage", "Checked", "Found wanting", "Open or not done"), tuple(rows))
