"""Seconds cranked and the winding's computed temperature through one sitting at the engine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firststart.report.inline import BAD, DIM, ONE, RULE
from firststart.report.model import CrankLine, Report, Sitting
from firststart.report.picture import Picture, Table, cells
from firststart.report.plot import FILLS, canvas, minutes, round_values, tip, unit_above, write
from firststart.report.wording import celsius, clock, plural, seconds_text, short_day

if TYPE_CHECKING:
    from firststart.report.plot import Axes

SHOWN = 4  # sittings drawn, the newest
_HEIGHT = 276.0
_DASHED = (0, (3, 2))


def starter_pictures(report: Report) -> tuple[Picture, ...]:
    """The newest sittings with their cranks, oldest first."""
    if not report.starter.electric:
        return ()
    shown = [s for s in report.starter.sittings if s.heat][-SHOWN:]
    return tuple(_picture(n, sitting, report) for n, sitting in enumerate(shown, 1))


def _picture(n: int, sitting: Sitting, report: Report) -> Picture:
    end = sitting.heat[-1][0] / 60
    with canvas(_HEIGHT) as figure:
        heat, turn = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1))
        heat.set_xlim(0, end)
        heat.tick_params(axis="x", length=0)
        _temperature(heat, sitting, report.starter.limit_k - 273.15)
        _seconds(turn, sitting, end / 400)
        minutes(turn.xaxis, 8)
        turn.set_xlabel(f"minutes after {clock(sitting.began)}", loc="right")
    total = sum(c.seconds for c in sitting.cranks)
    peak = max(w for _, w, _ in sitting.heat)
    tells = (
        f"{short_day(sitting.began)}: {plural(len(sitting.cranks), 'crank')}, {seconds_text(total)} in all. "
        f"The winding reached {celsius(peak)} by reckoning; its limit is {celsius(report.starter.limit_k)}."
    )
    key = [("t0", "winding, computed"), ("t1", "body, computed"), ("lim", "limit"), ("s0", "seconds cranked")]
    if any(c.over_run or c.early for c in sitting.cranks):
        key.append(("out", "too long or too early"))
    title = f"Starter on {short_day(sitting.began)}"
    return Picture(f"starter-{n}", title, tells, figure, _twin(sitting, title), tuple(key))


def _temperature(axes: Axes, sitting: Sitting, limit: float) -> None:
    times = [s / 60 for s, _, _ in sitting.heat]
    winding, body = [w - 273.15 for _, w, _ in sitting.heat], [b - 273.15 for _, _, b in sitting.heat]
    low, high = min(*body, *winding), max(limit, *winding)
    bottom = min(low, 0 if low < 20 else 20)
    axes.set_ylim(bottom, high)
    axes.grid(axis="y")
    round_values(axes.yaxis, 5)
    unit_above(axes, "°C")
    axes.axhline(limit, label="limit", color=BAD, linewidth=1.6, linestyle=_DASHED, clip_on=False)
    write(axes, (1, limit), "limit", (0, 5), xycoords=axes.get_yaxis_transform(), ha="right", color=DIM)
    axes.plot(times, body, color=RULE, linestyle=(0, (1, 1.5)), label="body")
    axes.plot(times, winding, color=ONE, label="winding")


def _seconds(axes: Axes, sitting: Sitting, unit: float) -> None:
    """A bar for each crank, never so thin that it is not seen; `unit`: minutes in a unit of the picture's width."""
    axes.set_ylim(0, max(max(c.seconds, c.limit_s or 0) for c in sitting.cranks) or 1)
    axes.grid(axis="y")
    round_values(axes.yaxis, 3)
    unit_above(axes, "s")
    first = sitting.cranks[0].start
    for c in sitting.cranks:
        x, width = (c.start - first) / 60, max(c.seconds / 60, 5 * unit)
        fill = FILLS["out" if c.over_run or c.early else "s0"]
        (bar,) = axes.bar(x, c.seconds, width, align="edge", label="crank", **fill)
        tip(bar, _tip(c))
        if c.limit_s is not None:
            ends = [x - 3 * unit, x + width + 3 * unit]
            axes.plot(ends, [c.limit_s] * 2, color=BAD, linewidth=1.6, linestyle=_DASHED, clip_on=False, label="may")


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
