"""How a prompt looks: styled lines for a terminal of any width, or plain lines for a screen reader.

Pure: values in, (style, text) fragments out. The sign of a caution is its word; colour only adds to it.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from functools import cache

from firststart.prompt.expect import ORDER, Expectation
from firststart.prompt.prompt import Prompt
from firststart.units import find_unit

Fragment = tuple[str, str]
Say = Callable[[str], str]
"""Puts a sentence of the screen's own into the person's language; `str` leaves it in English."""

WIDEST = 100
_FONTS = (("ansi_regular", 9), ("3x5", 4))  # each five rows high, with the columns that a letter takes
_MOST_LINES = 3
_ARTICLES = ("THE", "A", "AN")

STYLE = {  # signal colours as ANSI Z535 gives them (from memory)
    "danger": "bg:ansired fg:ansiwhite bold",
    "warning": "bg:ansiyellow fg:ansiblack bold",
    "caution": "bg:ansibrightyellow fg:ansiblack bold",
    "notice": "bg:ansiblue fg:ansiwhite bold",
    "action": "bold",
    "place": "underline",
    "told": "italic",
    "number": "reverse",
    "bottom-toolbar": "noreverse",
    "figure": "bold",
    "status": "reverse",
}


@cache
def _letters(font: str) -> Callable[[str], object]:
    import pyfiglet

    draw: Callable[[str], object] = pyfiglet.Figlet(font=font, width=2 * WIDEST).renderText
    return draw


def large(text: str, width: int) -> str:
    """`text` in the largest block letters that fit `width`, without its articles; else in spaced capitals."""
    words = [w for w in text.upper().split() if w not in _ARTICLES] or text.upper().split()
    for font, columns in _FONTS:
        lines = textwrap.wrap(" ".join(words), max(width // columns, 1), break_long_words=False)
        if lines and max(map(len, lines)) * columns <= width and len(lines) <= _MOST_LINES:
            return _drawn(font, lines)
    return "\n".join(textwrap.wrap(" ".join(text.upper()), width)) if len(text) * 2 < width else text.upper()


def _drawn(font: str, lines: list[str]) -> str:
    """The lines in block letters, an empty row between them."""
    drawn = [[row.rstrip() for row in str(_letters(font)(line)).replace("#", "█").splitlines()] for line in lines]
    return "\n\n".join("\n".join(row for row in block if row) for block in drawn)


def answers(expects: Expectation, width: int = 0, say: Say = str) -> str:
    """What may be answered, for the screen; broken between answers when `width` is given."""
    if expects.kind == "measure":
        if expects.name == ORDER:
            return say("each cylinder once, as in 1 3 4 2, or: cannot measure")
        symbol = find_unit(expects.unit, expects.quantity).symbol
        unit = f"{symbol}s" if symbol in ("year", "month") else symbol
        return say(f"{expects.low:g} to {expects.high:g} {unit}".rstrip() + ", or: cannot measure")
    if expects.kind == "crank":
        return say(f"go  (at most {expects.high:g} seconds)")
    if expects.kind == "turning":
        return say("any key the moment the starter stands")
    items = [f"[{n}] {o.phrases[0]}" for n, o in enumerate(expects.options, 1)]
    lines = [""]
    for item in items:
        joined = f"{lines[-1]}   {item}" if lines[-1] else item
        if width and len(joined) > width and lines[-1]:
            lines.append(item)
        else:
            lines[-1] = joined
    return "\n".join(lines)


def block(prompt: Prompt, width: int, *, big: bool, say: Say = str) -> list[Fragment]:
    """The whole prompt as styled fragments."""
    width = min(width, WIDEST)
    out: list[Fragment] = [("", "\n")]
    if prompt.place:
        out += [("class:place", prompt.place), ("", "\n")]
    for note in prompt.cautions:
        signal = prompt.signal(note)
        out += [(f"class:{note.signal.lower()}", f" {signal} "), ("", " ")]
        out += [("", wrapped(note.text, width, indent=len(signal) + 3)), ("", "\n")]
    if big:
        out += [("class:action", large(prompt.big, width)), ("", "\n\n")]
    out += [("class:action", wrapped(prompt.text, width)), ("", "\n")]
    if prompt.info:
        out += [("", "\n".join(wrapped(line, width) for line in prompt.info.splitlines())), ("", "\n")]
    out += [("class:number", answers(prompt.expects, width, say)), ("", "\n")]
    return out


def toolbar(status: str, width: int) -> list[Fragment]:
    """The status at the foot of the screen, within `width`; a figure that stands on a line before it is drawn large."""
    figure, _, line = status.rpartition("\n")
    out: list[Fragment] = [("class:figure", large(figure, width) + "\n\n")] if figure else []
    return [*out, ("class:status", _fitted(line, width))]


def _fitted(line: str, width: int) -> str:
    """`line`, with what holds counted instead of named when it is too long."""
    first, bar, rest = line.partition(" | ")
    name, colon, named = first.partition(": ")
    if len(line) > width and bar and colon and ", " in named:
        line = f"{name}: {named.count(', ') + 1}{bar}{rest}"
    return line[:width] if len(line) <= width else line.removeprefix(f"{name}: ")[:width]


def plain_lines(prompt: Prompt, say: Say = str) -> list[str]:
    """The prompt as plain lines, cautions first."""
    lines = [f"{prompt.signal(n)}: {n.text}" for n in prompt.cautions]
    lines.append(f"{prompt.place}: {prompt.text}" if prompt.place else prompt.text)
    lines += prompt.info.splitlines()
    lines.append(f"{say('Answers')}: {answers(prompt.expects, say=say)}")
    return lines


def wrapped(text: str, width: int, indent: int = 0) -> str:
    """`text` in lines of `width` at most, broken between words."""
    return textwrap.fill(text, max(width - 1, 20), subsequent_indent=" " * indent, initial_indent=" " * indent).strip()
