"""`firststart trouble`: the page "when it goes wrong". The README's table and the manual are made from it."""

from __future__ import annotations

import argparse
import textwrap
from dataclasses import dataclass

from firststart.errors import UnknownName


@dataclass(frozen=True)
class Trouble:
    """One thing that goes wrong: a word for it, what the person sees, and what to do."""

    word: str
    seen: str
    do: str


TROUBLES = (
    Trouble(
        "sound",
        "no sound, or `No voice: ...`",
        "The bench goes on by screen and keys. `firststart voice` tries the loudspeaker and says what to mend: cable, "
        "volume, `--loudspeaker NAME`. Linux needs ALSA, Windows and macOS their own voices.",
    ),
    Trouble(
        "microphone",
        "no microphone, or `No ears: ...`",
        "Answer by keys or pedal. The ears need `pip install firststart[ears]`, a microphone that is not muted, and "
        "the system's leave to use it; `firststart voice` tries it.",
    ),
    Trouble(
        "heard",
        "it does not hear you, or hears wrongly",
        "Say “help me” for the answers of the moment; two words are understood better than one. `firststart voice` "
        "measures the noise in the room. Keys always work.",
    ),
    Trouble(
        "locked",
        "`The record ... is in use by another bench`",
        "Two cannot write to one job: close the other bench. A bench that was killed holds nothing.",
    ),
    Trouble(
        "damaged",
        "`The record ... is damaged`, `Entry 12 ... changed on the disk`",
        "`firststart salvage saved.db` writes all that can be read to a new record and names every entry that is lost. "
        "Keep the old file.",
    ),
    Trouble(
        "full",
        "`The disk with the record ... is full`",
        "Free some room and answer again: the step still stands, and everything before is kept.",
    ),
    Trouble(
        "unit",
        "`... is not a unit of ...`, `... needs a unit`",
        "The sentence lists the units that are known there; say or type the number with one of them, as in `118 psi` "
        "or `8 bar`. A wrong one that was taken: say “go back” and give the reading again.",
    ),
    Trouble("comma", "`12,6 V has a comma`", "Write decimals with a point, and the unit: `12.6 V`."),
    Trouble(
        "newer",
        "`... was made by a newer firststart`",
        "Update this one; it does not touch what it does not understand.",
    ),
    Trouble(
        "terminal",
        "the screen is simple or garbled, or a screen reader reads it",
        "`firststart --plain` writes plain lines, also over a serial line; `NO_COLOR` is obeyed.",
    ),
)


def run_trouble(arguments: argparse.Namespace) -> int:
    """Print the page, or the parts of it that a word names. Raises UnknownName."""
    chosen = TROUBLES if arguments.word is None else about(arguments.word)
    print("\n\n".join(_shown(trouble) for trouble in chosen))
    return 0


def about(word: str) -> tuple[Trouble, ...]:
    """The troubles that `word` names, or in whose text it stands. Raises UnknownName."""
    wanted = word.lower()
    named = tuple(t for t in TROUBLES if t.word == wanted)
    found = named or tuple(t for t in TROUBLES if wanted in f"{t.seen} {t.do}".lower())
    if not found:
        raise UnknownName(f"Nothing is known about {word!r}; there are: {', '.join(t.word for t in TROUBLES)}.")
    return found


def _shown(trouble: Trouble) -> str:
    head = f"{trouble.word}: {trouble.seen}".replace("`", "")
    body = textwrap.wrap(trouble.do.replace("`", ""), 76, initial_indent="  ", subsequent_indent="  ")
    return "\n".join([head, *body])


def table() -> str:
    """The page as a table in Markdown, for the README."""
    rows = [f"| {trouble.seen} | {trouble.do} |" for trouble in TROUBLES]
    return "\n".join(["| what you see | what to do |", "|---|---|", *rows])
