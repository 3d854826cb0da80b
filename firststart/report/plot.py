"""The one door to matplotlib: a canvas to draw on, and what the pictures of a report share.

The library is fetched when the first page is made, draws in memory and knows no screen (no pyplot). Its settings are
ours for the time of a drawing only: what a user has set for it elsewhere changes no report, and what is set here
changes nothing elsewhere. The same report gives the same drawing: no date, no chance, letters measured by the font
that matplotlib brings along. They are shown in the page's own letters, which are smaller: so nothing is cut.
"""

from __future__ import annotations

import io
import logging
import warnings
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from textwrap import wrap
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, cast

from firststart.report.inline import BAD, DIM, HAIR, INK, ONE, PAPER, RULE, THREE, TIP, TWO
from firststart.report.wording import one_line

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes as Axes
    from matplotlib.axis import Axis
    from matplotlib.figure import Figure as Figure

WIDTH = 460.0  # of a picture; a unit is a point of 1/72 inch to matplotlib, and scales with the page
_FOLD, _PAD = 0.45, 6.0  # of a row, between the lines of a name; points from a name to its row
LETTERS = 13.5  # the largest that the style sheet shows them, on a phone
_LOOK: Mapping[Any, Any] = {
    "svg.fonttype": "none", "svg.hashsalt": "firststart", "text.parse_math": False, "text.usetex": False,
    "font.family": ["DejaVu Sans"], "font.size": LETTERS, "figure.dpi": 72.0, "savefig.dpi": "figure",
    "figure.facecolor": "none", "axes.facecolor": "none", "text.color": INK,
    "axes.labelcolor": DIM, "axes.edgecolor": RULE, "axes.linewidth": 1.2, "axes.axisbelow": True,
    "axes.spines.left": False, "axes.spines.top": False, "axes.spines.right": False, "axes.titlesize": LETTERS,
    "axes.titlecolor": INK, "axes.formatter.useoffset": False, "axes.formatter.limits": (-9, 9),
    "axes.titlepad": 7.0, "axes.labelpad": 3.0, "axes.xmargin": 0.0,
    "grid.color": HAIR, "grid.linewidth": 1.0, "xtick.color": RULE, "ytick.color": RULE, "xtick.labelcolor": INK,
    "ytick.labelcolor": INK, "xtick.major.width": 1.2, "ytick.major.size": 0.0, "ytick.major.pad": 6.0,
    "hatch.linewidth": 1.7, "lines.linewidth": 2.0, "figure.constrained_layout.w_pad": 0.04,
    "figure.constrained_layout.h_pad": 0.04,
}  # fmt: skip

# How a bar is filled. None is told from another by its colour alone: each has its own lines.
Fill = Mapping[str, Any]
FILLS: Mapping[str, Fill] = MappingProxyType(
    {
        "s0": {"facecolor": ONE, "edgecolor": PAPER, "linewidth": 0.8},
        "s1": {"facecolor": TWO, "edgecolor": PAPER, "linewidth": 0.8, "hatch": "\\\\"},
        "s2": {"facecolor": THREE, "edgecolor": PAPER, "linewidth": 0.8, "hatch": "--"},
        "out": {"facecolor": PAPER, "edgecolor": BAD, "linewidth": 1.4, "hatch": "///"},
        "open": {"facecolor": PAPER, "edgecolor": RULE, "linewidth": 1.4},
    }
)
GRID: Mapping[str, Any] = MappingProxyType({"color": HAIR, "linewidth": 1.0, "zorder": 0.5})
WANTING: Mapping[str, Any] = MappingProxyType(
    {"marker": "^", "markersize": 10, "markerfacecolor": BAD, "markeredgecolor": PAPER, "markeredgewidth": 1.0}
)


@contextmanager
def canvas(height: float, apart: float = 0.02) -> Iterator[Figure]:
    """A figure to draw on, `height` high, within our settings; `apart`: what lies between axes, in parts of them."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # nothing of its housekeeping among our words
    from matplotlib.figure import Figure

    with _settings():
        figure = Figure(figsize=(WIDTH / 72, height / 72), layout="constrained")
        cast("Any", figure.get_layout_engine()).set(wspace=apart)
        yield figure


def svg_of(figure: Figure) -> str:
    """The figure as the text of an SVG file."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    out = io.StringIO()
    with _settings():
        cast("Any", FigureCanvasSVG(figure)).print_svg(out, metadata={"Date": None, "Creator": None})
    return out.getvalue()


