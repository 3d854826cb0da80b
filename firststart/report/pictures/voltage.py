"""Voltages: a row for each place measured, its readings as dots, and the span they were held against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from firststart.report.axis import Scale, around, number, ticks
from firststart.report.model import Reading, Report
from firststart.report.picture import RIGHT, TOP, Box, Cell, Dot, Picture, Rule, Shape, Table, Word, fit, x_axis
from firststart.report.pictures.series import VALID, high_in, low_in, outside, value_in
from firststart.report.wording import reading_text, stamp

_LEFT, _ROW = 138.0, 40.0
_MOST = 10
_SMALL_V = 2.0  # where all values and limits are under it, the battery's scale would hide them
KIND = "voltage"


def voltage_pictures(report: Report) -> tuple[Picture, ...]:
    """The voltages that were not read cylinder by cylinder; those along the wires are drawn on a scale of their own."""
    rows: dict[str, list[Reading]] = {}
    for r in report.readings:
        if r.value.kind == KIND and r.cylinder is None and r.counts in VALID:
            rows.setdefault(r.name, []).append(r)
    small = {name: group for name, group in rows.items() if _largest(group) < _SMALL_V}
    large = {name: group for name, group in rows.items() if name not in small}
    parts = (
        ("voltage", "Voltages, at rest and under load", large),
        ("drops", "Small voltages, such as drops along the wires", small),
    )
    return tuple(
        _picture(id_, title, dict(list(part.items())[-_MOST:])) for id_, title, part in parts if _worth(part)
    )


def _largest(group: Sequence[Reading]) -> float:
    """The largest SI value among readings and limits."""
    limits = [b for r in group if r.judged is not None for b in (r.judged.low, r.judged.high) if b is not None]
    return max([r.value.si for r in group] + limits)


def _worth(rows: dict[str, list[Reading]]) -> bool:
    """One value held against nothing is no picture."""
    every = [r for group in rows.values() for r in group]
    return len(every) > 1 or any(r.judged is not None and r.judged.limit_text for r in every)


def _picture(id_: str, title: str, rows: dict[str, list[Reading]]) -> Picture:
    every = [r for group in rows.values() for r in group]
    unit = every[-1].value.unit
    bounds = [b for r in every for b in (low_in(r, unit), high_in(r, unit)) if b is not None]
    low, high = around([value_in(r, unit) for r in every] + bounds)
    marks = ticks(max(low, 0.0) if min(value_in(r, unit) for r in every) >= 0 else low, high)
    scale = Scale(marks[0], marks[-1], _LEFT, RIGHT - 6)
    base = TOP + _ROW * len(rows)
    shapes = [*_grid(scale, marks, base), *x_axis(scale, [(m, number(m)) for m in marks], base)]
    for n, group in enumerate(rows.values()):
        shapes += _row(group, TOP + _ROW * n + _ROW / 2, scale, unit)
    shapes.append(Word(RIGHT, base + 32, unit, "lb dim", "end"))
    key = (("s0", "newest reading"), ("hollow", "earlier reading"), ("band", "expected"))
    return Picture(id_, title, _tells(rows), base + 40, tuple(shapes), _twin(every), key)


def _grid(scale: Scale, marks: Sequence[float], base: float) -> Iterator[Shape]:
    for mark in marks:
        yield Rule(scale(mark), TOP, scale(mark), base, "gr")


def _row(group: Sequence[Reading], y: float, scale: Scale, unit: str) -> list[Shape]:
    last = group[-1]
    low, high = low_in(last, unit), high_in(last, unit)
    shapes: list[Shape] = [Word(_LEFT - 8, y + 4, fit(last.label, 18), "lb name", "end")]
    if low is not None or high is not None:
        x1, x2 = scale(low if low is not None else scale.low), scale(high if high is not None else scale.high)
        shapes.append(Box(x1, y - 9, x2 - x1, 18, "band"))
    for r in group[:-1]:
        shapes.append(Dot(scale(value_in(r, unit)), y, 4.5, "hollow", _tip(r)))
    x = scale(value_in(last, unit))
    shapes.append(Dot(x, y, 6, f"s0{' out' if outside(last) else ''}", _tip(last)))
    at, anchor = (x - 10, "end") if x > (_LEFT + RIGHT) / 2 else (x + 10, "start")
    shapes.append(Word(at, y - 11, reading_text(last.value), "lb val", anchor))
    return shapes


def _tip(r: Reading) -> str:
    verdict = f", {r.judged.word}" if r.judged else ""
    return f"{r.label}, {stamp(r.at)}: {reading_text(r.value)}{verdict}"


def _tells(rows: dict[str, list[Reading]]) -> str:
    parts = []
    for group in rows.values():
        last = group[-1]
        verdict = f", {last.judged.word}" if last.judged else ""
        before = f" (before: {reading_text(group[-2].value)})" if len(group) > 1 else ""
        parts.append(f"{last.label} {reading_text(last.value)}{verdict}{before}")
    return f"{'; '.join(parts)}."


def _twin(every: Sequence[Reading]) -> Table:
    rows = tuple(
        (
            Cell(r.label),
            Cell(stamp(r.at)),
            Cell(reading_text(r.value)),
            Cell(r.judged.limit_text if r.judged and r.judged.limit_text else "none"),
            Cell(r.judged.word if r.judged else "not judged"),
        )
        for r in every
    )
    return Table("Voltages", ("Reading", "When", "Value", "Expected", "Judged"), rows)
