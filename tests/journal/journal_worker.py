"""Somebody at work who may be killed at any moment: a real process, the real bench, the real record.

What it tells on its pipe, one line of JSON each: `about` (the rows it is going to commit), `done` (they are
committed: from here on they may never be lost), and what the starter owed then.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from random import Random

from journal_disk import Disk

from firststart.bench import desk as desk_module
from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import Desk, open_job, resume_job
from firststart.clock import SimulatedClock
from firststart.engine.profile import EngineProfile
from firststart.errors import InputError, RecordError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.port import JobLine
from firststart.journal.shelf import Shelf
from firststart.journal.sqlite import SqliteJournal
from firststart.journal.wire import row_of, time_text
from firststart.rehearsal.prepared import prepare
from firststart.units import measured

JOB = "twin"
WORDS = ("why", "status", "next step", "cannot measure", "go back", "stop", "carry on", "leave it")


class Telling:
    """The journal on disk; what is committed is told before anybody acts on it."""

    def __init__(self, path: Path, pipe: int, disk: Disk | None) -> None:
        self._inner, self._pipe, self._disk = SqliteJournal(path), pipe, disk
        self.count = 0

    def jobs(self) -> tuple[JobLine, ...]:
        return self._inner.jobs()

    def read(self, job: str, after: int = 0) -> tuple[f.Fact, ...]:
        return self._inner.read(job, after)

    def digest(self, job: str, count: int) -> str:
        return self._inner.digest(job, count)

    def append(self, job: str, after: int, facts: Sequence[f.Fact]) -> int:
        self.say(about=[after, [list(row_of(fact)) for fact in facts]])
        try:
            count = self._inner.append(job, after, facts)
        except RecordError as error:
            self.say(failed=str(error))
            raise
        self.count = count
        self.say(done=count, log=self._disk.log_end if self._disk else 0)
        return count

    def cranks_of_others(self, job: str, engine: str) -> Iterable[tuple[f.Fact, ...]]:
        return self._inner.cranks_of_others(job, engine)

    def close(self) -> None:
        self._inner.close()

    def say(self, **told: object) -> None:
        os.write(self._pipe, (json.dumps(told) + "\n").encode())


@dataclass
class Work:
    """Who works, on what, for how long."""

    path: Path
    seed: int
    turns: int
    start: datetime
    mend_after: int | None = None  # failures after which a full disk has room again


def work(rules: Rules, task: Work, pipe: int, disk: Disk | None) -> None:
    """Answer for a while; ends by itself after `turns`."""
    r = Random(task.seed)
    clock = SimulatedClock(task.start)
    try:
        journal = Telling(task.path, pipe, disk)
        desk = _desk(rules, journal, clock, shelf_of(task.path))
    except RecordError as error:
        os.write(pipe, (json.dumps({"failed": str(error)}) + "\n").encode())
        return
    conductor = Conductor(desk, Adviser(rules, None))
    turn, tries = -1, 0
    while turn < task.turns:
        try:
            _act(conductor, clock, r, turn)
        except InputError:
            turn += 1
            continue
        except RecordError:
            tries += 1
            if journal.count and desk.situation.count != journal.count:
                journal.say(broken="the situation is not what was recorded")
            if disk is not None and tries == task.mend_after:
                disk.room = None
            if tries > 40:
                break
            continue
        turn += 1
        journal.say(now=time_text(clock.now()), count=desk.situation.count, **_owed(rules, desk))
    journal.say(end=True, writes=disk.writes if disk is not None else 0)
    journal.close()


def shelf_of(record: Path) -> Shelf:
    """Where these benches keep what makes the next opening quick: from the first entries on, so that it is used."""
    desk_module.WORTH_KEEPING = 3
    return Shelf(record.with_name("shelf"))


def _desk(rules: Rules, journal: Telling, clock: SimulatedClock, shelf: Shelf) -> Desk:
    if any(line.job == JOB for line in journal.jobs()):
        return resume_job(rules, journal, clock, JOB, shelf)
    return open_job(rules, journal, clock, i.Open(JOB, "green twin", "test", "shed"))


def _owed(rules: Rules, desk: Desk) -> dict[str, float]:
    """What the starter owes now; while it turns, that it does."""
    crank = desk.situation.open_crank
    return {"owed": rules.permit(desk.situation, desk.now).wait_s} if crank is None else {"turning": crank.limit_s}


def _act(conductor: Conductor, clock: SimulatedClock, r: Random, turn: int) -> None:
    """One thing that a person does."""
    if turn < 0:
        conductor.greet()
        return
    desk = conductor.desk
    clock.sleep(r.choice((0.5, 2.0, 6.0, 20.0)))
    if desk.situation.open_crank is not None:
        clock.sleep(r.choice((1.0, 3.0, 7.0)))
        conductor.release()
        return
    roll = r.random()
    if roll < 0.08:
        desk.submit(i.TellCrank(r.choice((1, 2)), r.choice((2.0, 5.0, 9.0)), r.choice((0.0, 30.0))))
    elif roll < 0.14:
        conductor.hear(f"note {'x' * r.choice((3, 300, 3000))}")
    elif roll < 0.22:
        conductor.hear(r.choice(WORDS))
    else:
        _answer(conductor, clock)


def _answer(conductor: Conductor, clock: SimulatedClock) -> None:
    """What the prompt asks for."""
    prompt = conductor.prompt()
    clock.sleep(prompt.rest_s + prompt.wait_s)
    prompt = conductor.prompt()
    if prompt.expects.kind == "measure":
        conductor.hear("cannot measure")
        return
    words = prompt.expects.offered() or ("note nothing is asked",)
    conductor.hear(words[0])
    if conductor.dialogue.pending is not None:
        conductor.hear("yes")


def prepared(rules: Rules, path: Path, start: datetime) -> None:
    """A record in which all work before the first crank is done."""
    profile = EngineProfile()
    for field, word in {"kind": "motorcycle", "starting": "electric"}.items():
        profile = profile.with_word(field, word)
    profile = profile.with_number("cylinders", measured(2, "", "count"))
    journal = SqliteJournal(path)
    desk = open_job(rules, journal, SimulatedClock(start), i.Open(JOB, "green twin", "test", "shed"))
    prepare(desk, profile)
    desk.submit(i.Begin("first-crank"))
    journal.close()