@contextmanager
def _settings() -> Iterator[None]:
    """matplotlib's own defaults and ours on top, for a while; what a user's file says does not count."""
    import matplotlib as mpl

    screen = ("backend", "interactive", "toolbar")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a setting that is going out of use
        theirs = [k for k, v in mpl.rcParamsDefault.items() if not k.startswith(screen) and mpl.rcParams[k] != v]
    with mpl.rc_context({**{k: mpl.rcParamsDefault[k] for k in theirs}, **_LOOK}), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph", category=UserWarning)  # the reader's font may have it
        yield


def tip(artist: Artist, text: str) -> None:
    """Show `text` when a pointer rests on what was drawn."""
    artist.set_gid(TIP + one_line(text))


def write(axes: Axes, at: tuple[float, float], text: str, by: tuple[float, float] = (0.0, 0.0), **how: Any) -> None:
    """A text at a place of the axes, moved `by` units to the right and up."""
    how = {"ha": "center", "va": "baseline", "annotation_clip": False, **how}
    axes.annotate(one_line(text), at, xytext=by, textcoords="offset points", **how)


def unit_above(axes: Axes, unit: str) -> None:
    """The unit over the values at the left; a long one begins at the axes, so that none of it is cut."""
    small = len(unit) <= 4
    by, side = ((-6.0, 9.0), "right") if small else ((-30.0, 9.0), "left")
    write(axes, (0, 1), unit, by, xycoords="axes fraction", ha=side, color=DIM)


def round_values(axis: Axis, most: int) -> None:
    """Values at about `most` steps of 1, 2 or 5 times a power of ten; the axis is made to end at two of them."""
    from matplotlib.ticker import MaxNLocator

    locator = MaxNLocator(most, steps=[1, 2, 5, 10])
    axis.set_major_locator(locator)
    values = locator.tick_values(*axis.get_view_interval())
    axis.set_view_interval(values[0], values[-1], ignore=True)


def minutes(axis: Axis, most: int) -> None:
    """Minutes on an axis, in at most `most` steps that a clock face has; the axis ends where it did."""
    from matplotlib.ticker import MaxNLocator

    axis.set_major_locator(MaxNLocator(most, steps=[1, 1.5, 2, 3, 5, 6, 10], integer=True))


def hours(axis: Axis, most: int) -> None:
    """Times of the day on an axis that counts in days, at the steps of a clock face."""
    from matplotlib import dates

    locator, formatter = cast("Any", dates.AutoDateLocator), cast("Any", dates.DateFormatter)  # they bring no types
    axis.set_major_locator(locator(minticks=4, maxticks=most))
    axis.set_major_formatter(formatter("%H:%M"))


def rows(
    axes: Axes, names: Sequence[str], most: int, places: Sequence[int] | None = None, lines: int = 1
) -> None:
    """A row for each name, the first at the top, each name at the left; `places`: where they lie, when not evenly.

    A name over `most` letters goes on in the next of its `lines`; what the last one cannot hold is cut.
    """
    folds = [[narrow(axes, t, WIDTH / 2) for t in folded(one_line(n), most, lines)] for n in names]
    at = range(len(names)) if places is None else places
    axes.set_yticks(at, [f[0] if len(f) == 1 else "" for f in folds])
    for y, fold in zip(at, folds, strict=True):
        for k, text in enumerate(fold if len(fold) > 1 else ()):  # each line is a text of its own, so that both align
            place = axes.annotate(
                text, (0, y + (k - (len(fold) - 1) / 2) * _FOLD), (-_PAD, 0), ha="right", va="center",
                xycoords=axes.get_yaxis_transform(), textcoords="offset points",
            )  # fmt: skip
            place.set_color(INK)
    axes.set_ylim(len(names) - 0.5, -0.5)


def narrow(axes: Axes, text: str, room: float) -> str:
    """`text` cut until it is no wider than `room`."""
    if len(text) * LETTERS <= room:  # no letter is wider than it is high
        return text
    probe = axes.text(0, 0, text)
    shown, most = text, len(text)
    while most > 1 and probe.get_window_extent().width > room:
        most -= 1
        shown = fit(text, most)
        probe.set_text(shown)
    probe.remove()
    return shown


def folded(text: str, most: int, lines: int) -> list[str]:
    """`text` in at most so many lines of `most` letters."""
    parts = wrap(text, most) or [""]
    return [*parts[: lines - 1], fit(" ".join(parts[lines - 1 :]), most)] if len(parts) >= lines else parts


def fit(text: str, most: int) -> str:
    """`text` cut to `most` characters, with dots for what is missing."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
