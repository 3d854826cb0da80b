"""Answers about one's own doing and about the sort of machine: what a person knows without looking at a fault.

By procedure and step; a step that is not listed gets its first choice, which is what a ready person says. The tests
hold every line against the procedures that ship.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from firststart.rehearsal.body import Body
from firststart.rehearsal.sparking import own_current


@dataclass
class Memory:
    """What a person remembers of one run: the words said for each look, and how often each step was answered."""

    seen: dict[str, set[str]] = field(default_factory=dict)
    times: dict[str, int] = field(default_factory=dict)
    worked: dict[tuple[str, int | None], tuple[int, str]] = field(default_factory=dict)  # when last asked for

    mended: set[str] = field(default_factory=set)  # conditions that the work of this run has put right so far

    def saw(self, name: str, *words: str) -> bool:
        """Was any of the words seen under this name?"""
        return bool(self.seen.get(name, set()) & set(words))


@dataclass(frozen=True)
class Asked:
    """What a question is answered from: this run's memory, the machine, and the verdicts heard on readings."""

    memory: Memory
    body: Body
    rng: random.Random
    cylinder: int | None = None
    verdict: Callable[[str, int | None], str] = lambda _name, _cylinder: ""


Answering = Callable[[Asked], str]


LOW = ("none", "low", "low-on-one", "fail", "unsure")  # verdicts on a dry reading that ask for a wet one


def _points(asked: Asked) -> str:
    memory = asked.memory
    gapped = memory.saw("points", "gap-too-small", "gap too small")
    cleaned = memory.saw("points", "dark-or-pitted", "dark or pitted")
    if gapped and cleaned:
        return "both"
    return "gapped" if gapped else "cleaned" if cleaned else "nothing"


def _plugs(asked: Asked) -> str:
    memory = asked.memory
    if memory.saw("plug.state", "cracked-or-wrong-gap", "cracked or wrong gap"):
        return "renewed"
    return "cleaned" if memory.saw("plug.state", "fouled") else "nothing"


def _tap(asked: Asked) -> str:
    memory = asked.memory
    tap = memory.saw("tap.sieve", "dirty", "torn") or memory.saw("tap.feel", "hard")
    cleaned = memory.saw("fuel.filter", "dirty")
    if tap and cleaned:
        return "both"
    return "tap" if tap else "filter" if cleaned else "nothing"


def _valves(asked: Asked) -> str:
    return "some" if asked.memory.saw("valve.clearance", "tight") else "none"


def coils(body: Body) -> int:
    """How many ignition coils: one for each cylinder, or one for all behind a distributor."""
    apart = body.kind in ("motorcycle", "outboard", "snowmobile") or body.ignition == "ecu"
    return body.cylinders if apart else 1


def _another_coil(asked: Asked) -> str:
    return "yes" if asked.memory.times.get("another", 0) < coils(asked.body) else "no"


def _own_spark(asked: Asked) -> str:
    return "own" if own_current(asked.body) else "battery"


def _again(most: int) -> Answering:
    """One more try, up to `most` in all; then the cause."""

    def answer(asked: Asked) -> str:
        tried = sum(asked.memory.times.get(step, 0) for step in ("try-silent", "try-coughs", "try-dies"))
        return "again" if tried <= most and asked.rng.random() < 0.8 else "cause"

    return answer


def _dry(asked: Asked) -> str:
    return "low" if asked.verdict("compression.dry", asked.cylinder) in LOW else "good"


ANSWERS: Mapping[tuple[str, str], Answering] = {
    ("points", "done-looked"): _points,
    ("plugs", "changed"): _plugs,
    ("valve-clearance", "any-set"): _valves,
    ("coil-by-meter", "another"): _another_coil,
    ("stop-controls", "source"): _own_spark,
    ("first-crank", "try-silent"): _again(1),
    ("first-crank", "try-coughs"): _again(3),
    ("first-crank", "try-dies"): _again(2),
    ("compression-wet", "which"): _dry,
    ("battery-charge", "again"): lambda a: "once" if a.memory.times.get("again", 0) < 2 else "twice",
    ("fuel-tap", "what-done"): _tap,
    ("fuel-pump", "sort"): lambda a: "pulses" if a.body.cycle == "two-stroke" else "lever",
    ("timing", "how"): lambda a: "light" if a.body.ignition in ("cdi", "transistor") else "at-rest",
    ("keyed-rotor", "sort"): lambda a: "flywheel" if a.body.ignition in ("magneto", "cdi") else "distributor",
    ("points", "there"): lambda a: "points" if a.body.ignition in ("points", "magneto") else "sealed",
    ("condenser", "points-there"): lambda a: "points" if a.body.ignition in ("points", "magneto") else "sealed",
}

OF_THE_MACHINE: frozenset[tuple[str, str]] = frozenset({
    ("stop-controls", "source"), ("coil-by-meter", "another"), ("fuel-pump", "sort"), ("timing", "how"),
    ("keyed-rotor", "sort"), ("points", "there"), ("condenser", "points-there"),
})  # of these, what the machine is like decides; of the others, what the person did or wants
