"""Bars by cylinder with the band each reading was held against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from firststart.judge.wording import listed
from firststart.report.axis import Scale, short, ticks
from firststart.report.model import Reading, Report
from firststart.report.picture import LEFT, RIGHT, TOP, Box, Cell, Picture, Rule, Shape, Table, Word, fit, y_axis
from firststart.report.pictures.series import group_name, high_in, low_in, newest, outside, short_name, value_in
from firststart.report.wording import capital, reading_text, unit_text

_BASE = 190.0
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
    high = max([value_in(r, unit) for r in group] + [high_in(r, unit) or low_in(r, unit) or 0 for r in group])
    marks = ticks(0, high or 1)
    scale = Scale(0, marks[-1], _BASE, TOP + 8)
    shapes = (
        *_bands(group, scale, unit), *y_axis(scale, marks, unit_text(unit) or "each"),
        *_bars(group, names, scale, unit),
    )  # fmt: skip
    key = [(f"s{i % 3}", short_name(next(r for r in group if r.name == x))) for i, x in enumerate(names)]
    limits = [r for r in group if r.judged is not None and r.judged.limit_text]
    if limits:
        key.append(("band", f"expected, {limits[0].judged.limit_text if limits[0].judged else ''}"))
    return Picture(
        f"cylinders-{n}", f"{title} by cylinder", _tells(name, group), _BASE + 26 + 14 * _lines(group), shapes,
        _twin(name, group), tuple(key),
    )  # fmt: skip


def _lines(group: Sequence[Reading]) -> int:
    """How many verdicts stand under the fullest cylinder, two at most."""
    counts = [sum(1 for r in group if r.cylinder == c and r.judged is not None) for c in _cylinders(group)]
    return min(max(*counts, 1), 2)


def _cylinders(group: Sequence[Reading]) -> list[int]:
    return sorted({r.cylinder for r in group if r.cylinder is not None})


def _slot(group: Sequence[Reading], cylinder: int) -> tuple[float, float]:
    """(left edge, width) of a cylinder's place on the axis."""
    order = _cylinders(group)
    width = (RIGHT - LEFT) / len(order)
    return LEFT + order.index(cylinder) * width, width


def _bands(group: Sequence[Reading], scale: Scale, unit: str) -> Iterator[Shape]:
    """The expected band behind each cylinder, from the first reading there that has one."""
    done: set[int] = set()
    for r in group:
        low, high = low_in(r, unit), high_in(r, unit)
        if r.cylinder is None or r.cylinder in done or (low is None and high is None):
            continue
        done.add(r.cylinder)
        x, width = _slot(group, r.cylinder)
        top, bottom = scale(high if high is not None else scale.high), scale(low if low is not None else scale.low)
        yield Box(x, top, width, bottom - top, "band")


def _bars(group: Sequence[Reading], names: Sequence[str], scale: Scale, unit: str) -> Iterator[Shape]:
    for cylinder in _cylinders(group):
        x, width = _slot(group, cylinder)
        here = [r for r in group if r.cylinder == cylinder]
        each = min(width * 0.8 / len(names), 44.0)
        left = x + (width - each * len(here)) / 2
        for k, r in enumerate(here):
            yield from _bar(r, names.index(r.name), left + k * each, each, scale, unit)
        name = f"cylinder {cylinder}" if width > _WIDE else str(cylinder)
        yield Word(x + width / 2, _BASE + 18, name, "lb", "middle")
        words = [f"{short_name(r)}: {r.judged.word}" for r in here if r.judged is not None]
        for k, text in enumerate(words[:2] if width > _WIDE else []):
            yield Word(x + width / 2, _BASE + 34 + 14 * k, fit(text, int(width / 7)), "lb dim", "middle")
    yield Rule(LEFT, _BASE, RIGHT, _BASE, "ax")
    if _slot(group, _cylinders(group)[0])[1] <= _WIDE:
        yield Word(RIGHT, _BASE + 33, "cylinder", "lb dim", "end")


def _bar(r: Reading, series: int, x: float, width: float, scale: Scale, unit: str) -> Iterator[Shape]:
    value = value_in(r, unit)
    y = scale(value)
    css = f"s{series % 3}{' out' if outside(r) else ''}{' old' if r.counts == 'stale' else ''}"
    verdict = f", {r.judged.word}" if r.judged else ""
    tip = f"{r.label}, cylinder {r.cylinder}: {reading_text(r.value)}{verdict}"
    yield Box(x + 2, y, width - 4, _BASE - y, css, tip)
    if width >= _ROOM:
        yield Word(x + width / 2, y - 5, short(value), "lb val", "middle")


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
