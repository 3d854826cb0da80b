"""The whole job with one key: a short press moves on, a double press takes, the key held down is stop.

Where there is one thing to do, a short press does it. Where there are several answers, each short press says
the next one and a double press takes the one just said. A number is built digit by digit in the same way.
Behind the answers lie the general words (say again, why, go back, leave it, status). Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

from firststart.prompt.expect import Expectation

SHORT, DOUBLE, HELD = "short", "double", "held"
END = "that is all"
POINT, MINUS = "point", "minus"
_WRITTEN = {POINT: ".", MINUS: "-"}
DIGITS = tuple("0123456789")
GENERAL_RING = ("say again", "why", "go back", "leave it", "status", "finish for today")
_AT_ONCE = ("action", "wait", "idle", "gate", "stopped")


@dataclass(frozen=True)
class OneKey:
    """Where the key stands: the answer last said (-1: none yet), and the number built so far."""

    place: int = -1
    typed: str = ""


@dataclass(frozen=True)
class Pressed:
    """What a press leads to: a sentence to say, or words for the dialogue, or stop."""

    say: str = ""
    words: str = ""
    stop: bool = False


def press(state: OneKey, kind: str, expects: Expectation, *, asked: bool = False) -> tuple[OneKey, Pressed]:
    """The next state, and what the press means. `asked`: a read-back waits for yes or no."""
    if kind == HELD:
        return OneKey(), Pressed(stop=True)
    if expects.kind == "turning":
        return OneKey(), Pressed(words="stop")
    ring = ring_of(state, expects, asked=asked)
    if kind == SHORT:
        if state.place < 0 and not asked and expects.kind in _AT_ONCE and ring:
            return OneKey(), Pressed(words=ring[0])
        place = (state.place + 1) % len(ring)
        return OneKey(place, state.typed), Pressed(say=ring[place])
    if state.place < 0:
        return OneKey(0 if len(ring) == 1 else _first_after(ring, expects, asked), state.typed), _opening(
            ring, expects, asked
        )
    return _take(state, ring[state.place], expects, asked)


def ring_of(state: OneKey, expects: Expectation, *, asked: bool) -> tuple[str, ...]:
    """The answers that short presses go through, in order."""
    if asked:
        return ("yes", "no")
    if expects.kind == "measure":
        begun = state.typed not in ("", "-")
        point = (POINT,) if begun and "." not in state.typed else ()
        end = (END,) if begun and not state.typed.endswith(".") else ()
        minus = (MINUS,) if not state.typed and expects.low < 0 else ()
        cannot = () if state.typed else expects.offered()
        return (*end, *DIGITS, *point, *minus, *cannot, *GENERAL_RING)
    return (*expects.offered(), *GENERAL_RING)


def _first_after(ring: tuple[str, ...], expects: Expectation, asked: bool) -> int:
    """A double press before anything was said opens the list: at the general words where one press acts at once."""
    if not asked and expects.kind in _AT_ONCE:
        return len(expects.offered()) % len(ring)
    return 0


def _opening(ring: tuple[str, ...], expects: Expectation, asked: bool) -> Pressed:
    return Pressed(say=ring[_first_after(ring, expects, asked)])


def _take(state: OneKey, word: str, expects: Expectation, asked: bool) -> tuple[OneKey, Pressed]:
    if asked or expects.kind != "measure":
        return OneKey(), Pressed(words=word)
    if word == END:
        unit = f" {expects.unit}" if expects.unit else ""
        return OneKey(), Pressed(words=f"{state.typed}{unit}")
    if word in DIGITS or word in _WRITTEN:
        typed = state.typed + _WRITTEN.get(word, word)
        return OneKey(-1, typed), Pressed(say=f"{typed.replace('.', ' point ').rstrip()} so far.")
    return OneKey(), Pressed(words=word)
