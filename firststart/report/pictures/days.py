"""The timeline: a row a day, the hours of the day across, a bar for each piece of work, a mark for each crank.

Work that another piece of work called for lies inside it and has a line in the table only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from firststart.report.inline import INK, ON, PAPER
from firststart.report.model import Report, Span
from firststart.report.picture import Picture, Table, cells
from firststart.report.plot import FILLS, GRID, canvas, hours, rows, tip, write
from firststart.report.wording import clock, plural, seconds_text, short_day, stamp

if TYPE_CHECKING:
    from firststart.report.plot import Axes

_ROW, _MOST, _DAY = 40.0, 14, 1440.0
_KEY = (
    ("s0", "done"), ("out", "found wanting"), ("s2", "left or undecided"), ("s1", "under way"), ("tick", "a crank"),
)  # fmt: skip
_CSS = {"ok": "s0", "bad": "out", "undecided": "s2", "left": "s2", "": "s1"}
_Piece = tuple[int, Span, date, float, float]  # number, span, day, first and last minute of that day


def day_pictures(report: Report) -> tuple[Picture, ...]:
    """One picture of the newest days on which anything was done; none for a job without work."""
    worked = {p[2] for p in _pieces(report.spans)}
    days = sorted(worked | {c.began.date() for c in report.starter.cranks})
    return (_picture(report, days[-_MOST:], len(days)),) if days else ()


def _minutes(moment: datetime) -> float:
    return moment.hour * 60 + moment.minute + moment.second / 60


def _pieces(spans: Sequence[Span]) -> Iterator[_Piece]:
    """(number, span, day, first minute, last minute), a stretch over midnight in its parts."""
    for n, span in enumerate(spans, 1):
        for start, end in span.pieces:
            day = start.date()
            while day <= end.date():
                first = _minutes(start) if day == start.date() else 0.0
                last = _minutes(end) if day == end.date() else 1440.0
                yield n, span, day, first, last
                day += timedelta(days=1)


def _picture(report: Report, days: Sequence[date], all_days: int) -> Picture:
    pieces = [p for p in _pieces(report.spans) if p[2] in days and p[1].depth == 0]
    cranks = [c for c in report.starter.cranks if c.began.date() in days]
    marks = [m for p in pieces for m in p[3:]] + [_minutes(c.began) for c in cranks]
    low, high = max(min(marks) - 10, 0.0), min(max(marks) + 10, _DAY)
    with canvas(_ROW * len(days) + 40) as figure:
        axes = figure.subplots()
        axes.set_xlim(low / _DAY, high / _DAY)  # the axis counts in days
        axes.grid(axis="x")
        hours(axes.xaxis, 7)
        rows(axes, [short_day(day) for day in days], 14)
        for n, day in enumerate(days):
            _day(axes, n, [p for p in pieces if p[2] == day], (high - low) / 360)
            axes.axhline(n + 0.5, **GRID)
        for c in cranks:
            n = days.index(c.began.date())
            axes.vlines(_minutes(c.began) / _DAY, n + 0.12, n + 0.38, colors=INK, linewidth=2, label="crank")
    there = {_CSS.get(p[1].outcome, "s2") for p in pieces} | ({"tick"} if cranks else set())
    key = tuple(pair for pair in _KEY if pair[0] in there)
    return Picture("days", "When what was done", _tells(report, all_days), figure, _twin(report), key)


def _day(axes: Axes, row: int, pieces: Sequence[_Piece], unit: float) -> None:
    """A day's row: a bar for each piece of work that interrupted no other, numbered where there is room.

    `unit`: how many minutes a unit of the picture's width stands for.
    """
    for number, span, _, first, last in pieces:
        width = max(last - first, 2 * unit)
        css = _CSS.get(span.outcome, "s2")
        (bar,) = axes.barh(row - 0.2, width / _DAY, 0.46, first / _DAY, **FILLS[css])
        tip(bar, f"{number}. {span.title}, {clock(span.began)} to {clock(span.ended)}")
        if width / unit > 12 + 9 * len(str(number)):
            back = str(FILLS[css]["facecolor"])
            box = {"facecolor": back, "edgecolor": "none", "pad": 1.0}
            color = INK if back == PAPER else ON
            at = ((first + width / 2) / _DAY, row - 0.2)
            write(axes, at, str(number), va="center", weight="bold", color=color, bbox=box)


def _tells(report: Report, days: int) -> str:
    worked = sum(s.seconds for s in report.spans if s.depth == 0)
    pieces, cranks = plural(len(report.spans), "piece"), plural(len(report.starter.cranks), "crank")
    spent = seconds_text(worked)
    drawn = f" The newest {_MOST} days are drawn." if days > _MOST else ""
    return f"{pieces} of work on {plural(days, 'day')}, with {cranks}; about {spent} at it.{drawn}"


def _twin(report: Report) -> Table:
    rows = tuple(
        cells(f"{n}. {s.title}", stamp(s.began), seconds_text(s.seconds), _outcome(s))
        for n, s in enumerate(report.spans, 1)
    )
    return Table("Work in time", ("Work", "Began", "Took", "Outcome"), rows)


def _outcome(span: Span) -> str:
    words = {"ok": "done", "bad": "found wanting", "left": "left for later", "": "under way"}
    return words.get(span.outcome, "undecided")
