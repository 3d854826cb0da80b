"""The book's few own words for profile fields, and the profile's words for them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

_TO_BOOK = {
    "kind": {"mower": "small engine", "generator": "small engine", "pump": "small engine"},
    "cooling": {"raw-water": "water"},
}


def book_words(words: Mapping[str, str]) -> dict[str, str]:
    """Profile words as the book names them: a mower is a small engine."""
    return {field: _TO_BOOK.get(field, {}).get(word, word) for field, word in words.items()}


def profile_conditions(rule: Mapping[str, Iterable[str]], known: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """A rule of the book as profile conditions; fields the profile does not have are left out."""
    conditions: dict[str, tuple[str, ...]] = {}
    for field, words in rule.items():
        if field in known:
            back = {new: [old for old, n in _TO_BOOK.get(field, {}).items() if n == new] for new in words}
            conditions[field] = tuple(w for word in words for w in (*(back[word]), word) if w != "small engine")
    return conditions


def event_of(word: str) -> str:
    """An outcome word of the book as the event of a procedure: no spaces."""
    return word.replace(" ", "-")


_VERDICTS = {  # a judge's verdict as the plain outcome that the book may ask for
    "pass": ("full", "usable", "holds", "inside", "enough", "tight", "fine", "fresh", "even", "good", "fair", "normal",
        "idle-only",  # enough to start on
    ),
    "fail": (
        "low", "dead", "sags", "high", "short", "open", "narrow", "wide", "long", "leaks", "stale", "none", "worn",
        "failed", "uneven",
    ),
    "too near to say": ("unsure", "doubtful"),
}  # fmt: skip


def word_of(event: str, words: Iterable[str]) -> str | None:
    """The outcome word that an event means, None when the book has no such word.

    The event's own word comes first; a judge's verdict may also stand for pass, fail or too near to say.
    """
    known = set(words)
    plain = next((name for name, verdicts in _VERDICTS.items() if event in verdicts), "")
    for candidate in (event, event.replace("-", " "), plain):
        if candidate in known:
            return candidate
    return None
