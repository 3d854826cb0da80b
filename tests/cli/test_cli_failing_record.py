"""The bench in a pseudo-terminal when its record fails in the middle: told, nothing lost, and on when it is mended."""

from __future__ import annotations

import io
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from test_cli_terminal import Person, answers_of, facts_of

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import open_job
from firststart.cli.bench import Bench
from firststart.clock import SimulatedClock
from firststart.devices.ears import DeafEars
from firststart.devices.mouth import SilentMouth
from firststart.devices.stage import Event, PlainStage
from firststart.errors import RecordFull
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="limits of another process are set through Linux")


@pytest.fixture
def person(tmp_path: Path) -> Iterator[Person]:
    """Somebody in the middle of making the place safe."""
    one = Person(tmp_path, "--job", "green twin")
    one.sees("Shall we begin?")
    one.types("something else")
    one.sees("Which work?")
    one.types("the place and the people")
    one.sees("Move the machine to the open air")
    yield one
    one.close()


def test_a_full_disk_is_told_and_work_goes_on_after_it(person: Person, tmp_path: Path) -> None:
    """The answer is not taken, the question stands, what was answered is there; with room again it is taken once."""
    import resource

    log = (tmp_path / "record.db-wal").stat().st_size
    resource.prlimit(person.child.pid, resource.RLIMIT_FSIZE, (log, resource.RLIM_INFINITY))
    person.types("open air")
    person.sees("Everything before is kept")
    person.types("help me")
    person.sees("Also: say again")
    before = answers_of(tmp_path, "green twin")
    resource.prlimit(person.child.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    person.types("open air")
    person.sees("Put out every flame")
    person.leaves()

    assert before == []
    assert answers_of(tmp_path, "green twin") == ["open"]


def test_a_stick_pulled_out_is_told_and_work_goes_on_when_it_is_back(person: Person, tmp_path: Path) -> None:
    """The record's folder goes away and comes back: each answer is told as not taken, and taken when it is there."""
    away = tmp_path.with_name(tmp_path.name + "-away")
    tmp_path.rename(away)
    person.types("open air")
    person.sees("is no longer there; put its disk or folder back")
    away.rename(tmp_path)
    person.types("open air")
    person.sees("Put out every flame")
    person.types("done")
    person.sees("level ground")
    person.leaves()

    assert answers_of(tmp_path, "green twin") == ["open", "done"]


def test_stop_is_obeyed_though_the_disk_is_full(person: Person, tmp_path: Path) -> None:
    """Ctrl-C says what to do at once, also when it cannot be kept; with room again it is kept."""
    import resource

    log = (tmp_path / "record.db-wal").stat().st_size
    resource.prlimit(person.child.pid, resource.RLIMIT_FSIZE, (log, resource.RLIM_INFINITY))
    person.child.sendcontrol("c")
    person.sees("Stop now. Turn the key off.")
    resource.prlimit(person.child.pid, resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    person.child.sendcontrol("c")
    person.sees("Turn the key off")
    person.leaves()

    assert any(isinstance(fact, f.Stopped) for fact in facts_of(tmp_path, "green twin"))


class Full(MemoryJournal):
    """A journal whose disk is full."""

    full = False

    def append(self, job: str, after: int, facts: object) -> int:
        if self.full:
            raise RecordFull("The disk is full.")
        return super().append(job, after, facts)  # type: ignore[arg-type]


def test_every_way_to_stop_says_what_to_do(rules: Rules) -> None:
    """By voice, by pedal, by keys: with a record that fails the person is told to stop, and nothing is claimed."""
    journal = Full()
    desk = open_job(rules, journal, SimulatedClock(), i.Open("twin", "twin", "test", "shed"))
    conductor = Conductor(desk, Adviser(rules, None))
    journal.full = True
    replies = [conductor.hear("stop", "voice"), conductor.stop("pedal"), conductor.stop()]

    assert {reply.say for reply in replies} == {("Stop now. Turn the key off.", "The disk is full.")}
    assert {reply.tone for reply in replies} == {"stop"}
    assert not desk.situation.stopped


def test_a_wait_that_is_over_tells_of_a_failing_record_once(rules: Rules, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bench tries again by itself many times a second, and says so once, until something else was said."""
    journal = Full()
    desk = open_job(rules, journal, SimulatedClock(), i.Open("twin", "twin", "test", "shed"))
    stage = PlainStage(io.StringIO(), io.StringIO())
    bench = Bench(desk, stage, SilentMouth(), DeafEars(), Adviser(rules, None), threading.Event())
    monkeypatch.setattr(bench.conductor, "tick", lambda: desk.submit(i.Note("the wait is over")))
    journal.full = True
    said = [bench._handle(Event(kind)) for kind in ("tick", "tick", "tick", "typed", "tick", "tick")]

    assert [reply is not None and reply.say for reply in said[:3]] == [("The disk is full.",), False, False]
    assert [reply is not None for reply in said[3:]] == [True, True, False]
