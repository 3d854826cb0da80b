"""Teaching mode: the pupil is told what the engine shows, chooses alone, is scored, and can come back."""

from __future__ import annotations

from functools import cache

import pytest
from rehearsal_pupil import entry_for, lesson_of, worked
from rehearsal_world import scenario, world

from firststart.bench.shop import book_of
from firststart.job import facts as f
from firststart.rehearsal.lesson import Entry, Lesson
from firststart.rehearsal.lessonscore import answer_lines, better_path, path_lines, score, score_lines, scored
from firststart.rehearsal.play import Played

NAME = "mower-needle-stuck"


def straight(_lesson: Lesson, chosen: int) -> str:
    """Knows the answer: opens the page of the hidden fault, mends it, and tries again; once more where that failed."""
    return ("mixture", "mend a float needle stuck shut", "try to start it")[(chosen - 1) % 3]


@cache
def straight_lesson() -> tuple[Lesson, tuple[Entry, ...]]:
    lesson = lesson_of(scenario(NAME))
    return lesson, tuple(worked(lesson, straight))


@cache
def better() -> Played:
    here = world()
    book = book_of(here.rules.library)
    assert book is not None  # the library that ships has one
    return better_path(here.rules, scenario(NAME), here.kit, book, 1)


def test_a_pupil_who_mends_what_is_hidden_hears_it_run() -> None:
    """The pupil's own choice leads through the same work to a running engine, with nothing misjudged."""
    lesson, entries = straight_lesson()
    result = score(lesson, better())

    assert lesson.over
    assert result.runs
    assert (result.wrong, result.misjudged, result.risks, result.hints) == ((), 0, (), 0)
    assert result.marks > 0
    assert len(entries) > 20


def test_a_lesson_is_taken_up_by_entering_the_same_again() -> None:
    """The same entries lead to the same facts, shown words and score, from any point on."""
    lesson, entries = straight_lesson()
    again = lesson_of(scenario(NAME))
    again.greet()
    for entry in entries:
        again.enter(entry)

    assert lesson.result().facts == again.result().facts
    assert score(lesson, better()) == score(again, better())


def test_the_condition_stays_hidden_until_the_end() -> None:
    """No prompt, sight or choice names the hidden condition; the answer does."""
    lesson, _ = straight_lesson()
    hidden = world().kit.conditions["needle-stuck-shut"].say
    talk = "\n".join(lesson.result().lines)

    assert hidden not in talk
    assert any(hidden in line for line in answer_lines(scenario(NAME), world().kit.conditions))


def test_what_is_read_is_shown_and_entered_by_the_pupil() -> None:
    """What the engine gives is shown; an answer that differs is counted, at a hold point as a risk."""
    lesson = lesson_of(scenario(NAME))
    lesson.greet()
    shown = []
    for _ in range(60):
        prompt = lesson.prompt()
        if prompt.big == "your choice":
            break
        shown += lesson.shown()
        if lesson.shown() == ("You find: clean air.",):
            lesson.enter(Entry("smell of fuel"))
        else:
            lesson.enter(entry_for(lesson, straight, 0))

    assert any(line.startswith("You find: ") for line in shown)
    assert lesson.marks.misjudged >= 1
    assert lesson.marks.risks is not None


def test_a_starter_held_too_long_is_a_risk_and_lengthens_the_rest() -> None:
    """Thirty seconds instead of ten are kept as cranked, and told as a risk."""
    lesson = lesson_of(scenario("car-flat-battery"))
    worked(lesson, lambda _lesson, _chosen: "give up", held=30.0)
    cranked = [x.seconds for x in lesson.result().facts if isinstance(x, f.CrankEnded)]

    assert max(cranked) == 30.0
    assert any("too long" in risk for risk in lesson.marks.risks or ())


def test_giving_up_shows_the_answer_and_the_better_path() -> None:
    """Given up: no marks for time, the answer told, and the tool's own way with its minutes and results."""
    lesson = lesson_of(scenario(NAME))
    worked(lesson, lambda _lesson, _chosen: "give up and see the answer")
    result = score(lesson, better())
    path = path_lines(better(), world().rules.library)

    assert (result.gave_up, result.runs, result.marks) == (True, False, 0)
    assert "You gave it up" in score_lines(result)[0]
    assert path[-1].split("min", 1)[1].strip().startswith("First crank: It runs.")


def test_needless_repairs_hints_and_slips_cost_marks() -> None:
    """A hundred for the tool's own minutes, less ten for each needless repair, and so on."""
    played = better()
    own = scored(played, lesson_of(scenario(NAME)).marks, 1e9)
    marks = lesson_of(scenario(NAME)).marks
    marks.misjudged, marks.hints = 2, 1
    marks.risk("held too long")

    assert own.marks == 100
    assert scored(played, marks, 1e9).marks == 100 - 2 * 5 - 3 - 10


def test_a_hint_is_the_tools_own_advice_and_is_counted() -> None:
    """The hint speaks of a check or a repair, and leaves the choice with the pupil."""
    lesson = lesson_of(scenario(NAME))
    asked: list[str] = []

    def hint_first(_lesson: Lesson, chosen: int) -> str:
        return "a hint" if chosen == 1 else "give up"

    lesson.greet()
    for _ in range(100):
        chosen = lesson.prompt().big == "your choice"
        if chosen:
            asked += lesson.enter(Entry(hint_first(lesson, 1))).say
            break
        lesson.enter(entry_for(lesson, hint_first, 0))

    assert lesson.marks.hints == 1
    assert asked
    assert lesson.prompt().big == "your choice"


@pytest.mark.parametrize("words", ["", "blather", "99", "we stopped to hear the radio", "1" * 200, "\x00"])
def test_nonsense_at_the_pupils_choice_changes_nothing(words: str) -> None:
    """What is not understood leaves the choice as it is, with a sentence or none."""
    lesson = lesson_of(scenario(NAME))
    lesson.greet()
    while lesson.prompt().big != "your choice":
        lesson.enter(entry_for(lesson, straight, 0))
    before = lesson.result().facts
    lesson.enter(Entry(words))

    assert before == lesson.result().facts
    assert lesson.prompt().big == "your choice"
