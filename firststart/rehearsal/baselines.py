"""Other ways to choose the next check, to measure the tool against: lists that a workshop could print on a card.

"Odds anew" is more than a list: chance over minutes, reckoned again after every answer. All of them share the tool's
belief, its calls of what is found, its repairs and tries, and skip checks that could tell nothing. Only the order of
the checks is theirs, so they are as good as such lists can be.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from firststart.bench.advice import Adviser, Case
from firststart.diagnosis.advice import Advice, Kind, Step
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import NoStart
from firststart.diagnosis.explain import spoken
from firststart.diagnosis.network import fit
from firststart.diagnosis.policy import Choice, View, choose, look
from firststart.diagnosis.score import Score
from firststart.job.rules import Rules
from firststart.job.situation import Situation

Key = Callable[[Score], tuple[float, int]]


class BriefAdviser(Adviser):
    """The tool's own choices without the reasons that a screen shows: a study of thousands of jobs reads none.

    `spent` are the seconds of the processor that the advice took, told by `ticks`.
    """

    def __init__(
        self, rules: Rules, book: Book | Callable[[], Book | None] | None, ticks: Callable[[], float] = lambda: 0.0,
    ) -> None:  # fmt: skip
        super().__init__(rules, book)
        self.ticks, self.spent = ticks, 0.0

    def _advise(self, situation: Situation, book: Book) -> Advice:
        began = self.ticks()
        made = (self.case(situation, book), self.hindered(situation))
        if self._made is None or self._made[0] != made:
            self._made = (made, self._decided(situation, self.view(book, made[0], made[1])))
        self.spent += self.ticks() - began
        return self._made[1]

    def _decided(self, situation: Situation, view: View) -> Advice:
        choice = choose(view)
        if choice.kind != "check" or choice.score is None:
            return Advice(_other(choice), "" if choice.kind == "wait" else spoken(view, choice), "", ())
        score = self.best(view, choice.score, situation)
        return Advice(_step(score), f"Check {score.check.name}.", "", ())

    def best(self, _view: View, chosen: Score, _situation: Situation) -> Score:
        """The check to do, when it is a check's turn."""
        return chosen

    def view(self, book: Book, case: Case, hindered: Mapping[str, str]) -> View:
        """What the diagnosis sees of a case."""
        words, years, storage, evidence = case
        return look(fit(book, words, years, storage), evidence, hindered.get)


class ListAdviser(BriefAdviser):
    """The same with the order of checks replaced by `key`, least first."""

    def __init__(self, rules: Rules, book: Book, key: Key) -> None:
        super().__init__(rules, book)
        self.key = key

    def best(self, view: View, chosen: Score, situation: Situation) -> Score:
        """The first of the list among the checks that are left."""
        return min(view.ranked, key=lambda s: self.place(s, situation), default=chosen)

    def place(self, score: Score, _situation: Situation) -> tuple[float, int]:
        """Where a check stands in the list."""
        return self.key(score)


class PrintedAdviser(ListAdviser):
    """A list made once for this very engine, before anything is known but that it does not start."""

    def __init__(self, rules: Rules, book: Book, key: Key) -> None:
        super().__init__(rules, book, key)
        self._lists: dict[str, dict[str, int]] = {}

    def place(self, score: Score, situation: Situation) -> tuple[float, int]:
        """Where a check stands in the list that was made for this engine."""
        key = repr((situation.job, situation.opened, sorted(situation.profile.words.items())))
        if key not in self._lists:
            at, book = situation.opened, self.book
            assert at is not None and book is not None  # a job that has begun was opened, and its book read
            case = (*self.case(situation, book)[:3], (NoStart(0, at),))
            first = sorted(self.view(book, case, {}).ranked, key=self.key)
            self._lists[key] = {s.check.id: n for n, s in enumerate(first)}
        return (float(self._lists[key].get(score.check.id, len(self._lists[key]))), score.check.line)


def by_line(score: Score) -> tuple[float, int]:
    """The order of the book's file."""
    return (0.0, score.check.line)


def by_minutes(score: Score) -> tuple[float, int]:
    """Cheapest first."""
    return (score.check.minutes, score.check.line)


def by_odds(score: Score) -> tuple[float, int]:
    """The chance of a bad outcome over its minutes, largest first."""
    return (-score.chance_bad / score.check.minutes, score.check.line)


def by_odds_now(score: Score) -> tuple[float, int]:
    """The same over the minutes that it takes as things stand."""
    return (-score.chance_bad / score.minutes, score.check.line)


def by_rate(score: Score) -> tuple[float, int]:
    """Bits of information a minute, largest first."""
    return (-score.bits / score.check.minutes, score.check.line)


def _other(choice: Choice) -> Step:
    """A repair, a try, or the end."""
    kinds: dict[str, Kind] = {"fix": "fix", "try": "try", "done": "done", "wait": "wait"}
    kind = kinds.get(choice.kind, "specialist")
    if choice.kind == "fix" and choice.suspect is not None:
        return Step(kind, choice.suspect.id, choice.suspect.name, choice.suspect.fix.do, choice.suspect.fix.minutes)
    return Step(kind, kind, kind, "", 0.0)


def _step(score: Score) -> Step:
    check = score.check
    return Step("check", check.id, check.name, check.do, score.minutes, check.procedure, check.observes, check.words)


def advisers(rules: Rules, book: Book) -> dict[str, Callable[[], Adviser]]:
    """The tool and every baseline, by name, each made fresh.

    "firststart in full" works out and words all reasons too, as at the bench; its plays are the same.
    """
    return {
        "firststart": partial(BriefAdviser, rules, book),
        "firststart in full": partial(Adviser, rules, book),
        "file order": partial(ListAdviser, rules, book, by_line),
        "cheapest first": partial(ListAdviser, rules, book, by_minutes),
        "odds anew": partial(ListAdviser, rules, book, by_odds_now),
        "printed by odds": partial(PrintedAdviser, rules, book, by_odds),
        "printed by bits": partial(PrintedAdviser, rules, book, by_rate),
    }
