"""Bars by cylinder with the band each reading was held against."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from firststart.judge.wording import listed
from firststart.report.inline import BAND, DIM
from firststart.report.model import Reading, Report
from firststart.report.picture import Cell, Picture, Table
from firststart.report.pictures.series import (
    group_name,
    high_in,
    low_in,
    newest,
    outside,
    short,
    short_name,
    value_in,
)
from firststart.report.plot import FILLS, canvas, narrow, round_values, tip, unit_above, write
from firststart.report.wording import capital, one_line, reading_text, unit_text

if TYPE_CHECKING:
    from firststart.report.plot import Axes

_ACROSS = 400.0  # what the cylinders have to share
_WIDE = 80.0  # a cylinder's place that has room for words
_ROOM = 26.0  # a bar that has room for its value; a narrower one tells it to a pointer and in the table


def cylinder_pictures(report: Report) -> tuple[Picture, ...]:
    """One picture for each group of readings that were made cylinder by cylinder."""
    groups: dict[tuple[str, str], list[Reading]] = {}
    for reading in newest(report.readings):
        if reading.cylinder is not None:
            groups.setdefault((group_name(reading), reading.value.kind), []).append(reading)
    return tuple(_picture(n, name, group) for n, ((name, _), group) in enumerate(groups.items(), 1))


def _picture(n: int, name: str, group: Sequence[Reading]) -> Picture:
    unit = group[0].value.unit
    title = group[0].label if len({r.name for r in group}) == 1 else capital(name)
    names = list(dict.fromkeys(r.name for r in group))
    high = max([value_in(r, unit) for r in group] + [high_in(r, unit) or low_in(r, unit) or 0 for r in group]) or 1
    with canvas(222 + 14 * _lines(group)) as figure:
        axes = figure.subplots()
        axes.set(xlim=(-0.5, len(_cylinders(group)) - 0.5), ylim=(0, high))
        axes.grid(axis="y")
        round_values(axes.yaxis, 6)
        unit_above(axes, unit_text(unit) or "each")
        _bands(axes, group, unit)
        _bars(axes, group, names, unit)
        _under(axes, group)
    key = [(f"s{i % 3}", short_name(next(r for r in group if r.name == x))) for i, x in enumerate(names)]
    limits = [r for r in group if r.judged is not None and r.judged.limit_text]
    if any(outside(r) for r in group):
        key.append(("out", "found wanting"))
    if limits:
        key.append(("band", f"expected, {limits[0].judged.limit_text if limits[0].judged else ''}"))
    title, told, twin = f"{title} by cylinder", _tells(name, group), _twin(name, group)
    return Picture(f"cylinders-{n}", title, told, figure, twin, tuple(key))


def _lines(group: Sequence[Reading]) -> int:
    """How many verdicts stand under the fullest cylinder, two at most."""
    counts = [sum(1 for r in group if r.cylinder == c and r.judged is not None) for c in _cylinders(group)]
    return min(max(*counts, 1), 2)


def _cylinders(group: Sequence[Reading]) -> list[int]:
    return sorted({r.cylinder for r in group if r.cylinder is not None})


def _bands(axes: Axes, group: Sequence[Reading], unit: str) -> None:
    """The expected band behind each cylinder, from the first reading there that has one."""
    for place, cylinder in enumerate(_cylinders(group)):
        limits = [(low_in(r, unit), high_in(r, unit)) for r in group if r.cylinder == cylinder]
        low, high = next((pair for pair in limits if pair != (None, None)), (0.0, 0.0))
        bottom, top = low or 0.0, axes.get_ylim()[1] if high is None else high
        if top > bottom:
            axes.bar(place, top - bottom, 1.0, bottom, facecolor=BAND, label="band")


def _bars(axes: Axes, group: Sequence[Reading], names: Sequence[str], unit: str) -> None:
    """The bars of each cylinder beside each other, in the order in which they were read."""
    slot = _ACROSS / len(_cylinders(group))
    each = min(0.8 / len(names), 44.0 / slot)
    for place, cylinder in enumerate(_cylinders(group)):
        here = [r for r in group if r.cylinder == cylinder]
        for k, r in enumerate(here):
            value, x = value_in(r, unit), place + (k - (len(here) - 1) / 2) * each
            fill = FILLS["out" if outside(r) else f"s{names.index(r.name) % 3}"]
            (bar,) = axes.bar(x, value, each * 0.9, label=r.name, alpha=0.55 if r.counts == "stale" else None, **fill)
            verdict = f", {r.judged.word}" if r.judged else ""
            tip(bar, f"{r.label}, cylinder {r.cylinder}: {reading_text(r.value)}{verdict}")
            if each * slot >= _ROOM:
                write(axes, (x, value), short(value), (0, 4), weight="bold")


def _under(axes: Axes, group: Sequence[Reading]) -> None:
    """The names of the cylinders, and under each what its readings were judged to be, where there is room."""
    order = _cylinders(group)
    wide = _ACROSS / len(order) > _WIDE
    axes.set_xticks(range(len(order)), [f"cylinder {c}" if wide else str(c) for c in order])
    if not wide:
        axes.set_xlabel("cylinder", loc="right")
        return
    for place, cylinder in enumerate(order):
        told = [f"{short_name(r)}: {r.judged.word}" for r in group if r.cylinder == cylinder and r.judged is not None]
        for k, text in enumerate(told[:2]):
            fitted = narrow(axes, one_line(text), _ACROSS / len(order) - 8)
            write(axes, (place, 0), fitted, (0, -35 - 15 * k), xycoords=axes.get_xaxis_transform(), color=DIM)


def _tells(name: str, group: Sequence[Reading]) -> str:
    """Few readings one by one; many by their lowest, their highest, and those found wanting."""
    if len(group) <= 4:
        return f"{capital(name)}: {'; '.join(_one(r) for r in group)}."
    parts = []
    for series in dict.fromkeys(r.name for r in group):
        mine = sorted((r for r in group if r.name == series), key=lambda r: r.value.si)
        wanting = listed(sorted(r.cylinder or 0 for r in mine if outside(r)))
        found = f"; found wanting: cylinder {wanting}" if wanting != "none" else ""
        ends = f"{reading_text(mine[0].value)} (cylinder {mine[0].cylinder}) to {reading_text(mine[-1].value)}"
        parts.append(f"{short_name(mine[0])} from {ends} (cylinder {mine[-1].cylinder}){found}")
    return f"{capital(name)}: {'. '.join(capital(p) for p in parts)}."


def _one(r: Reading) -> str:
    verdict = f", {r.judged.word}" if r.judged else ""
    return f"cylinder {r.cylinder} {short_name(r)} {reading_text(r.value)}{verdict}"


def _twin(name: str, group: Sequence[Reading]) -> Table:
    ordered = sorted(group, key=lambda r: r.cylinder or 0)
    rows = tuple(
        (
            Cell(f"Cylinder {r.cylinder}, {short_name(r)}"),
            Cell(reading_text(r.value)),
            Cell(r.judged.limit_text if r.judged and r.judged.limit_text else "none"),
            Cell(r.judged.word if r.judged else "not judged"),
        )
        for r in ordered
    )
    return Table(f"{capital(name)} by cylinder", ("Reading", "Value", "Expected", "Judged"), rows)
