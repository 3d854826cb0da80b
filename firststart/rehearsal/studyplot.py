"""A study as a picture: overhead minutes and wrong calls of every policy, with their intervals, as SVG.

Text stays text, and colours follow the reader's own (currentColor), so that it can be read in the dark as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from html import escape

from firststart.rehearsal.figures import Pair
from firststart.rehearsal.studytable import Figures, Result

WIDTH, LEFT, RIGHT, ROW, HEAD, FOOT = 760.0, 170.0, 730.0, 26.0, 34.0, 34.0
Take = Callable[[Figures], tuple[float, Pair]]


def picture(result: Result) -> str:
    """The picture as the text of an SVG file."""
    panels: list[tuple[str, Mapping[str, Figures], Take]] = [
        ("Overhead, minutes: all policies on the same engines", result.policies, _overhead),
        ("Wrong calls a job", result.policies, _wrong),
        ("Overhead of firststart, minutes, by hidden conditions", result.by_faults, _overhead),
        ("Overhead of firststart, minutes, by kind of engine", result.by_kind, _overhead),
    ]
    parts, top = [], 10.0
    for title, figures, take in panels:
        if figures:
            parts.append(_panel(title, {name: take(x) for name, x in figures.items()}, top))
            top += HEAD + FOOT + ROW * len(figures)
    style = "text{font:13px sans-serif;fill:currentColor}.t{font-weight:bold}line{stroke:currentColor}.g{opacity:.25}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {top:.0f}" role="img" '
        f'aria-label="Figures of a study with 95 per cent intervals"><style>{style}</style>{"".join(parts)}</svg>\n'
    )


def _overhead(x: Figures) -> tuple[float, Pair]:
    return x.overhead, x.overhead_between


def _wrong(x: Figures) -> tuple[float, Pair]:
    return x.wrong, x.wrong_between


def _panel(title: str, rows: Mapping[str, tuple[float, Pair]], top: float) -> str:
    """One panel: a dot and a bar from the low to the high end for each row, on an axis from nothing."""
    marks = _marks(max(1e-6, *(high for _, (_, high) in rows.values())))

    def scale(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * value / marks[-1]

    floor = top + HEAD + ROW * len(rows)
    parts = [f'<text class="t" x="10" y="{top + 16:.1f}">{escape(title)}</text>']
    for mark in marks:
        x = scale(mark)
        parts.append(f'<line class="g" x1="{x:.1f}" y1="{top + HEAD - 6:.1f}" x2="{x:.1f}" y2="{floor:.1f}"/>')
        parts.append(f'<text x="{x:.1f}" y="{floor + 16:.1f}" text-anchor="middle">{mark:g}</text>')
    for n, (name, (value, (low, high))) in enumerate(rows.items()):
        y = top + HEAD + ROW * (n + 0.5)
        tip = f"<title>{escape(name)}: {value:.2f} ({low:.2f} to {high:.2f})</title>"
        parts.append(f'<text x="{LEFT - 12:.0f}" y="{y + 4:.1f}" text-anchor="end">{escape(name)}</text>')
        parts.append(f'<line x1="{scale(low):.1f}" y1="{y:.1f}" x2="{scale(high):.1f}" y2="{y:.1f}" stroke-width="3"/>')
        parts.append(f'<circle cx="{scale(value):.1f}" cy="{y:.1f}" r="5" fill="currentColor">{tip}</circle>')
    return "".join(parts)


def _marks(high: float) -> tuple[float, ...]:
    """Round values from nothing to `high` or over: steps of 1, 2 or 5 times a power of ten (Heckbert 1990)."""
    power = 10.0 ** math.floor(math.log10(high / 6))
    step = next(n * power for n in (1, 2, 5, 10) if n * power * 6 >= high)
    return tuple(n * step for n in range(math.ceil(high / step - 1e-9) + 1))
