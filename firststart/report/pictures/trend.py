"""Trends: what was measured in more than one run, or in more than one job on this engine, with its doubt."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import datetime

from firststart.report.axis import Scale, around, short, ticks
from firststart.report.model import Reading, Report
from firststart.report.picture import (
    LEFT,
    TOP,
    Box,
    Dot,
    Picture,
    Rule,
    Shape,
    Table,
    Trace,
    Word,
    cells,
    y_axis,
)
from firststart.report.pictures.series import VALID, high_in, low_in, outside, short_name, value_in
from firststart.report.wording import capital, label, reading_text, short_day, stamp, unit_text

_BASE, _HEIGHT, _MOST = 170.0, 196.0, 6
_EDGE = 398.0  # the newest values stand to the right of it
Point = tuple[int, Reading]  # the run's place on the axis, and the reading


def trend_pictures(report: Report, earlier: Sequence[Report] = ()) -> tuple[Picture, ...]:
    """A picture for each name that was measured in two runs or more, here and in `earlier` jobs, oldest first.

    What was only told (no verdict, no instrument's step) has none; what is judged for each cylinder stands first.
    """
    groups: dict[str, list[tuple[tuple[datetime, str, int], Reading]]] = {}
    for job in sorted([*earlier, report], key=lambda j: j.opened):
        for r in job.readings:
            if r.counts in VALID:
                groups.setdefault(r.name, []).append(((r.at, job.job, r.run), r))
    pictures: list[Picture] = []
    for name, found in sorted(groups.items(), key=lambda group: _rank([r for _, r in group[1]])):
        if all(r.judged is None and r.resolution is None for _, r in found):
            continue
        runs = list(dict.fromkeys(key[1:] for key, _ in found))
        if len(runs) > 1:
            points = [(runs.index(key[1:]), r) for key, r in found]
            pictures.append(_picture(len(pictures) + 1, name, points, len(runs)))
    return tuple(pictures[:_MOST])


def _rank(readings: Sequence[Reading]) -> int:
    """Judged for each cylinder, judged, only measured; `sorted` keeps the order of the work within each."""
    judged = any(r.judged is not None for r in readings)
    return 2 - judged - (judged and readings[0].cylinder is not None)


def _picture(n: int, name: str, points: Sequence[Point], runs: int) -> Picture:
    unit = points[-1][1].value.unit
    bounds = [b for _, r in points[-1:] for b in (low_in(r, unit), high_in(r, unit)) if b is not None]
    low, high = around([value_in(r, unit) for _, r in points] + bounds)
    marks = ticks(max(low, 0.0) if low > -abs(high) * 0.2 else low, high, 5)
    scale = Scale(marks[0], marks[-1], _BASE, TOP + 8)
    place = Scale(-0.3, runs - 0.9, LEFT, _EDGE)
    shapes = (
        *_band(points[-1][1], scale, unit), *y_axis(scale, marks, unit_text(unit), LEFT, _EDGE),
        *_lines(points, scale, place, unit), *_dates(points, place),
    )  # fmt: skip
    cylinders = sorted({r.cylinder for _, r in points if r.cylinder is not None})
    key = [(f"s{i % 3}", f"cylinder {c}") for i, c in enumerate(cylinders)]
    if bounds:
        key.append(("band", "expected now"))
    title = f"{capital(label(name))} from test to test"
    return Picture(f"trend-{n}", title, _tells(points), _HEIGHT, shapes, _twin(title, points), tuple(key))


def _band(last: Reading, scale: Scale, unit: str) -> Iterator[Shape]:
    low, high = low_in(last, unit), high_in(last, unit)
    if low is None and high is None:
        return
    top, bottom = scale(high if high is not None else scale.high), scale(low if low is not None else scale.low)
    yield Box(LEFT, top, _EDGE - LEFT, bottom - top, "band")


def _lines(points: Sequence[Point], scale: Scale, place: Scale, unit: str) -> Iterator[Shape]:
    """A line for each cylinder, through its readings; a whisker of half the instrument's step at each."""
    ends: list[tuple[float, str]] = []
    order = sorted({r.cylinder or 0 for _, r in points})
    for i, cylinder in enumerate(order):
        mine = [(place(k), r) for k, r in points if (r.cylinder or 0) == cylinder]
        yield Trace(tuple((x, scale(value_in(r, unit))) for x, r in mine), f"s{i % 3} line d{i // 3}")
        for x, r in mine:
            y, half = scale(value_in(r, unit)), _half(r, scale, unit)
            yield Rule(x, y - half, x, y + half, "ax")
            yield Dot(x, y, 4.5, f"s{i % 3}{' out' if outside(r) else ''}", f"{stamp(r.at)}: {reading_text(r.value)}")
        last = mine[-1][1]
        text = short(value_in(last, unit))
        ends.append((scale(value_in(last, unit)), f"{cylinder}: {text}" if len(order) > 1 else text))
    yield from _ends(ends)


def _ends(ends: Sequence[tuple[float, str]]) -> Iterator[Shape]:
    """The newest values at the right, moved apart so that none covers another."""
    places: list[float] = []
    for wanted, _ in sorted(ends):
        places.append(max(wanted + 4, places[-1] + 12 if places else 0.0))
    up = max(places[-1] - _BASE, 0.0)
    for y, (_, text) in zip(places, sorted(ends), strict=True):
        yield Word(_EDGE + 6, y - up, text, "lb val")


def _half(r: Reading, scale: Scale, unit: str) -> float:
    """Half an instrument's step on the scale; nothing when the step is not known in this unit."""
    step = r.resolution.value if r.resolution is not None and r.value.unit == unit else 0.0
    return abs(scale.end - scale.start) * (step / 2) / (scale.high - scale.low)


def _dates(points: Sequence[Point], place: Scale) -> Iterator[Shape]:
    first: dict[int, Reading] = {}
    for k, r in points:
        first.setdefault(k, r)
    years = len({r.at.year for r in first.values()}) > 1
    yield Rule(LEFT, _BASE, _EDGE, _BASE, "ax")
    every = math.ceil(len(first) / (4 if years else 6))
    for k, r in first.items():
        yield Rule(place(k), _BASE, place(k), _BASE + 4, "ax")
        if k % every == 0:
            text = short_day(r.at) if years else short_day(r.at)[:-5]
            yield Word(place(k), _BASE + 17, text, "lb", "middle")


def _tells(points: Sequence[Point]) -> str:
    parts = []
    for cylinder in sorted({r.cylinder or 0 for _, r in points}):
        mine = [reading_text(r.value) for _, r in points if (r.cylinder or 0) == cylinder]
        told = f"{mine[0]}, then {mine[-1]}" if len(mine) > 1 else mine[0]
        parts.append((f"cylinder {cylinder}: " if cylinder else "") + told)
    tests = len({k for k, _ in points})
    return f"{capital(short_name(points[0][1]))}, first and newest of {tests} tests: {'; '.join(parts)}."


def _twin(title: str, points: Sequence[Point]) -> Table:
    rows = tuple(
        cells(
            f"Test {k + 1}", stamp(r.at), "" if r.cylinder is None else str(r.cylinder), reading_text(r.value),
            r.judged.word if r.judged else "not judged",
        )
        for k, r in points
    )  # fmt: skip
    return Table(title, ("Test", "When", "Cylinder", "Value", "Judged"), rows)
