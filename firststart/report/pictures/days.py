"""The timeline: a row a day, the hours of the day across, a bar for each piece of work, a mark for each crank.

Work that another piece of work called for lies inside it and has a line in the table only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime, timedelta

from firststart.report.axis import Scale, clock_ticks
from firststart.report.model import Report, Span
from firststart.report.picture import RIGHT, TOP, Box, Picture, Rule, Shape, Table, Word, cells, x_axis
from firststart.report.wording import clock, plural, seconds_text, short_day, stamp

_LEFT, _ROW, _MOST = 88.0, 40.0, 14
_KEY = (
    ("s0", "done"), ("s0 out", "found wanting"), ("s2", "left or undecided"), ("s1", "under way"), ("tick", "a crank"),
)  # fmt: skip
_CSS = {"ok": "s0", "bad": "s0 out", "undecided": "s2", "left": "s2", "": "s1"}
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
    low, high = max(min(marks) - 10, 0.0), min(max(marks) + 10, 1440.0)
    scale = Scale(low, high, _LEFT, RIGHT - 4)
    base = TOP + _ROW * len(days)
    hours = [(m, f"{int(m) // 60:02d}:{int(m) % 60:02d}") for m in clock_ticks(low, high, 7)]
    shapes: list[Shape] = [Rule(scale(m), TOP - 4, scale(m), base, "gr") for m, _ in hours]
    for n, day in enumerate(days):
        shapes += _day(day, TOP + _ROW * n, [p for p in pieces if p[2] == day], scale)
    shapes += [
        Rule(scale(_minutes(c.began)), y + 23, scale(_minutes(c.began)), y + 33, "tick")
        for c in cranks
        for y in [TOP + _ROW * days.index(c.began.date())]
    ]
    shapes += x_axis(scale, hours, base)
    return Picture(
        "days", "When what was done", _tells(report, all_days), base + 28, tuple(shapes), _twin(report), _KEY
    )


def _day(day: date, y: float, pieces: Sequence[_Piece], scale: Scale) -> Iterator[Shape]:
    """A day's row: a bar for each piece of work that interrupted no other, numbered where there is room."""
    yield Word(_LEFT - 8, y + 15, short_day(day), "lb", "end")
    yield Rule(_LEFT, y + 36, RIGHT, y + 36, "gr")
    for number, span, _, first, last in pieces:
        x, width = scale(first), max(scale(last) - scale(first), 2.0)
        css = _CSS.get(span.outcome, "s2")
        tip = f"{number}. {span.title}, {clock(span.began)} to {clock(span.ended)}"
        yield Box(x, y + 3, width, 18, f"bar {css}", tip)
        if width > 18:
            yield Word(x + width / 2, y + 16, str(number), "on out" if "out" in css else "on", "middle")


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
