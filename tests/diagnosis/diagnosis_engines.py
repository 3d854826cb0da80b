"""Engines drawn from the book, with hidden faults, and a player that follows a policy until the engine runs."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import numpy as np

from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Finding, NoStart, Ran, Repair
from firststart.diagnosis.network import Network
from firststart.diagnosis.policy import Choice, View, choose, found_fix, look, trial_fix
from firststart.diagnosis.score import outlook, scores
from firststart.procedure.reader import read

FILE = Path(__file__).parents[2] / "procedures" / "no-start.yaml"
AT = datetime(2025, 5, 3, 10, 0, tzinfo=UTC)
SPECIALIST_MINUTES = 60.0
PROFILES = {
    "motorcycle": {
        "kind": "motorcycle", "cycle": "four-stroke", "ignition": "points", "feed": "gravity", "starting": "electric",
        "fuel": "petrol", "cooling": "air", "battery": "12",
    },
    "car": {
        "kind": "car", "cycle": "four-stroke", "ignition": "points", "feed": "pump", "starting": "electric",
        "fuel": "petrol", "cooling": "water", "battery": "12",
    },
    "injected car": {
        "kind": "car", "cycle": "four-stroke", "ignition": "ecu", "feed": "injection", "starting": "electric",
        "fuel": "petrol", "cooling": "water", "battery": "12",
    },
    "mower": {
        "kind": "small engine", "cycle": "four-stroke", "ignition": "magneto", "feed": "gravity", "starting": "recoil",
        "fuel": "petrol", "cooling": "air", "battery": "none",
    },
    "outboard": {
        "kind": "outboard", "cycle": "two-stroke", "ignition": "cdi", "feed": "pump", "starting": "recoil",
        "fuel": "petrol", "cooling": "water", "battery": "none",
    },
    "snowmobile": {
        "kind": "snowmobile", "cycle": "two-stroke", "ignition": "cdi", "feed": "pump", "starting": "recoil",
        "fuel": "petrol", "cooling": "air", "battery": "none",
    },
    "inboard": {
        "kind": "inboard", "cycle": "four-stroke", "ignition": "transistor", "feed": "pump", "starting": "electric",
        "fuel": "petrol", "cooling": "water", "battery": "12",
    },
    "diesel tractor": {
        "kind": "tractor", "cycle": "four-stroke", "ignition": "none", "feed": "injection", "starting": "electric",
        "fuel": "diesel", "cooling": "water", "battery": "12",
    },
    "unknown": {},
}


@cache
def shipped() -> Book:
    """The book that ships."""
    document = read(FILE.read_text(encoding="utf-8"), "procedures/no-start.yaml")
    return Book.from_data(document.data, document.line, document.file)


@dataclass
class Engine:
    """An engine with hidden faults. What a check shows does not change until something is put right."""

    network: Network
    faults: set[int]
    random: np.random.Generator
    shows: dict[tuple[str, int], bool] = field(default_factory=dict)
    stopping: set[int] = field(default_factory=set)

    def __post_init__(self):
        self.stopping = {i for i in self.faults if self.random.random() < self.network.numbers.stops[i]}

    def shown(self, row: str, cause: int, chance: float) -> bool:
        """Whether this cause shows in this row: drawn once and kept."""
        if (row, cause) not in self.shows:
            self.shows[row, cause] = bool(self.random.random() < chance)
        return self.shows[row, cause]

    def readings(self, check):
        """(row, outcome) down the ladder until the first bad row."""
        found = []
        for row in check.rows:
            net = self.network.numbers.rows[row.id]
            bad = self.shown(row.id, -1, net.leak)
            for i, q in net.causes:
                bad = (self.shown(row.id, i, q) and i in self.faults) or bad
            found.append((row.id, "bad" if bad else "ok"))
            if bad:
                break
        return found

    def starts(self) -> bool:
        """It starts when nothing that stops it is left."""
        return not (self.stopping & self.faults)


def draw_engine(network: Network, count: int, seed: int) -> Engine:
    """An engine with exactly `count` faults drawn from the priors, that does not start, and whose fix the book has."""
    random = np.random.default_rng(seed)
    prior = np.array(network.numbers.prior[:-1])
    odds = prior / (1.0 - prior)
    while True:
        faults: set[int] = set()
        while len(faults) < count:
            weights = np.where([i in faults for i in range(len(odds))], 0.0, odds)
            faults.add(int(random.choice(len(odds), p=weights / weights.sum())))
        engine = Engine(network, faults, random)
        if not engine.starts():
            return engine


@dataclass
class Played:
    """Minutes of one engine from the first no-start until it runs."""

    checks: float = 0.0
    tries: float = 0.0
    wrong: float = 0.0
    right: float = 0.0
    wrong_fixes: int = 0
    specialists: int = 0
    steps: int = 0
    ran: bool = False

    @property
    def overhead(self) -> float:
        """All minutes less the mending of what was really broken."""
        return self.checks + self.tries + self.wrong


class Player:
    """Follows a policy on one engine. The engine may be drawn from other numbers than the belief's."""

    def __init__(self, belief: Network, engine: Engine, pick) -> None:
        self.belief, self.engine, self.pick = belief, engine, pick
        self.evidence: list = []
        self.played = Played()
        self.seq = 0

    def note(self, kind, *args, **more) -> None:
        self.seq += 1
        self.evidence.append(kind(*args, at=AT, seq=self.seq, **more))

    def see(self, check) -> None:
        for row, outcome in self.engine.readings(check):
            self.note(Finding, row, outcome)

    def try_it(self) -> None:
        self.played.tries += self.belief.book.policy.try_minutes
        if self.engine.starts():
            self.note(Ran)
            self.played.ran = True
            return
        self.note(NoStart)
        here = {c.id: c for c in self.belief.checks}
        self.see(here["cranking"])
        if self.evidence[-1].outcome == "ok" or self.evidence[-1].check in ("cranking.slow", "cranking.free"):
            self.see(here["firing"])

    def mend(self, suspect) -> None:
        at = self.belief.place[suspect.id]
        if at in self.engine.faults:
            self.played.right += suspect.fix.minutes
            if self.engine.random.random() < suspect.fix.works:
                self.engine.faults.discard(at)
        else:
            self.played.wrong += suspect.fix.minutes
            self.played.wrong_fixes += 1
        self.note(Repair, suspect.id)

    def play(self, most: int = 150) -> Played:
        self.try_it()
        self.played.tries = 0.0
        while not self.played.ran and self.played.steps < most:
            self.played.steps += 1
            self.step(look(self.belief, self.evidence))
        return self.played

    def step(self, view: View) -> None:
        choice = self.pick(view)
        if choice.kind == "try":
            self.try_it()
        elif choice.kind == "fix":
            self.mend(choice.suspect)
        elif choice.kind == "check":
            self.played.checks += choice.score.minutes
            self.see(choice.score.check)
        else:
            self.call_specialist()

    def call_specialist(self) -> None:
        """The end of every policy when no check is left: an hour, and one fault that stops the engine is mended."""
        self.played.specialists += 1
        self.played.checks += SPECIALIST_MINUTES
        at = min(self.engine.stopping & self.engine.faults)
        self.engine.faults.discard(at)
        suspect = self.belief.suspects[at]
        self.played.right += suspect.fix.minutes
        self.note(Repair, suspect.id, success=1.0)


