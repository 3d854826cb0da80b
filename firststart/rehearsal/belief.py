"""What the book believes of an engine of a scenario before anything is known of it."""

from __future__ import annotations

from firststart.bench.advice import YEAR_S
from firststart.diagnosis.book import Book
from firststart.diagnosis.fields import book_words
from firststart.diagnosis.network import Network, fit
from firststart.job.rules import Rules
from firststart.rehearsal.scenario import Scenario


def network_of(rules: Rules, book: Book, scenario: Scenario) -> Network:
    """The book fitted to the engine as its owner knows it."""
    profile = rules.profile(scenario.told)
    years = profile.si("years")
    return fit(book, book_words(profile.words), None if years is None else years / YEAR_S, profile.word("storage"))
