"""A picture as a value: shapes on a canvas, a sentence that tells it, and a table with the same content.

The page's template draws it as inline SVG, so that text stays text and colours follow the reader's theme.
Lengths are in the canvas's own units. `css` names classes of the page's style sheet, never colours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from firststart.report.axis import Scale, number

WIDTH = 460.0
LEFT, RIGHT, TOP = 46.0, 448.0, 18.0


@dataclass(frozen=True)
class Box:
    """A rectangle. `tip` is shown when a pointer rests on it."""

    x: float
    y: float
    w: float
    h: float
    css: str
    tip: str = ""
    sort: str = "box"


@dataclass(frozen=True)
class Rule:
    """A straight line."""

    x1: float
    y1: float
    x2: float
    y2: float
    css: str
    sort: str = "rule"


@dataclass(frozen=True)
class Trace:
    """A line through points."""

    points: tuple[tuple[float, float], ...]
    css: str
    sort: str = "trace"


@dataclass(frozen=True)
class Dot:
    """A small disc."""

    x: float
    y: float
    r: float
    css: str
    tip: str = ""
    sort: str = "dot"


@dataclass(frozen=True)
class Word:
    """A text; `anchor` is start, middle or end."""

    x: float
    y: float
    text: str
    css: str = "lb"
    anchor: str = "start"
    sort: str = "word"


Shape = Box | Rule | Trace | Dot | Word


@dataclass(frozen=True)
class Cell:
    """One cell of a table: a text, small lines under it, and a class that says how it stands (ok, bad, off)."""

    text: str
    under: tuple[str, ...] = ()
    css: str = ""

    @property
    def classes(self) -> str:
        """The cell's class, with what its text asks for: `tight` is never broken, `long` must be."""
        void = "void" if not self.text and not self.under else ""
        shapes = ("tight" if 0 < len(self.text) <= 17 else "", "long" if self.long else "", void)
        return " ".join(c for c in (self.css, *shapes) if c)

    @property
    def long(self) -> bool:
        """Is there a word so long that it must be broken?"""
        return any(len(word) > 22 for line in (self.text, *self.under) for word in line.split())


@dataclass(frozen=True)
class Table:
    """A table with a caption and a head for each column; the first cell of a row heads the row.

    `fold`: what a reader presses to see it on a screen ("Show all 312 answers"); on paper it is always there.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    css: str = ""
    fold: str = ""


@dataclass(frozen=True)
class Picture:
    """One picture. `tells` is its content in a sentence or two; `twin` the same as a table; `key` its legend."""

    id: str
    title: str
    tells: str
    height: float
    shapes: tuple[Shape, ...]
    twin: Table
    key: tuple[tuple[str, str], ...] = ()  # (class of the swatch, what it stands for)
    width: float = WIDTH


def cells(*texts: str) -> tuple[Cell, ...]:
    """A row of plain cells."""
    return tuple(Cell(t) for t in texts)


def y_axis(
    scale: Scale, values: Sequence[float], unit: str, left: float = LEFT, right: float = RIGHT
) -> Iterator[Shape]:
    """Grid lines with their values at the left, and the unit above them."""
    for value in values:
        y = scale(value)
        yield Rule(left, y, right, y, "gr")
        yield Word(left - 6, y + 4, number(value), "lb", "end")
    short = len(unit) <= 4  # a longer one begins at the edge of the picture, so that none of it is cut
    yield Word(left - 6 if short else 0, scale(scale.high) - 9, unit, "lb dim", "end" if short else "start")


def x_axis(scale: Scale, values: Sequence[tuple[float, str]], y: float) -> Iterator[Shape]:
    """A base line with tick marks and labels under it."""
    yield Rule(scale.start, y, scale.end, y, "ax")
    for value, text in values:
        x = scale(value)
        yield Rule(x, y, x, y + 4, "ax")
        yield Word(x, y + 16, text, "lb", "middle")


def fit(text: str, most: int) -> str:
    """`text` cut to `most` characters, with dots for what is missing."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
