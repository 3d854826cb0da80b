"""Seconds cranked and the winding's computed temperature through one sitting at the engine."""

from __future__ import annotations

from collections.abc import Iterator

from firststart.report.axis import Scale, clock_ticks, ticks
from firststart.report.model import CrankLine, Report, Sitting
from firststart.report.picture import (
    LEFT,
    RIGHT,
    TOP,
    Box,
    Picture,
    Rule,
    Shape,
    Table,
    Trace,
    Word,
    cells,
    x_axis,
    y_axis,
)
from firststart.report.wording import celsius, clock, plural, seconds_text, short_day

SHOWN = 4  # sittings drawn, the newest
_HOT = (TOP + 8, 130.0)  # top and bottom of the temperature's part
_TURN = (170.0, 230.0)  # of the seconds' part
_HEIGHT = 268.0


def starter_pictures(report: Report) -> tuple[Picture, ...]:
    """The newest sittings with their cranks, oldest first."""
    if not report.starter.electric:
        return ()
    shown = [s for s in report.starter.sittings if s.heat][-SHOWN:]
    return tuple(_picture(n, sitting, report) for n, sitting in enumerate(shown, 1))


def _picture(n: int, sitting: Sitting, report: Report) -> Picture:
    end = sitting.heat[-1][0] / 60
    time = Scale(0.0, end, LEFT, RIGHT)
    limit = report.starter.limit_k - 273.15
    shapes = (
        *_temperature(sitting, time, limit),
        *_seconds(sitting, time),
        *x_axis(time, [(t, f"{t:g}") for t in clock_ticks(0, end)], _TURN[1]),
        Word(RIGHT, _TURN[1] + 32, f"minutes after {clock(sitting.began)}", "lb dim", "end"),
    )
    total = sum(c.seconds for c in sitting.cranks)
    peak = max(w for _, w, _ in sitting.heat)
    tells = (
        f"{short_day(sitting.began)}: {plural(len(sitting.cranks), 'crank')}, {seconds_text(total)} in all. "
        f"The winding reached {celsius(peak)} by reckoning; its limit is {celsius(report.starter.limit_k)}."
    )
    key = (("t0", "winding, computed"), ("t1", "body, computed"), ("lim", "limit"), ("s0", "seconds cranked"))
    title = f"Starter on {short_day(sitting.began)}"
    return Picture(f"starter-{n}", title, tells, _HEIGHT, shapes, _twin(sitting, title), key)


def _temperature(sitting: Sitting, time: Scale, limit: float) -> Iterator[Shape]:
    winding = [(s / 60, w - 273.15) for s, w, _ in sitting.heat]
    body = [(s / 60, b - 273.15) for s, _, b in sitting.heat]
    low, high = min(t for _, t in (*body, *winding)), max(limit, *(t for _, t in winding))
    marks = ticks(min(low, 0 if low < 20 else 20), high, 5)
    scale = Scale(marks[0], marks[-1], _HOT[1], _HOT[0])
    yield from y_axis(scale, marks, "°C")
    yield Rule(LEFT, scale(limit), RIGHT, scale(limit), "lim")
    yield Word(RIGHT, scale(limit) - 5, "limit", "lb dim", "end")
    yield Trace(tuple((time(t), scale(v)) for t, v in body), "t1")
    yield Trace(tuple((time(t), scale(v)) for t, v in winding), "t0")


def _seconds(sitting: Sitting, time: Scale) -> Iterator[Shape]:
    longest = max(max(c.seconds, c.limit_s or 0) for c in sitting.cranks)
    marks = ticks(0, longest or 1, 3)
    scale = Scale(0, marks[-1], _TURN[1], _TURN[0])
    yield from y_axis(scale, marks, "s")
    first = sitting.cranks[0].start
    for c in sitting.cranks:
        x = time((c.start - first) / 60)
        width = max(time((c.start - first + c.seconds) / 60) - x, 5.0)
        y = scale(c.seconds)
        yield Box(x, y, width, scale(0) - y, f"s0{' out' if c.over_run or c.early else ''}", _tip(c))
        if c.limit_s is not None:
            yield Rule(x - 3, scale(c.limit_s), x + width + 3, scale(c.limit_s), "lim")


def _tip(c: CrankLine) -> str:
    permitted = f", {seconds_text(c.limit_s)} permitted" if c.limit_s is not None else ""
    return f"{clock(c.began)}: {seconds_text(c.seconds)}{permitted}"


def _twin(sitting: Sitting, title: str) -> Table:
    rows = tuple(
        cells(
            f"{c.began:%H:%M:%S}", seconds_text(c.seconds),
            seconds_text(c.limit_s) if c.limit_s is not None else "none",
            seconds_text(c.rested_s) if c.rested_s is not None else "none before", celsius(c.winding_k),
        )
        for c in sitting.cranks
    )  # fmt: skip
    return Table(title, ("Began", "Cranked", "Permitted", "Rest before", "Winding after"), rows)
