"""The first words of a bench: three sentences, the voice tried, a name, and the job that is meant."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from firststart.cli.opening import HEARD, NAME, NOT_HEARD, WELCOME, Opening
from firststart.cli.tongue import Tongue
from firststart.clock import SimulatedClock
from firststart.devices.ears import ScriptedEars
from firststart.devices.mouth import SilentMouth
from firststart.devices.stage import Event
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.prompt.language import english
from firststart.prompt.prompt import Prompt


class Typist:
    """A stage at which the answers are known beforehand."""

    def __init__(self, *answers: str) -> None:
        self.answers, self.told = list(answers), list[str]()

    def tell(self, line: str) -> None:
        self.told.append(line)

    def show(self, prompt: Prompt) -> None:
        self.told.append(prompt.text)

    def next_event(self, _prompt: Prompt, _status: object, _poll: object) -> Event:
        return Event("typed", self.answers.pop(0)) if self.answers else Event("gone")


class Listening(Typist):
    """A stage at which nobody types: what the ears heard is the answer, else a press of the pedal."""

    def next_event(self, _prompt: Prompt, _status: object, poll: object) -> Event:
        heard = poll()  # type: ignore[operator]
        if heard is not None:
            return heard  # type: ignore[no-any-return]
        return Event("pedal", self.answers.pop(0)) if self.answers else Event("gone")


class Voice:
    """What is needed of a mouth here."""

    def __init__(self) -> None:
        self.said: list[str] = []

    def say(self, text: str, *, priority: bool = False) -> None:
        self.said.append(text)

    def silence(self) -> None:
        self.said.append("(silent)")


@pytest.fixture
def opening(rules: Rules, tmp_path: Path) -> Callable[..., Opening]:
    """Makes the opening of a bench; the journal stays the same."""
    journal = MemoryJournal()

    def made(*answers: str, job: str | None = None, engine: str | None = None) -> Opening:
        arguments = argparse.Namespace(job=job, engine=engine, language=None, home=tmp_path)
        clock = SimulatedClock(datetime(2026, 5, 2, 9, 0, tzinfo=UTC))
        return Opening(arguments, rules, journal, clock, Typist(*answers), Tongue(english()))

    return made


def test_the_first_use_says_three_sentences_and_tries_the_voice(opening: Callable[..., Opening]) -> None:
    """What it is stands in three sentences, said and shown; after a yes the engine's name is asked."""
    first, voice = opening("", "green twin"), Voice()
    desk = first.desk(lambda: voice)  # type: ignore[arg-type,return-value]

    assert desk is not None
    assert 3 == len(WELCOME)
    assert [*WELCOME, HEARD, NAME] == first.stage.told  # type: ignore[attr-defined]
    assert [*WELCOME, HEARD, "(silent)"] == voice.said
    assert "green twin" == desk.situation.engine
    assert first.mouth is voice


def test_a_voice_that_is_not_heard_is_told_what_to_mend(opening: Callable[..., Opening]) -> None:
    """No leads to one sentence with the command that helps, and the opening goes on."""
    first = opening("no", "twin")

    assert first.desk(Voice) is not None  # type: ignore[arg-type,return-value]
    assert NOT_HEARD in first.stage.told  # type: ignore[attr-defined]


def test_without_a_voice_nothing_is_asked_of_it(opening: Callable[..., Opening]) -> None:
    """A silent mouth is not asked about; enter alone gives the engine a number."""
    first = opening("")
    desk = first.desk(SilentMouth)

    assert desk is not None
    assert "engine 1" == desk.situation.engine
    assert HEARD not in first.stage.told  # type: ignore[attr-defined]


def test_the_second_time_the_voice_is_not_tried(opening: Callable[..., Opening]) -> None:
    """With a job under way enter carries it on; a new engine gets the welcome without the trial."""
    opening("twin").desk(SilentMouth)
    carried, new = opening(""), opening("new", "mower")
    mouths: list[SilentMouth] = []

    assert "twin" == carried.desk(SilentMouth).job  # type: ignore[union-attr]
    assert "mower" == new.desk(lambda: mouths.append(SilentMouth()) or mouths[0]).job  # type: ignore[union-attr,func-returns-value]
    assert [] == mouths


@pytest.mark.parametrize("answers", [(), ("",)])
def test_whoever_leaves_leaves_nothing_behind(answers: tuple[str, ...], opening: Callable[..., Opening]) -> None:
    """Ctrl-D at any question of the opening makes no job."""
    first = opening(*answers)

    assert first.desk(Voice) is None  # type: ignore[arg-type,return-value]
    assert () == first.journal.jobs()


@pytest.mark.parametrize(
    ("typed", "job"), [("1", "twin"), ("twin", "twin"), ("yes", "twin"), ("7", None), ("moped", None)]
)
def test_a_job_is_chosen_by_number_or_name(typed: str, job: str | None, opening: Callable[..., Opening]) -> None:
    """A number, a name, yes or enter choose; what is not there is told, and asked again."""
    opening("twin").desk(SilentMouth)
    again = opening(typed)
    desk = again.desk(SilentMouth)

    assert job == (desk.job if desk is not None else None)
    assert (f"There is no {typed!r} here." in again.stage.told) == (job is None)  # type: ignore[attr-defined]


def test_an_engine_that_had_a_job_gets_a_numbered_one(opening: Callable[..., Opening]) -> None:
    """A second job on the same engine has its name with a number, and shares its starter."""
    opening(engine="twin").desk(SilentMouth)
    second = opening(engine="twin").desk(SilentMouth)

    assert second is not None
    assert ("twin 2", "twin") == (second.job, second.situation.engine)


@pytest.mark.parametrize(
    ("said", "pressed", "job"),
    [
        (("carry on",), (), "twin"), (("yes",), (), "twin"), (("number one",), (), "twin"),
        (("new engine", "number it"), (), "engine 2"),
        ((), ("short",), "twin"), ((), ("double", "short"), "engine 2"), ((), ("held",), None), (("kettle",), (), None),
    ],
)  # fmt: skip
def test_a_job_is_opened_by_voice_or_by_pedal_alone(
    said: tuple[str, ...], pressed: tuple[str, ...], job: str | None, opening: Callable[..., Opening]
) -> None:
    """Carry on, a number, a new engine and its name: each said, or pressed, with no key of the keyboard."""
    opening("twin").desk(SilentMouth)
    here, mouth = opening(), SilentMouth()
    here.stage = Listening(*pressed)  # type: ignore[assignment]
    desk = here.desk(lambda: mouth, lambda _mouth: ScriptedEars(said))

    assert job == (desk.job if desk is not None else None)
    assert mouth.said[0].startswith("Carry on with twin?")
    assert here.stage.told[3].startswith("Carry on with twin?")  # type: ignore[attr-defined]
    assert "By voice: carry on, yes, new engine, number one." in here.stage.told  # type: ignore[attr-defined]


def test_the_first_use_may_be_answered_by_voice(opening: Callable[..., Opening]) -> None:
    """Whether the voice is heard, and that the engine gets a number; the ears go on with the bench."""
    first = opening()
    first.stage = Listening()  # type: ignore[assignment]
    desk = first.desk(Voice, lambda _mouth: ScriptedEars(("yes", "number it")))  # type: ignore[arg-type,return-value]

    assert desk is not None
    assert ("engine 1", True) == (desk.job, first.ears is not None)
