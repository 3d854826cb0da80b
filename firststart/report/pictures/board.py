"""The whole of the work at a look: a row a stage, a square for each piece of work, filled when it was checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from firststart.report.model import Report, WorkLine
from firststart.report.picture import RIGHT, TOP, Box, Picture, Rule, Shape, Table, Word, cells, fit
from firststart.report.wording import plural

_LEFT, _ROW, _SIDE, _GAP = 202.0, 18.5, 12.0, 4.0
_ACROSS = int((RIGHT - 52 - _LEFT) // (_SIDE + _GAP))  # squares beside each other
_CSS = {
    "checked": "s0", "found wanting": "s0 out", "undecided": "s2", "under way": "s1", "left for later": "open",
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
    shapes: list[Shape] = []
    y = TOP - 10
    for stage, work in stages.items():
        shapes += _row(stage, work, y)
        y += _ROW + (len(work) - 1) // _ACROSS * (_SIDE + _GAP)
    there = {_CSS[w.stand].split()[-1] for w in report.work}
    key = tuple((css, what) for css, what in _KEY if css in there)
    return Picture("board", "Work by stage", _tells(report), y + 4, tuple(shapes), _twin(stages), key)


def _row(stage: str, work: Sequence[WorkLine], y: float) -> Iterator[Shape]:
    yield Word(_LEFT - 10, y + 10.5, fit(stage, 32), "lb name", "end")
    for n, one in enumerate(work):
        x, down = _LEFT + n % _ACROSS * (_SIDE + _GAP), n // _ACROSS * (_SIDE + _GAP)
        yield Box(x, y + down, _SIDE, _SIDE, f"bar {_CSS[one.stand]}", f"{one.title}: {one.stand}")
    done = sum(w.stand == "checked" for w in work)
    yield Word(RIGHT, y + 10.5, f"{done} of {len(work)}", "lb" if done == len(work) else "lb dim", "end")
    bottom = y + _ROW - 3.5 + (len(work) - 1) // _ACROSS * (_SIDE + _GAP)
    yield Rule(0, bottom, RIGHT, bottom, "gr")


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
