"""Where what an engine shows by physics and what the book says of it differ by more than chance.

For each suspect that the virtual engine can have, engines are drawn that do not start for it alone; every check that
fits is looked at as a person would, and the share of bad outcomes, row by row, stands against the book's number. The
book is mended by reason, where the trade or a source says so, and never made to fit: the virtual engine is a model too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from firststart.diagnosis.book import Book
from firststart.diagnosis.fields import event_of, word_of
from firststart.diagnosis.model import Check
from firststart.diagnosis.network import Network
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.judge.model import Reading
from firststart.procedure.model import Measure
from firststart.prompt.expect import Option
from firststart.rehearsal.belief import network_of
from firststart.rehearsal.draw import draw_having
from firststart.rehearsal.engine import VirtualEngine
from firststart.rehearsal.figures import wilson
from firststart.rehearsal.kit import Kit
from firststart.rehearsal.looks_trial import TRIALS
from firststart.rehearsal.readings import READINGS
from firststart.rehearsal.scenario import Scenario
from firststart.rehearsal.speaking import tidy
from firststart.rehearsal.which import fitting
from firststart.units import from_si

NOTHING = "nothing wrong"
Z = 3.2905  # two-sided, one in a thousand: several hundred rows are compared at once
LEAST = 0.15  # differences smaller than a step of the book's words are not listed
FIRING = "firing"
TRIES = frozenset({FIRING, "prime", "exhaust.smell", *TRIALS})  # what says something of an engine that does not start
SPUN_S = 6.0  # seconds of cranking before the looks: a person has tried to start it


@dataclass(frozen=True)
class Differs:
    """One row of a check under one suspect: `seen` of `tries` were bad, the book says `book`."""

    check: str
    row: str
    suspect: str
    tries: int
    seen: float
    between: tuple[float, float]
    book: float

    def line(self) -> str:
        """As a line of the table."""
        low, high = self.between
        seen = f"{self.seen:>6.0%} ({low:.0%}-{high:.0%}) of {self.tries}"
        return f"{self.check:20}{self.row[:26]:28}{self.suspect:20}{seen:26}book {self.book:.0%}"


class _Bench:
    """Looks at an engine as a person would, and says what the book reads from it."""

    def __init__(self, rules: Rules, book: Book, kit: Kit) -> None:
        self.rules, self.book, self.kit = rules, book, kit
        steps = [s for p in rules.library.procedures.values() for s in p.steps.values() if s.measure is not None]
        self.judges = {s.measure.name: s.measure for s in steps if s.measure is not None and s.measure.judge}

    def rows(self, scenario: Scenario, network: Network, seed: int) -> Iterable[tuple[str, str, bool]]:
        """(check, row, was it bad) for every row that was read. A graded word is no plain answer and is left out."""
        engine = VirtualEngine.of(
            scenario.truth, scenario.given.hidden, self.kit.conditions, self.kit.repairs, seed, prepared=True
        )
        engine.try_to_start()
        engine.turn(SPUN_S)
        situation = Situation(profile=scenario.told)
        words = {c.id: self._word(c, engine, situation) for c in network.checks}
        turns, runs = engine.sight.turning().turns, engine.try_to_start()[1].runs
        for check in network.checks:
            word = words[check.id]
            barred = any(words[n] not in good for n, good in check.needs.items() if words.get(n) is not None)
            if word is None or barred or (runs and check.observes in TRIES) or (check.observes == FIRING and not turns):
                continue  # it would not be done, or would tell nothing
            for reading in self.book.read(check.id, word, network.profile):
                if reading.likelihood is None and network.numbers.rows[reading.row].causes:
                    yield check.id, reading.row, reading.outcome == "bad"

    def _word(self, check: Check, engine: VirtualEngine, situation: Situation) -> str | None:
        """The outcome of a check: that of the worst cylinder."""
        options = tuple(Option(event_of(w), (w,)) for w in check.words)
        each = engine.body.numbers
        found = [self._one(check, engine, situation, options, c) for c in each]
        known = [check.words.index(w) for w in found if w is not None]
        return check.words[min(known)] if known else None

    def _one(
        self, check: Check, engine: VirtualEngine, situation: Situation, options: tuple[Option, ...], cylinder: int
    ) -> str | None:
        measure = self.judges.get(check.observes)
        if measure is not None and measure.judge and check.observes in READINGS:
            return word_of(self._judged(measure, engine, situation, cylinder), check.words)
        seen = engine.look(check.observes, cylinder)
        if seen is None:
            return check.ok_when[-1] if check.ok_when else None
        option = fitting(seen, options)
        return check.words[options.index(option)] if option is not None else None

    def _judged(self, measure: Measure, engine: VirtualEngine, situation: Situation, cylinder: int) -> str:
        """The verdict on a reading, rounded as the instrument shows it."""
        si = engine.read(measure.name, measure.quantity, cylinder)
        if si is None:
            return ""
        value = tidy(from_si(si, measure.unit, measure.quantity), measure.resolution)
        reading = Reading(measure.name, value, cylinder, measure.resolution)
        return self.rules.judge(measure.judge or "", reading, situation).word


def disagreements(
    rules: Rules, book: Book, kit: Kit, engines: int = 40, first: int = 1, only: Collection[str] | None = None
) -> tuple[Differs, ...]:
    """Every row that differs by more than sampling error (one in a thousand) and more than a step of words.

    `engines` of each suspect are looked at, and as many sound ones; `only` names the suspects to look at, None all.
    The greatest differences come first.
    """
    bench = _Bench(rules, book, kit)
    found: list[Differs] = []
    wanted = [s for s in book.suspects if kit.repairs.get(s) and (only is None or s in only)]
    for suspect in (*([None] if only is None else []), *wanted):
        counts: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
        said: dict[tuple[str, str], float] = {}
        for seed in range(first, first + engines):
            scenario = draw_having(seed, kit.conditions, kit.repairs[suspect][0] if suspect else None)
            network = network_of(rules, book, scenario) if scenario is not None else None
            if scenario is None or network is None or (suspect is not None and suspect not in network.place):
                continue
            for check, row, bad in bench.rows(scenario, network, seed):
                counts[(check, row)][0] += bad
                counts[(check, row)][1] += 1
                said[(check, row)] = _book_says(network, row, suspect)
        found += _differing(suspect or NOTHING, counts, said)
    return tuple(sorted(found, key=lambda d: -abs(d.seen - d.book)))


def _book_says(network: Network, row: str, suspect: str | None) -> float:
    """The chance that the row is bad when this suspect alone is there."""
    found = network.numbers.rows[row]
    q = dict(found.causes).get(network.place[suspect], 0.0) if suspect is not None else 0.0
    return 1 - (1 - found.leak) * (1 - q)


def _differing(
    suspect: str, counts: Mapping[tuple[str, str], list[int]], said: Mapping[tuple[str, str], float]
) -> list[Differs]:
    found = []
    for (check, row), (bad, tries) in counts.items():
        low, high = wilson(bad, tries, Z)
        book = said[(check, row)]
        if not low <= book <= high and abs(bad / tries - book) >= LEAST:
            found.append(Differs(check, row, suspect, tries, bad / tries, (low, high), book))
    return found
