"""Engines drawn from the book, with hidden faults, and a player that follows a policy until the engine runs.

What a check shows and whether a repair works is luck that belongs to the engine, not to the order of work: two policies
meet the same luck on the same engine, so their difference is not drowned in chance.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

import numpy as np

from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Finding, NoStart, Ran, Repair
from firststart.diagnosis.network import Network
from firststart.diagnosis.policy import (
    Choice,
    View,
    choose,
    found_fix,
    look,
    odds_a_minute,
    open_access,
    trial_fix,
)
from firststart.diagnosis.score import Score, outlook, scores
from firststart.procedure.reader import read

FILE = Path(__file__).parents[2] / "procedures" / "no-start.yaml"
AT = datetime(2025, 5, 3, 10, 0, tzinfo=UTC)
SPECIALIST_MINUTES = 60.0
USELESS = 0.01
"""Bits: a check that would tell less is passed over in a printed list too."""
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
    name: str
    stopping: set[int] = field(default_factory=set)

    def __post_init__(self):
        self.stopping = {i for i in self.faults if self.luck("stops", i) < self.network.numbers.stops[i]}

    def luck(self, *what: object) -> float:
        """A number from 0 to 1 for `what`, always the same for this engine."""
        digest = hashlib.sha256(repr((self.name, what)).encode()).digest()
        return int.from_bytes(digest[:7], "big") / 2**56

    def shown(self, row: str, cause: int, chance: float) -> bool:
        """Whether this cause shows in this row."""
        return self.luck(row, cause) < chance

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
        engine = Engine(network, faults, f"{seed} {sorted(faults)} {random.random()}")
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
            again = sum(isinstance(e, Repair) and e.suspect == suspect.id for e in self.evidence)
            if self.engine.luck("works", at, again) < suspect.fix.works:
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
            self.call_specialist(choice.suspect)

    def call_specialist(self, suspect) -> None:
        """The end of every policy when no check is left, an hour: the suspect it was about is settled, and what stops
        the engine, if that is something else, is found."""
        self.played.specialists += 1
        self.played.checks += SPECIALIST_MINUTES
        stops = self.engine.stopping & self.engine.faults
        asked = None if suspect is None else self.belief.place[suspect.id]
        for at in dict.fromkeys(i for i in (asked, min(stops) if asked not in stops else None) if i is not None):
            if at in self.engine.faults:
                self.engine.faults.discard(at)
                self.played.right += self.belief.suspects[at].fix.minutes
            self.note(Repair, self.belief.suspects[at].id, success=1.0)


def advised(view: View) -> Choice:
    """The policy that ships."""
    return choose(view)


def printed_list(order: list[str]):
    """The best a printed list can be: a fixed order with a reader who reasons as well as the tool does.

    The reader knows all chances (the tool's own belief), passes over what could tell nothing (under USELESS bits), what
    the engine does not have, and what cannot be done yet, mends what is found by the same calls, tries after each
    repair, and ends as the tool does when the list is used up. The early fix is the plain rule: a suspect of 0.5 or
    more whose repair in vain costs no more than the next check of the list. What is not the list's are the tool's own
    order and the rules that belong to it: `least information`, the weighing of a try against the check that tells most
    a minute, and a specialist before the list's end.
    """
    place = {name: i for i, name in enumerate(order)}

    def pick(view: View) -> Choice:
        best = min(worthwhile(view, USELESS), key=lambda s: place[s.check.id], default=None)
        return _listed(view, best, None if best is None else plain_trial(view, best))

    return pick


def assisted_list(order: list[str]):
    """The same order with all the tool's other rules: no paper can do that, but it shows what the order alone is worth.

    It passes over what tells less than the book's `least information`, and mends early by the tool's whole rule.
    """
    place = {name: i for i, name in enumerate(order)}

    def pick(view: View) -> Choice:
        best = min(view.ranked, key=lambda s: place[s.check.id], default=None)
        return _listed(view, best, trial_fix(view, best))

    return pick


def _listed(view: View, best: Score | None, trial) -> Choice:
    """What the reader of a list does when `best` is its next check and `trial` the early fix that pays."""
    found = found_fix(view)
    if found is not None:
        return Choice("fix", suspect=found)
    if not view.settled.tried_since_repair:
        return Choice("try")
    if trial is not None:
        return Choice("fix", suspect=trial)
    return Choice("check", score=best) if best is not None else choose(view)


def worthwhile(view: View, least: float) -> list[Score]:
    """The checks that can be done now and tell at least so many bits, or open the way to one that the tool would do."""
    shut = {b.check.id for b in view.blocked}
    leads = {s.check.id for s in view.ranked}
    free = [c for c in view.network.checks if c.id in view.outlook.told and c.id not in shut]
    told = scores(view.outlook, free, open_access(view.network, view.settled))
    return [s for s in told if s.bits >= least or s.check.id in leads]


def plain_trial(view: View, best: Score):
    """The early fix: p >= trial, and (1 - p) x (minutes to mend and try) no more than the minutes of the next check."""
    policy = view.network.book.policy

    def price(suspect) -> float:
        return (1.0 - view.now(suspect)) * (suspect.fix.minutes + policy.try_minutes)

    paying = [
        s for s in view.culprits if not s.fix.costly and view.now(s) >= policy.trial and price(s) <= best.minutes
    ]
    return min(paying, key=lambda s: (round(price(s), 9), s.line), default=None)


def lists(network: Network) -> dict[str, list[str]]:
    """The printed orders: of the file, and by what is known of this kind of engine once it does not start.

    Cheapest first; most information a minute first; the odds of a bad outcome a minute, the order that is best for
    mending several independent faults (see `odds_a_minute`).
    """
    view = look(network, [NoStart(1, AT)])
    seen = outlook(network, view.chances, view.outlook.draws, network.checks, share=view.outlook.share)
    prior = scores(seen, network.checks, frozenset())

    def by(key) -> list[str]:
        return [s.check.id for s in sorted(prior, key=key)]

    return {
        "file order": [c.id for c in network.checks],
        "by minutes": by(lambda s: s.minutes),
        "by prior information a minute": by(lambda s: -s.bits / s.minutes),
        "by prior odds a minute": by(lambda s: -odds_a_minute(s.chance_bad, s.minutes)),
    }


def play_many(network: Network, pick, count: int, engines: int, seed: int = 1, belief: Network | None = None):
    """`engines` engines with `count` faults (or the counts of a pair, in turn), played with `pick`."""
    counts = count if isinstance(count, tuple) else (count,)
    return [
        Player(belief or network, draw_engine(network, counts[k % len(counts)], 1000 * seed + k), pick).play()
        for k in range(engines)
    ]

