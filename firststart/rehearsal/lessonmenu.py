"""What a pupil may do next while the engine does not start: by part of the engine, every check and repair it has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from firststart.bench.desk import Desk
from firststart.diagnosis.book import Book
from firststart.diagnosis.fields import book_words
from firststart.diagnosis.model import Check, applies
from firststart.diagnosis.workings import procedure_for_check, procedure_for_fix
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt
from firststart.prompt.wording import duration

TRY, HINT, GIVE_UP, FINISH = "first-crank", "hint", "give-up", "finish-lesson"


@dataclass(frozen=True)
class Menu:
    """Pages of choices; `page` is the one that stands, "" the first. Each choice: event, words, minutes (or 0)."""

    pages: Mapping[str, tuple[tuple[str, str, float], ...]]
    page: str = ""

    def prompt(self) -> Prompt:
        """The page as a question."""
        rows = self.pages[self.page]
        options = tuple(Option(event, (words,)) for event, words, _ in rows)
        lines = [f"{n}. {w}{_minutes(m)}" for n, (_, w, m) in enumerate(rows, 1)]
        if not self.page:
            return Prompt(
                "It does not start. What do you look into next? Say its number.", "your choice",
                Expectation("choice", options), info="\n".join(lines), place="Your own choice",
                why="Look first where the most is told for the least work.",
            )  # fmt: skip
        return Prompt(
            "Which? Say its number, or go back.", "your choice", Expectation("choice", options),
            info="\n".join(lines), place="Your own choice", why="A check tells; a repair of what is whole wastes time.",
        )  # fmt: skip


def _minutes(minutes: float) -> str:
    return f" ({duration(minutes * 60)})" if minutes else ""


def menu_of(desk: Desk, book: Book) -> Menu:
    """Every check and repair for this engine, under the part of the engine that it tells most of."""
    library, words = desk.rules.library, desk.rules.words(desk.situation)
    fitting = {p.id: p for p in library.applicable(words)}
    told = book_words(words)
    pages: dict[str, dict[str, tuple[str, str, float]]] = {zone: {} for zone in book.zones}
    for check in book.checks.values():
        work = procedure_for_check(book, check.id, fitting) if applies(check.applies, told) else ""
        if work in fitting and work != TRY:
            row = (work, f"check {check.name}", fitting[work].minutes)
            pages[_zone_of(check, book, told)].setdefault(work, row)
    for suspect in book.suspects.values():
        work = procedure_for_fix(book, suspect.id, fitting) if applies(suspect.applies, told) else ""
        if work in fitting:
            pages[suspect.zone].setdefault(work, (work, f"mend {suspect.name}", fitting[work].minutes))
    kept = {f"zone-{zone}".replace(" ", "-"): rows for zone, rows in pages.items() if rows}
    first = [(f"zone-{z}".replace(" ", "-"), book.zones[z].name, 0.0) for z, rows in pages.items() if rows]
    top = (
        (TRY, "try to start it", fitting[TRY].minutes if TRY in fitting else 0.0), *first,
        (HINT, "a hint", 0.0), (GIVE_UP, "give up and see the answer", 0.0), (FINISH, "finish for today", 0.0),
    )  # fmt: skip
    return Menu({"": top, **{name: tuple(rows.values()) for name, rows in kept.items()}})


def _zone_of(check: Check, book: Book, words: Mapping[str, str]) -> str:
    """The zone that a check tells most of: by the chances with which its causes show in it."""
    weights: dict[str, float] = {}
    for row in check.rows:
        for name, chance in row.bad_if.items():
            suspect = book.suspects[name]
            if applies(suspect.applies, words):
                weights[suspect.zone] = weights.get(suspect.zone, 0.0) + chance
    return max(weights, key=lambda z: weights[z], default=next(iter(book.zones)))
