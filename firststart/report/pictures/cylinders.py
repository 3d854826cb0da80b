"""Bars by cylinder with the band each reading was held against."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from firststart.report.axis import Scale, number, ticks
from firststart.report.model import Reading, Report
from firststart.report.picture import LEFT, RIGHT, TOP, Box, Cell, Picture, Rule, Shape, Table, Word, y_axis
from firststart.report.pictures.series import group_name, high_in, low_in, newest, outside, short_name, value_in
from firststart.report.wording import capital, reading_text

_BASE, _HEIGHT = 190.0, 250.0


def cylinder_pictures(report: Report) -> tuple[Picture, ...]:
    """One picture for each group of readings that were made cylinder by cylinder."""
    groups: dict[tuple[str, str], list[Reading]] = {}
    for reading in newest(report.readings):
        if reading.cylinder is not None:
            groups.setdefault((group_name(reading), reading.value.kind), []).append(reading)
    return tuple(_picture(n, name, group) for n, ((name, _), group) in enumerate(groups.items(), 1))


def _picture(n: int, name: str, group: Sequence[Reading]) -> Picture:
    unit = group[0].value.unit
    names = list(dict.fromkeys(r.name for r in group))
    high = max([value_in(r, unit) for r in group] + [high_in(r, unit) or low_in(r, unit) or 0 for r in group])
    marks = ticks(0, high or 1)
    scale = Scale(0, marks[-1], _BASE, TOP + 8)
    shapes = (*_bands(group, scale, unit), *y_axis(scale, marks, unit or "each"), *_bars(group, names, scale, unit))
    key = [(f"s{i % 3}", short_name(next(r for r in group if r.name == x))) for i, x in enumerate(names)]
    limits = [r for r in group if r.judged is not None and r.judged.limit_text]
    if limits:
        key.append(("band", f"expected, {limits[0].judged.limit_text if limits[0].judged else ''}"))
    return Picture(
        f"cylinders-{n}", f"{capital(name)} by cylinder", _tells(name, group), _HEIGHT, shapes, _twin(name, group),
        tuple(key),
    )  # fmt: skip


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
        yield Word(x + width / 2, _BASE + 18, f"cylinder {cylinder}", "lb", "middle")
        words = [f"{short_name(r)}: {r.judged.word}" for r in here if r.judged is not None]
        for k, text in enumerate(words[:2]):
            yield Word(x + width / 2, _BASE + 34 + 14 * k, text, "lb dim", "middle")
    yield Rule(LEFT, _BASE, RIGHT, _BASE, "ax")


def _bar(r: Reading, series: int, x: float, width: float, scale: Scale, unit: str) -> Iterator[Shape]:
    value = value_in(r, unit)
    y = scale(value)
    css = f"s{series % 3}{' out' if outside(r) else ''}{' old' if r.counts == 'stale' else ''}"
    verdict = f", {r.judged.word}" if r.judged else ""
    tip = f"{r.label}, cylinder {r.cylinder}: {reading_text(r.value)}{verdict}"
    yield Box(x + 2, y, width - 4, _BASE - y, css, tip)
    yield Word(x + width / 2, y - 5, number(round(value, 1)), "lb val", "middle")


def _tells(name: str, group: Sequence[Reading]) -> str:
    parts = []
    for r in group:
        verdict = f", {r.judged.word}" if r.judged else ""
        parts.append(f"cylinder {r.cylinder} {short_name(r)} {reading_text(r.value)}{verdict}")
    return f"{capital(name)}: {'; '.join(parts)}."


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
