"""Questions beside the work: the date, the place, and cranking told afterwards."""

from __future__ import annotations

from datetime import timedelta

import pytest

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import Desk, open_job, resume_job
from firststart.bench.questions import next_place
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.prompt.dialogue import VOICE

HOUR = 3600.0


def conductor_of(desk: Desk) -> Conductor:
    return Conductor(desk, Adviser(desk.rules, None))


def new_job(rules: Rules) -> Conductor:
    """A job at place 1, the first work just begun."""
    desk = open_job(rules, MemoryJournal(), SimulatedClock(), i.Open("twin", "twin", "test", "place 1"))
    desk.submit(i.SetProfile("kind", word="motorcycle"))
    desk.submit(i.SetProfile("starting", word="electric"))
    talk = conductor_of(desk)
    talk.greet()
    return talk


def later(talk: Conductor, hours: float, set_hours: float = 0.0) -> Conductor:
    """The bench is opened again after some hours; the clock may have been set meanwhile."""
    clock = talk.desk.clock
    assert isinstance(clock, SimulatedClock)
    clock.sleep(hours * HOUR)
    clock.set(clock.now() + timedelta(hours=set_hours))
    again = conductor_of(resume_job(talk.desk.rules, talk.desk.journal, clock, "twin"))
    again.greet()
    return again


def told(talk: Conductor) -> list[tuple[float, float]]:
    """Cranking told: (seconds, seconds ago)."""
    facts = talk.desk.journal.read("twin")
    return [(x.seconds, x.ago_s) for x in facts if isinstance(x, f.CrankTold)]


def test_after_hours_the_date_is_asked_and_then_the_place(rules: Rules) -> None:
    """Carrying on after more than an hour begins with two questions; then the work stands where it was."""
    talk = new_job(rules)
    talk.hear("yes")
    before = talk.prompt().text
    talk = later(talk, 20)

    assert "did 20 hours pass" in talk.prompt().text
    assert "same place" in talk.hear("yes").prompt.text
    assert before == talk.hear("yes").prompt.text
    assert talk.desk.situation.place == "place 1"


def test_what_has_gone_stale_is_said_since_when_and_because_of_what(rules: Rules) -> None:
    """Carrying on after a night: the fire check is past its hours, and an undoing says what undid it."""
    talk = new_job(rules)
    desk = talk.desk
    met = tuple(f.HoldMet(at=desk.clock.now(), hold=h, by="test") for h in ("fire-ready", "leak-free"))
    undone = f.HoldUndone(at=desk.clock.now(), hold="leak-free", because="The fuel hoses")
    desk.journal.append("twin", desk.situation.count, (*met, undone))
    clock = desk.clock
    assert isinstance(clock, SimulatedClock)
    clock.sleep(20 * HOUR)
    again = conductor_of(resume_job(rules, desk.journal, clock, "twin")).greet()

    fire, leak = "the fire check 16 hours ago (older than 4 hours)", "the fuel leak check 20 hours ago (The fuel hoses)"
    assert f"Gone stale: {fire}, {leak}." in again.say


def test_at_another_place_the_checks_of_the_old_one_are_gone(rules: Rules) -> None:
    """No leads to a new place with a name of its own, and what held for the old one is said to hold no longer."""
    talk = new_job(rules)
    talk.desk.submit(i.Begin("place"))
    while talk.desk.situation.run is not None and talk.desk.situation.run.procedure == "place":
        run = talk.desk.situation.run
        talk.hear(rules.table("place", talk.desk.situation).events(run.state)[0])
    talk = later(talk, 2)
    talk.hear("yes")
    reply = talk.hear("no")

    assert talk.desk.situation.place == "place 2"
    assert any("place check no longer holds" in line for line in reply.say)


def test_a_wrong_date_counts_for_nothing(rules: Rules) -> None:
    """After no the gap is not counted, and that is said."""
    talk = later(new_job(rules), 2, 900)
    reply = talk.hear("no")

    assert any("not counted" in line for line in reply.say)
    assert 0 == talk.desk.situation.withheld_s


@pytest.mark.parametrize("words", ["go back", "leave it", "status", "why", "help", "sausages"])
def test_other_words_do_not_answer_these_questions(rules: Rules, words: str) -> None:
    """Until it is answered the question stands, and the work under it is untouched."""
    talk = new_job(rules)
    talk.hear("yes")
    runs = talk.desk.situation.runs
    talk = later(talk, 20)
    talk.hear(words)

    assert "did 20 hours pass" in talk.prompt().text
    assert runs == talk.desk.situation.runs


def test_by_voice_these_answers_are_read_back(rules: Rules) -> None:
    """A yes that was only overheard confirms no date and no place."""
    talk = later(new_job(rules), 20)
    talk.hear("yes", VOICE)

    assert talk.desk.situation.withheld_s > 0
    talk.hear("yes", VOICE)
    assert 0 == talk.desk.situation.withheld_s


def test_stop_is_obeyed_before_these_questions_are_answered(rules: Rules) -> None:
    """Stop leads to making safe at once; the question comes after."""
    talk = later(new_job(rules), 20)
    talk.hear("stop")

    assert talk.desk.situation.stopped
    assert "key off" in talk.prompt().text.lower()


