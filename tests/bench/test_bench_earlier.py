"""'Same as before': what was answered to the same question, read back, and never for a hold point."""

from __future__ import annotations

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import open_job
from firststart.bench.earlier import AGAIN, NONE
from firststart.clock import SimulatedClock
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal


def bench(rules: Rules, procedure: str) -> Conductor:
    """A job on an engine of two cylinders at the beginning of a piece of work."""
    clock = SimulatedClock()
    desk = open_job(rules, MemoryJournal(), clock, i.Open("twin", "twin", "test", "shed"))
    conductor = Conductor(desk, Adviser(rules, None))
    conductor.greet()
    desk.submit(i.Begin(procedure))
    return conductor


def says(conductor: Conductor, *words: str) -> str:
    """What the last of the words is answered with."""
    for spoken in words:
        reply = conductor.hear(spoken)
    return " ".join(reply.say)


def test_a_choice_of_the_profile_is_read_back_and_taken(rules: Rules) -> None:
    """What the profile has is offered, and a yes takes it as if it had been said."""
    conductor = bench(rules, "engine-profile")
    says(conductor, "motorcycle", "petrol", "go back")

    assert "Petrol. Right?" == says(conductor, "same as before")
    assert "four-stroke" in conductor.hear("yes").prompt.text


def test_a_reading_is_read_back_with_its_unit(rules: Rules) -> None:
    """A number of the profile is offered again; no drops it."""
    conductor = bench(rules, "engine-profile")
    says(conductor, "motorcycle", "petrol", "four stroke", "two")
    says(conductor, "go back")

    assert "2. Right?" == says(conductor, "the same")
    assert "Then say it again." == says(conductor, "no")


def test_nothing_said_before_is_told(rules: Rules) -> None:
    """The first time there is nothing to be the same as, and the question stands."""
    conductor = bench(rules, "engine-profile")

    assert NONE == says(conductor, "same as before")
    assert "What kind of machine" in conductor.prompt().text


def test_what_meets_a_hold_point_is_looked_at_anew(rules: Rules) -> None:
    """An answer that makes hazardous work possible is never taken over from before."""
    conductor = bench(rules, "no-vapour")

    assert AGAIN == says(conductor, "same as before")
