"""A picture of a terminal's screen as SVG: every cell as it stands there, with its colours. Pure."""

from __future__ import annotations

from html import escape
from itertools import groupby
from typing import Any

CELL_W, CELL_H = 9, 20  # pixels of one cell
MARGIN = 12
NO_BREAK = "\u00a0"  # a space that no viewer folds into its neighbour
DARK = {"ground": "#1b1e23", "letters": "#e4e6ea"}
LIGHT = {"ground": "#fdfdfb", "letters": "#22252a"}
_COLOURS = {
    "black": "#22252a", "red": "#b3261e", "green": "#2e7d32", "brown": "#f2b705", "yellow": "#f2b705",
    "blue": "#1f5fbf", "magenta": "#8e3b9e", "cyan": "#1d7d88", "white": "#ffffff", "brightbrown": "#ffd54a",
    "brightyellow": "#ffd54a", "brightblack": "#6a6f78", "brightwhite": "#ffffff",
}  # fmt: skip


def picture(screen: Any, title: str, theme: dict[str, str]) -> str:
    """The screen of a terminal emulator as SVG, named `title` for those who cannot see it."""
    rows = _last_used(screen)
    width, height = screen.columns * CELL_W + 2 * MARGIN, rows * CELL_H + 2 * MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="{escape(title)}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{width}" height="{height}" rx="8" fill="{theme["ground"]}"/>',
        '<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="15">',
    ]
    for y in range(rows):
        parts += _row(screen, y, theme)
    return "\n".join([*parts, "</g>", "</svg>", ""])


def _last_used(screen: Any) -> int:
    """How many rows there are down to the last one with something in it."""
    return max((y + 1 for y, line in enumerate(screen.display) if line.strip()), default=1)


def _row(screen: Any, y: int, theme: dict[str, str]) -> list[str]:
    """Runs of cells that look alike: a ground where it is not the usual one, and the letters; blocks as rectangles."""
    parts: list[str] = []
    cells = [(x, screen.buffer[y][x]) for x in range(screen.columns)]
    for _, run in groupby(cells, _alike):
        group = list(run)
        letters, ground = _look(group[0][1], theme)
        left, top = MARGIN + group[0][0] * CELL_W, MARGIN + y * CELL_H
        text = "".join(cell.data for _, cell in group)
        if text.strip("█ ") == "" and "█" in text:
            parts.append(_box(left, top, len(text), letters))
            continue
        if ground != theme["ground"]:
            parts.append(_box(left, top, len(text), ground))
        text = text.rstrip()
        if text:
            weight = ' font-weight="bold"' if group[0][1].bold else ""
            parts.append(
                f'<text x="{left}" y="{top + 15}" fill="{letters}"{weight} textLength="{len(text) * CELL_W}" '
                f'lengthAdjust="spacingAndGlyphs">{escape(text).replace(" ", NO_BREAK)}</text>'
            )
    return parts


def _alike(cell: tuple[int, Any]) -> tuple[object, ...]:
    look = cell[1]
    return look.fg, look.bg, look.reverse, look.bold, look.data == "█"


def _box(left: int, top: int, cells: int, colour: str) -> str:
    return f'<rect x="{left}" y="{top}" width="{cells * CELL_W}" height="{CELL_H}" fill="{colour}"/>'


def _look(cell: Any, theme: dict[str, str]) -> tuple[str, str]:
    """The colours of a cell's letters and of its ground."""
    letters = _COLOURS.get(cell.fg, theme["letters"])
    ground = _COLOURS.get(cell.bg, theme["ground"])
    return (ground, letters) if cell.reverse else (letters, ground)
