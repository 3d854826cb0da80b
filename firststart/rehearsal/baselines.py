"""Other ways to choose the next check, to measure the tool against: lists that a workshop could print on a card.

All of them share the tool's belief, its calls of what is found, its repairs and tries, and skip checks that could
tell nothing. Only the order of the checks is theirs, so they are as good as such lists can be.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from firststart.bench.advice import YEAR_S, Adviser
from firststart.bench.evidence import evidence_of
from firststart.diagnosis.advice import Advice, Step
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence, NoStart
from firststart.diagnosis.fields import book_words
from firststart.diagnosis.network import fit
from firststart.diagnosis.policy import View, look
from firststart.diagnosis.score import Score
from firststart.job.rules import Rules
from firststart.job.situation import Situation

Key = Callable[[Score], tuple[float, int]]


class ListAdviser(Adviser):
    """The tool's adviser with its order of checks replaced by `key`, least first."""

    def __init__(self, rules: Rules, book: Book, key: Key) -> None:
        super().__init__(rules, book)
        self.key = key

    def advice(self, situation: Situation) -> Advice | None:
        given = super().advice(situation)
        if given is None or given.next.kind != "check":
            return given
        view = self._view(situation, None)
        best = min(view.ranked, key=lambda s: self._key_of(s, situation), default=None)
        return given if best is None else replace(given, next=_step(best), spoken=f"Check {best.check.name}.")

    def _key_of(self, score: Score, _situation: Situation) -> tuple[float, int]:
        return self.key(score)

    def _view(self, situation: Situation, evidence: tuple[Evidence, ...] | None) -> View:
        assert self.book is not None  # the constructor asks for one
        profile = self.rules.profile(situation.profile)
        years = profile.si("years")
        told = evidence_of(self.book, situation, profile.words) if evidence is None else evidence
        network = fit(
            self.book, book_words(profile.words), None if years is None else years / YEAR_S, profile.word("storage")
        )
        return look(network, told, self.hindered(situation).get)


class PrintedAdviser(ListAdviser):
    """A list made once for this sort of engine, by the chance of a bad outcome a minute before anything is known."""

    def __init__(self, rules: Rules, book: Book) -> None:
        super().__init__(rules, book, lambda s: (0.0, s.check.line))
        self._lists: dict[str, dict[str, int]] = {}

    def _key_of(self, score: Score, situation: Situation) -> tuple[float, int]:
        key = repr(sorted(situation.profile.words.items()))
        if key not in self._lists:
            at = situation.opened
            assert at is not None  # a job that has begun was opened
            first = self._view(situation, (NoStart(0, at),)).ranked
            ordered = sorted(first, key=lambda s: (-s.chance_bad / s.check.minutes, s.check.line))
            self._lists[key] = {s.check.id: n for n, s in enumerate(ordered)}
        return (float(self._lists[key].get(score.check.id, len(self._lists[key]))), score.check.line)


def _step(score: Score) -> Step:
    check = score.check
    return Step(
        "check", check.id, check.name, check.do, score.minutes, check.procedure, check.observes, check.words,
        check.hazard, score.bits, score.chance_bad,
    )


def advisers(rules: Rules, book: Book) -> dict[str, Callable[[], Adviser]]:
    """The tool and every baseline, by name, each made fresh."""
    return {
        "firststart": lambda: Adviser(rules, book),
        "file order": lambda: ListAdviser(rules, book, lambda s: (0.0, s.check.line)),
        "cheapest first": lambda: ListAdviser(rules, book, lambda s: (s.minutes, s.check.line)),
        "odds a minute": lambda: ListAdviser(rules, book, lambda s: (-s.chance_bad / s.minutes, s.check.line)),
        "printed list": lambda: PrintedAdviser(rules, book),
    }