def advised(view: View) -> Choice:
    """The policy that ships."""
    return choose(view)


def static_list(order: list[str], early: bool = True, skip: bool = True):
    """A printed list, worked from the top: with the same belief, the same calls, and (if asked) early fixes."""
    place = {name: i for i, name in enumerate(order)}

    def pick(view: View) -> Choice:
        found = found_fix(view)
        if found is not None:
            return Choice("fix", suspect=found)
        if not view.settled.tried_since_repair:
            return Choice("try")
        useful = [s for s in view.ranked if s.check.id in place and (s.bits >= 0.01 or not skip or s.leads_to)]
        best = min(useful, key=lambda s: place[s.check.id], default=None)
        trial = trial_fix(view, best) if early else None
        if trial is not None:
            return Choice("fix", suspect=trial)
        return Choice("check", score=best) if best is not None else choose(view)

    return pick


def lists(network: Network) -> dict[str, list[str]]:
    """The static lists to beat: file order, by minutes, and by information a minute before anything is known."""
    view = look(network, [NoStart(1, AT)])
    seen = outlook(network, view.chances, view.outlook.draws, network.checks, share=view.outlook.share)
    prior = scores(seen, network.checks, frozenset())
    return {
        "file order": [c.id for c in network.checks],
        "by minutes": [s.check.id for s in sorted(prior, key=lambda s: s.minutes)],
        "by prior information a minute": [s.check.id for s in sorted(prior, key=lambda s: -s.bits / s.minutes)],
    }


def play_many(network: Network, pick, count: int, engines: int, seed: int = 1, belief: Network | None = None):
    """`engines` engines with `count` faults (or the counts of a pair, in turn), played with `pick`."""
    counts = count if isinstance(count, tuple) else (count,)
    return [
        Player(belief or network, draw_engine(network, counts[k % len(counts)], 1000 * seed + k), pick).play()
        for k in range(engines)
    ]

