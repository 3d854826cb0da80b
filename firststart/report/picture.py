"""A picture as a value: a plot, a sentence that tells it, and a table with the same content.

The page shows the plot as inline SVG, so that text stays text and colours follow the reader's theme.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from markupsafe import Markup

from firststart.report.inline import inline
from firststart.report.plot import svg_of

if TYPE_CHECKING:
    from firststart.report.plot import Figure


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
    figure: Figure = field(compare=False)
    twin: Table
    key: tuple[tuple[str, str], ...] = ()  # (class of the swatch, what it stands for)

    @property
    def svg(self) -> Markup:
        """The plot as an element of the page."""
        return inline(svg_of(self.figure), self.id)


def cells(*texts: str) -> tuple[Cell, ...]:
    """A row of plain cells."""
    return tuple(Cell(t) for t in texts)
