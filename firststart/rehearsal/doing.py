"""What simply doing as told changes at the engine: an instruction heard, and what is different afterwards.

A person who is told to open the fuel tap opens it, whatever the record says later. Each line names words of a spoken
instruction; the tests hold every line against the procedures that ship, so that none of them speaks to nobody.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache


@dataclass(frozen=True)
class Doing:
    """`words` is a pattern in the instruction; `takes` are hidden conditions that go, each with `chance`."""

    words: re.Pattern[str]
    takes: tuple[str, ...] = ()
    chance: float = 1.0
    effect: str = ""  # a change that is no condition: wide-open, fresh-fuel, dry-plugs


def _doing(words: str, *takes: str, chance: float = 1.0, effect: str = "") -> Doing:
    return Doing(re.compile(words, re.IGNORECASE), takes, chance, effect)


DOINGS: tuple[Doing, ...] = (
    _doing(r"clean, gapped plugs", "plug-fouled", "plug-gap-wide", chance=0.5, effect="dry-plugs"),
    _doing(r"every lead on its own plug", "leads-crossed", chance=0.4),
    _doing(r"clip the lanyard in, sit on the seat", "safety-switch-open", chance=0.5),
    _doing(r"safety switch is open", "safety-switch-open", chance=0.7),
    _doing(r"set (the )?(stop )?(switch|stop switch or the stop control|switch, key and lanyard) to run",
           "stop-switch-at-stop", "stop-control-at-stop", chance=0.9),
    _doing(r"turn the fuel on|open the fuel tap", "tap-left-shut", chance=0.97),
    _doing(r"pump the tank empty|drain tank", "fuel-stale", "water-in-fuel", effect="drained"),
    _doing(r"fill .*fresh fuel|put fresh fuel in", "tank-empty", effect="fresh-fuel"),
    _doing(r"clear the vent", "vent-blocked", chance=0.9),
    _doing(r"pour in fresh oil|add a little oil", "oil-guard-low"),
    _doing(r"pour in fresh oil", "oil-too-thick"),
    _doing(r"throttle fully open", effect="wide-open"),
    _doing(r"take all spark plugs out", effect="dry-plugs"),
    _doing(r"leave it to charge", effect="charge"),
)  # fmt: skip


@lru_cache(maxsize=4096)
def doings(text: str) -> tuple[Doing, ...]:
    """What doing as `text` says means."""
    return tuple(d for d in DOINGS if d.words.search(text))
