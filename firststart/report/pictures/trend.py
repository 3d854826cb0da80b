"""Trends: what was measured in more than one run, or in more than one job on this engine, with its doubt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from firststart.report.inline import BAND, ONE, PAPER, RULE, THREE, TWO
from firststart.report.model import Reading, Report
from firststart.report.picture import Picture, Table, cells
from firststart.report.pictures.series import VALID, high_in, low_in, outside, short, short_name, value_in
from firststart.report.plot import WANTING, canvas, round_values, tip, unit_above, write
from firststart.report.wording import capital, label, reading_text, short_day, stamp, unit_text

if TYPE_CHECKING:
    from firststart.report.plot import Axes

_HEIGHT, _PLOT, _MOST = 210.0, 152.0, 6  # of the picture, of its axes, and how many there are
_LOOKS = ((ONE, "o"), (TWO, "s"), (THREE, "D"))  # a cylinder's colour and mark; beyond three its line is broken too
_DASHES = ("-", (0, (4, 2)), (0, (1, 1.5)))
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
    values = [value_in(r, unit) for _, r in points] + bounds
    with canvas(_HEIGHT) as figure:
        axes = figure.subplots()
        axes.set(xlim=(-0.3, runs - 0.7), ylim=_between(values))
        axes.grid(axis="y")
        round_values(axes.yaxis, 6)
        unit_above(axes, unit_text(unit))
        if bounds:
            _band(axes, points[-1][1], unit)
        _lines(axes, points, unit)
        _dates(axes, points)
    cylinders = sorted({r.cylinder for _, r in points if r.cylinder is not None})
    key = [(f"p{i % 3}", f"cylinder {c}") for i, c in enumerate(cylinders)]
    if any(outside(r) for _, r in points):
        key.append(("wanting", "found wanting"))
    if bounds:
        key.append(("band", "expected now"))
    title = f"{capital(label(name))} from test to test"
    return Picture(f"trend-{n}", title, _tells(points), figure, _twin(title, points), tuple(key))


def _between(values: Sequence[float]) -> tuple[float, float]:
    """Where the axis begins and ends: a little room around all values, never of no width, and no false minus."""
    low, high = min(values), max(values)
    room = (high - low) * 0.12 or abs(high) * 0.08 or 1.0
    return (max(low - room, 0.0) if low >= 0 else low - room), high + room


def _band(axes: Axes, last: Reading, unit: str) -> None:
    low, high = low_in(last, unit), high_in(last, unit)
    bottom, top = axes.get_ylim()
    axes.axhspan(bottom if low is None else low, top if high is None else high, facecolor=BAND, label="band")


def _lines(axes: Axes, points: Sequence[Point], unit: str) -> None:
    """A line for each cylinder, through its readings; a whisker of half the instrument's step at each."""
    ends: list[tuple[float, str]] = []
    order = sorted({r.cylinder or 0 for _, r in points})
    for i, cylinder in enumerate(order):
        mine = [(k, r, value_in(r, unit)) for k, r in points if (r.cylinder or 0) == cylinder]
        color, mark = _LOOKS[i % 3]
        places, values = [k for k, _, _ in mine], [v for _, _, v in mine]
        halves = [_half(r, unit) for _, r, _ in mine]
        axes.errorbar(places, values, halves, fmt="none", ecolor=RULE, elinewidth=1.2)
        axes.plot(places, values, color=color, linestyle=_DASHES[i // 3 % 3], label=f"cylinder {cylinder}")
        plain: dict[str, Any] = {"marker": mark, "markersize": 8, "markerfacecolor": color, "markeredgecolor": PAPER}
        for k, r, v in mine:
            (dot,) = axes.plot(k, v, linestyle="none", clip_on=False, **(WANTING if outside(r) else plain))
            tip(dot, f"{stamp(r.at)}: {reading_text(r.value)}")
        ends.append((values[-1], f"{cylinder}: {short(values[-1])}" if len(order) > 1 else short(values[-1])))
    _ends(axes, ends)


def _ends(axes: Axes, ends: Sequence[tuple[float, str]]) -> None:
    """The newest values at the right, moved apart so that none covers another."""
    bottom, top = axes.get_ylim()
    letter = (top - bottom) / _PLOT * 14
    places: list[float] = []
    for value, _ in sorted(ends):
        places.append(max(value, places[-1] + letter if places else value))
    down = max(places[-1] - top, 0.0)
    for place, (_, text) in zip(places, sorted(ends), strict=True):
        at = (1, place - down)
        write(axes, at, text, (6, 0), xycoords=axes.get_yaxis_transform(), ha="left", va="center", weight="bold")


def _half(r: Reading, unit: str) -> float:
    """Half an instrument's step; nothing when the step is not known in this unit."""
    return r.resolution.value / 2 if r.resolution is not None and r.value.unit == unit else 0.0


def _dates(axes: Axes, points: Sequence[Point]) -> None:
    first: dict[int, Reading] = {}
    for k, r in points:
        first.setdefault(k, r)
    years = len({r.at.year for r in first.values()}) > 1
    every = math.ceil(len(first) / (4 if years else 6))
    told = [short_day(r.at) if years else short_day(r.at)[:-5] for r in first.values()]
    axes.set_xticks(list(first), [text if k % every == 0 else "" for k, text in zip(first, told, strict=True)])


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
