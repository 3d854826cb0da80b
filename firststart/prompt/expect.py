"""What may be answered now: the closed list of a moment, and the general words that are always there."""

from __future__ import annotations

from dataclasses import dataclass

GENERAL: dict[str, tuple[str, ...]] = {
    "stop": ("stop", "stop stop", "stop now", "emergency", "halt"),
    "back": ("go back", "back", "one back", "undo", "go back one"),
    "repeat": ("say again", "repeat", "again", "pardon", "what", "say it again", "say that again", "come again"),
    "why": ("why", "tell me why", "what for"),
    "help": ("help me", "help", "options", "what can i say"),
    "status": ("status", "what is left", "what's left", "whats left", "where are we", "what is left to do",
               "what remains"),
    "how-long": ("how long", "how much longer", "how long is left", "how long does it take", "how long will it take"),
    "same": ("same as before", "the same as before", "as before", "same again", "the same"),
    "leave": ("leave it", "skip", "skip this", "leave this", "later"),
    "note": ("note", "take a note"),
    "tell-crank": ("tell crank", "tell cranking", "i cranked it"),
    "finish": ("finish for today", "that is all", "that's all", "quit", "goodbye", "exit"),
    "sleep": ("sleep", "do not listen", "stop listening"),
    "listen": ("listen", "wake up", "listen again"),
}
YES = ("yes", "yeah", "yep", "right", "correct", "that is right", "ok", "okay", "y")
NO = ("no", "nope", "wrong", "not right", "n")


ORDER = "firing-order"  # a reading that is an order of figures and no amount


@dataclass(frozen=True)
class Option:
    """One answer: its event and the phrases that mean it; the first phrase is offered.

    `weighty`: it matters for safety (it meets a hold point, or begins a crank); by voice it is read back first.
    """

    event: str
    phrases: tuple[str, ...]
    weighty: bool = False


@dataclass(frozen=True)
class Expectation:
    """What may be answered now.

    `kind`: action, choice, measure, wait, crank, turning, gate, idle, stopped or over.
    """

    kind: str
    options: tuple[Option, ...] = ()
    quantity: str = ""
    unit: str = ""
    low: float = 0
    high: float = 0
    name: str = ""

    def offered(self) -> tuple[str, ...]:
        """The phrases to offer, in order."""
        return tuple(o.phrases[0] for o in self.options)
