"""A pupil for tests: enters what is shown, cranks as long as asked, and chooses from the menu as told."""

from __future__ import annotations

from collections.abc import Callable

from rehearsal_world import world

from firststart.bench.shop import book_of
from firststart.rehearsal.lesson import Entry, Lesson
from firststart.rehearsal.scenario import Scenario

Choose = Callable[[Lesson, int], str]  # the lesson and how many choices were made before -> what to enter
WAYS = {"action": "done", "gate": "1", "wait": "next", "crank": "go", "idle": "yes", "stopped": "carry on"}
PREFERRED = ("look for the cause", "sticks shut")


def lesson_of(what: Scenario, seed: int = 1) -> Lesson:
    """A lesson at this engine."""
    here = world()
    book = book_of(here.rules.library)
    assert book is not None  # the library that ships has one
    return Lesson(here.rules, what, here.kit, book, seed)


def entry_for(lesson: Lesson, choose: Choose, chosen: int, held: float = 4.0) -> Entry:
    """What this pupil enters now."""
    prompt, shown = lesson.prompt(), lesson.shown()
    if prompt.big == "your choice":
        return Entry(choose(lesson, chosen))
    if prompt.expects.kind == "turning":
        return Entry("stop", turned=held)
    if lesson.conductor.dialogue.pending is not None:
        return Entry("yes")
    if shown:
        return Entry(shown[0].split(" shows " if " shows " in shown[0] else ": ", 1)[1].rstrip("."))
    for option in prompt.expects.options:
        if any(words in option.phrases[0] for words in PREFERRED):
            return Entry(option.phrases[0])
    return Entry(WAYS.get(prompt.expects.kind, "1"))


def worked(lesson: Lesson, choose: Choose, most: int = 400, held: float = 4.0) -> list[Entry]:
    """The entries of a pupil until the lesson is over."""
    lesson.greet()
    entries: list[Entry] = []
    chosen = 0
    while not lesson.over and len(entries) < most:
        chosen += lesson.prompt().big == "your choice"
        entry = entry_for(lesson, choose, chosen, held)
        entries.append(entry)
        lesson.enter(entry)
    return entries
