"""The diagnosis at the bench: from a no-start straight into the next check, repair or try."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from firststart.bench.desk import Desk
from firststart.bench.trying import FIRST_CRANK, does_not_start
from firststart.job.rules import Rules
from firststart.job.situation import Situation
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt

if TYPE_CHECKING:  # the whole diagnosis comes with these: it is fetched when an engine does not start
    from firststart.diagnosis.advice import Advice
    from firststart.diagnosis.book import Book
    from firststart.diagnosis.evidence import Evidence

YEAR_S = 365.25 * 86400
Case = tuple[dict[str, str], float | None, str | None, tuple["Evidence", ...]]


class Adviser:
    """Advice for one workshop's library; the newest advice is kept, since the same record gives the same advice."""

    def __init__(self, rules: Rules, book: Book | Callable[[], Book | None] | None) -> None:
        self.rules, self._given = rules, book
        self._newest: tuple[str, int, Advice] | None = None
        self._made: tuple[tuple[Case, dict[str, str]], Advice] | None = None

    @cached_property
    def book(self) -> Book | None:
        """The book; one that has still to be made is made when an engine first does not start."""
        return self._given() if callable(self._given) else self._given

    def advice(self, situation: Situation) -> Advice | None:
        """What is ruled out, left and found, and what to do next; None without a book."""
        if self.book is None:
            return None
        if self._newest is not None and self._newest[:2] == (situation.job, situation.count):
            return self._newest[2]
        given = self._advise(situation, self.book)
        self._newest = (situation.job, situation.count, given)
        return given

    def _advise(self, situation: Situation, book: Book) -> Advice:
        """Advice without the checks that cannot be done now. Kept while nothing changed that it is made from."""
        from firststart.diagnosis.advise import advise

        made = (self.case(situation, book), self.hindered(situation))
        if self._made is None or self._made[0] != made:
            self._made = (made, advise(book, *made[0], made[1].get))
        return self._made[1]

    def hindered(self, situation: Situation) -> dict[str, str]:
        """The checks that cannot be done now, each with the reason; none without a book."""
        from firststart.bench.possible import hindrances

        if self.book is None:
            return {}
        words = self.rules.words(situation)
        works = self._works(words)
        return hindrances(self.rules, situation, self.book, lambda check: self._work("check", check, words, works))

    def _works(self, words: Mapping[str, str]) -> dict[tuple[str, str], str]:
        """The work found before for checks and fixes on engines of these words, kept with the library."""
        return self.rules.library.remembered(("works", frozenset(words.items())), dict)

    def case(self, situation: Situation, book: Book) -> Case:
        """What the diagnosis looks at beside its book: the engine's words, years, storage, and the evidence."""
        from firststart.bench.evidence import evidence_of
        from firststart.diagnosis.fields import book_words

        profile = self.rules.profile(situation.profile)
        years = profile.si("years")
        evidence = evidence_of(book, situation, profile.words)
        return (
            book_words(profile.words), None if years is None else years / YEAR_S, profile.word("storage"), evidence,
        )  # fmt: skip

    def lead(self, desk: Desk, plain: Callable[[], Prompt]) -> Prompt:
        """The idle prompt: that of the plan, or the advised work while the engine does not start."""
        if not does_not_start(desk.situation) or self.book is None:
            return plain()
        given = self.advice(desk.situation)
        if given is None or given.next.kind == "done":
            return plain()
        if given.next.kind in ("specialist", "wait"):
            return _no_check(given, plain())
        procedure = self._procedure(given, self.rules.words(desk.situation))
        options = (
            Option("begin", ("yes", "next", "do it", "begin")),
            Option("other", ("something else", "other work")),
            Option("finish", ("finish for today", "no")),
        )
        return Prompt(
            f"{given.spoken} Shall we?",
            given.next.name[:24],
            Expectation("idle", options),
            info="\n".join(given.lines),
            why=given.why_not or given.spoken,
            offer=procedure,
            place="Why it does not start",
        )

    def leads_to(self, situation: Situation) -> tuple[str, ...]:
        """The work that the diagnosis has next while the engine does not start; nothing when it has none."""
        given = self.advice(situation) if does_not_start(situation) else None
        if given is None or given.next.kind in ("wait", "done", "specialist"):
            return ()
        return (self._procedure(given, self.rules.words(situation)),)

    def _procedure(self, given: Advice, words: Mapping[str, str]) -> str:
        """The work behind the advice: what applies to this engine first, else whatever there is."""
        assert self.book is not None  # only called with a book
        if given.next.kind == "try":
            return FIRST_CRANK
        return self._work(given.next.kind, given.next.id, words, self._works(words))

    def _work(self, kind: str, name: str, words: Mapping[str, str], works: dict[tuple[str, str], str]) -> str:
        """The procedure for a check or a fix on an engine of these words; `works` keeps those found before."""
        if (kind, name) not in works:
            works[kind, name] = self._work_for(kind, name, words)
        return works[kind, name]

    def _work_for(self, kind: str, wanted: str, words: Mapping[str, str]) -> str:
        assert self.book is not None  # as above
        from firststart.diagnosis.workings import procedure_for_check, procedure_for_fix, tellers

        library = self.rules.library
        fitting = {p.id: p for p in library.applicable(words)}
        if kind == "fix":
            name = procedure_for_fix(self.book, wanted, fitting)
            return name if name in fitting else procedure_for_fix(self.book, wanted, library.procedures)
        telling = library.remembered("tellers", lambda: tellers(library.procedures))
        name = procedure_for_check(self.book, wanted, fitting, telling)
        return name if name in fitting else procedure_for_check(self.book, wanted, library.procedures, telling)


def _no_check(given: Advice, prompt: Prompt) -> Prompt:
    """The book cannot tell the rest apart, or all that would is barred: said honestly, and what would help."""
    options = (Option("other", ("something else", "other work")), Option("finish", ("finish for today",)))
    return replace(
        prompt,
        text=f"{given.spoken} {given.next.do}" if given.next.kind == "specialist" else given.spoken,
        big="ask a specialist" if given.next.kind == "specialist" else "not now",
        expects=Expectation("idle", options),
        info="\n".join(given.lines),
        why=given.next.do if given.next.kind == "specialist" else given.spoken,
        place="Why it does not start",
    )
