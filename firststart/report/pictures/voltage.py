"""Voltages: a row for each place measured, its readings as dots, and the span they were held against."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from firststart.report.inline import BAND, ONE, PAPER, RULE
from firststart.report.model import Reading, Report
from firststart.report.picture import Cell, Picture, Table
from firststart.report.pictures.series import VALID, high_in, low_in, outside, value_in
from firststart.report.plot import WANTING, canvas, round_values, rows, tip, write
from firststart.report.wording import reading_text, stamp

if TYPE_CHECKING:
    from firststart.report.plot import Axes

_ROW = 40.0
_NEWEST: Mapping[str, Any] = {"marker": "o", "markersize": 12, "markerfacecolor": ONE, "markeredgecolor": PAPER}
_EARLIER: Mapping[str, Any] = {
    "marker": "o", "markersize": 8.5, "markerfacecolor": PAPER, "markeredgecolor": RULE, "markeredgewidth": 1.8,
}  # fmt: skip
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


def _picture(id_: str, title: str, groups: dict[str, list[Reading]]) -> Picture:
    every = [r for group in groups.values() for r in group]
    unit = every[-1].value.unit
    bounds = [b for r in every for b in (low_in(r, unit), high_in(r, unit)) if b is not None]
    values = [value_in(r, unit) for r in every]
    low, high = min(values + bounds), max(values + bounds)
    room = (high - low) * 0.08 or abs(high) * 0.08 or 1.0
    with canvas(_ROW * len(groups) + 56) as figure:
        axes = figure.subplots()
        axes.set_xlim(max(low - room, 0.0) if min(values) >= 0 else low - room, high + room)
        axes.grid(axis="x")
        round_values(axes.xaxis, 6)
        rows(axes, [group[-1].label for group in groups.values()], 18)
        axes.set_xlabel(unit, loc="right")
        for n, group in enumerate(groups.values()):
            _row(axes, n, group, unit)
    key = [("s0 round", "newest reading"), ("hollow", "earlier reading")]
    if bounds:
        key.append(("band", "expected"))
    if any(outside(group[-1]) for group in groups.values()):
        key.append(("wanting", "newest, found wanting"))
    return Picture(id_, title, _tells(groups), figure, _twin(every), tuple(key))


def _row(axes: Axes, row: int, group: Sequence[Reading], unit: str) -> None:
    last = group[-1]
    low, high = low_in(last, unit), high_in(last, unit)
    left, right = axes.get_xlim()
    if low is not None or high is not None:
        start, end = left if low is None else low, right if high is None else high
        axes.barh(row, end - start, 0.46, start, facecolor=BAND, label="band")
    for r in group:
        look = _EARLIER if r is not last else WANTING if outside(last) else _NEWEST
        (dot,) = axes.plot(value_in(r, unit), row, linestyle="none", clip_on=False, **look)
        tip(dot, _tip(r))
    x = value_in(last, unit)
    by, side = ((-9, 9), "right") if x > (left + right) / 2 else ((9, 9), "left")
    write(axes, (x, row), reading_text(last.value), by, ha=side, weight="bold")


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
