"""A study as a picture: overhead minutes and wrong calls of every policy, with their intervals, as SVG.

Drawn as the pictures of a report are. In a file of its own it follows the reader's colours (currentColor), and text
stays text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, cast

from firststart.rehearsal.figures import Pair
from firststart.rehearsal.studytable import Figures, Result
from firststart.report.inline import INK, inline
from firststart.report.plot import GRID, canvas, round_values, rows, svg_of, tip

if TYPE_CHECKING:
    from firststart.report.plot import Axes

LINE, HEAD = 24.0, 62.0  # heights of a row, and of all that a panel has besides
_APART = 0.11  # inches above and below a panel
_STYLE = (
    "svg{--ink:currentColor;--dim:currentColor;--hair:#8885;--rule:#888;color:CanvasText;font:13.5px sans-serif}"
    "text{stroke:none}"
)
Take = Callable[[Figures], tuple[float, Pair]]


def picture(result: Result) -> str:
    """The picture as the text of an SVG file."""
    panels: list[tuple[str, Mapping[str, Figures], Take]] = [
        ("Overhead minutes, all on the same engines", result.policies, _overhead),
        ("Wrong calls a job", result.policies, _wrong),
        ("Overhead of firststart by hidden conditions", result.by_faults, _overhead),
        ("Overhead of firststart by kind of engine", result.by_kind, _overhead),
    ]
    shown = [(title, {name: take(x) for name, x in some.items()}) for title, some, take in panels if some]
    heights = [HEAD + LINE * len(found) for _, found in shown]
    with canvas(sum(heights)) as figure:
        cast("Any", figure.get_layout_engine()).set(h_pad=_APART)
        for axes, (title, found) in zip(
            figure.subplots(len(shown), 1, height_ratios=heights, squeeze=False)[:, 0], shown, strict=True
        ):
            _panel(axes, title, found)
        drawn = str(inline(svg_of(figure), "study"))
    head, rest = drawn.removeprefix("<svg").split(">", 1)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg"{head}><title id="study-title">A study</title><desc id="study-tells">'
        f"Figures of a study with 95 per cent intervals</desc><style>{_STYLE}</style>{rest}\n"
    )


def _overhead(x: Figures) -> tuple[float, Pair]:
    return x.overhead, x.overhead_between


def _wrong(x: Figures) -> tuple[float, Pair]:
    return x.wrong, x.wrong_between


def _panel(axes: Axes, title: str, found: Mapping[str, tuple[float, Pair]]) -> None:
    """One panel: a dot and a bar from the low to the high end for each row, on an axis from nothing."""
    axes.set_title(title, loc="left")
    rows(axes, list(found), 24)
    for y, (name, (value, (low, high))) in enumerate(found.items()):
        axes.plot([low, high], [y, y], color=INK, linewidth=2.5, solid_capstyle="butt")
        (dot,) = axes.plot([value], [y], "o", color=INK, markersize=8)
        tip(dot, f"{name}: {value:.2f} ({low:.2f} to {high:.2f})")
    axes.set_xlim(0, max(1e-6, *(high for _, (_, high) in found.values())))
    round_values(axes.xaxis, 6)
    axes.grid(axis="x", **GRID)