def test_a_laptop_that_slept_at_the_bench_is_asked_about(rules: Rules) -> None:
    """The time of day ran on and the steady clock did not: it is asked at the next word, without a restart."""
    talk = new_job(rules)
    talk.hear("yes")
    clock = talk.desk.clock
    assert isinstance(clock, SimulatedClock)
    clock.set(clock.now() + timedelta(hours=3))
    talk.hear("status")
    talk.tick()

    assert "did 3 hours pass" in talk.prompt().text


@pytest.mark.parametrize(
    ("words", "kept"),
    [
        ("I cranked it twice, ten seconds", [(10, 10), (10, 0)]),
        ("cranked it for 8 seconds", [(8, 0)]),
        ("I cranked it once for twelve seconds two minutes ago", [(12, 120)]),
    ],
)
def test_cranking_told_in_one_sentence_is_read_back_and_kept(
    rules: Rules, words: str, kept: list[tuple[float, float]]
) -> None:
    """Only yes keeps it."""
    talk = new_job(rules)
    asked = talk.hear(words)

    assert "Right?" in asked.say[0]
    assert [] == told(talk)
    reply = talk.hear("yes")
    assert kept == told(talk)
    assert any("told afterwards" in line for line in reply.say)


def test_cranking_that_is_not_confirmed_is_not_kept(rules: Rules) -> None:
    """No drops it."""
    talk = new_job(rules)
    talk.hear("I cranked it twice, ten seconds")
    talk.hear("no")
    talk.hear("yes")

    assert [] == told(talk)


def test_tell_crank_asks_how_often_and_how_long(rules: Rules) -> None:
    """The general word leads through two questions, and then back to the work."""
    talk = new_job(rules)
    before = talk.prompt().text
    assert "How many times" in talk.hear("tell crank").prompt.text
    talk.hear("3")
    assert "how many seconds" in talk.hear("yes").prompt.text
    reply = talk.hear("5 seconds")

    assert [(5, 10), (5, 5), (5, 0)] == told(talk)
    assert before == reply.prompt.text


def test_what_is_said_is_not_asked_again(rules: Rules) -> None:
    """How often was told with the words; only the seconds are asked."""
    talk = new_job(rules)

    assert "how many seconds" in talk.hear("I cranked it twice").prompt.text


def test_seconds_nobody_knows_count_as_the_longest(rules: Rules) -> None:
    """Don't know is an answer: each crank counts as thirty seconds."""
    talk = new_job(rules)
    talk.hear("I cranked it twice")
    talk.hear("don't know")

    assert [(30, 30), (30, 0)] == told(talk)


def test_how_often_must_be_guessed(rules: Rules) -> None:
    """Without a number of times there is nothing to count."""
    talk = new_job(rules)
    talk.hear("tell crank")
    reply = talk.hear("don't know")

    assert "best guess" in reply.say[0]
    assert "How many times" in talk.prompt().text


@pytest.mark.parametrize("words", ["never mind", "leave it", "go back"])
def test_telling_can_be_dropped(rules: Rules, words: str) -> None:
    """Never mind leads back to the work, which is as it was."""
    talk = new_job(rules)
    before = (talk.prompt().text, talk.desk.situation.count)
    talk.hear("tell crank")
    talk.hear(words)

    assert before == (talk.prompt().text, talk.desk.situation.count)


def test_stop_ends_the_telling(rules: Rules) -> None:
    """Stop is obeyed in the middle of it."""
    talk = new_job(rules)
    talk.hear("tell crank")
    talk.hear("stop")

    assert talk.desk.situation.stopped
    assert "How many times" not in talk.prompt().text


def test_go_that_moved_back_to_its_gate_counts_no_seconds(rules: Rules) -> None:
    """When a hold point had gone stale meanwhile, go turns nothing, and the bench does not count."""
    talk = new_job(rules)
    desk = talk.desk
    holds = ("place-ready", "fire-ready", "ignition-dead", "turns-by-hand", "oil-in", "pre-lubed", "clear-to-crank")
    desk.journal.append("twin", desk.situation.count, [f.HoldMet(at=desk.clock.now(), hold=h, by="x") for h in holds])
    talk = conductor_of(resume_job(rules, desk.journal, desk.clock, "twin"))
    talk.desk.submit(i.SetProfile("cylinders"))
    talk.desk.submit(i.Begin("oil-pressure"))
    for _ in range(30):
        run = talk.desk.situation.run
        assert run is not None
        if talk.prompt().expects.kind == "crank":
            break
        talk.hear(rules.table(run.procedure, talk.desk.situation).events(run.state)[0])
    assert "crank" == talk.prompt().expects.kind
    talk.desk.clock.sleep(11 * 60)
    talk.hear("go")

    assert talk.desk.situation.open_crank is None
    assert talk.turned() is None


@pytest.mark.parametrize(
    ("place", "after"),
    [("place 1", "place 2"), ("place 9", "place 10"), ("shed", "shed 2"), ("", "place 2"), ("bay 07", "bay 8")],
)
def test_a_place_after_a_place_has_a_name(place: str, after: str) -> None:
    """The number counts on, or begins at two."""
    assert after == next_place(place)
