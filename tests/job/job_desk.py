"""A small way to drive a job at a simulated clock, and two small procedures: one that cranks, one that measures."""

from __future__ import annotations

from datetime import timedelta

from firststart.bench.desk import Desk, open_job
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.procedure.model import Procedure

SPIN = Procedure.model_validate({
    "id": "spin", "title": "Spin the engine", "purpose": "Turn the engine by its starter.", "stage": "compression",
    "line": "asked", "minutes": 1,
    "steps": {
        "turn": {
            "cmd": "Crank the engine.", "why": "It shows.", "hazard": "cranking",
            "crank": {"purpose": "spin", "seconds": 10}, "go": "seen",
        },
        "seen": {
            "cmd": "What did it do?", "why": "It tells.", "choices": {"turned": ["it turned"], "stuck": ["it stuck"]},
            "observe": "cranking", "go": {"turned": "turn", "stuck": "done"},
        },
    },
    "results": {"done": {"outcome": "ok", "say": "It was turned."}},
})  # fmt: skip
READ = Procedure.model_validate({
    "id": "read", "title": "Read the battery", "purpose": "Read the battery at rest.", "stage": "electrical",
    "line": "asked", "minutes": 1,
    "steps": {
        "volts": {
            "cmd": "Read the battery.", "why": "It shows.", "go": "done",
            "measure": {
                "name": "battery.rest", "quantity": "voltage", "unit": "V", "range": [0, 30], "instrument": "meter",
                "resolution": 0.01,
            },
        },
    },
    "results": {"done": {"outcome": "ok", "say": "It was read."}},
})  # fmt: skip
HOLDS = ("place-ready", "fire-ready", "ignition-dead", "turns-by-hand", "oil-in", "pre-lubed", "bilge-clear")


def new_desk(rules: Rules, journal: MemoryJournal | None = None, job: str = "job", engine: str = "twin") -> Desk:
    """A new job at a simulated clock, its profile a motorcycle's with an electric starter."""
    desk = open_job(rules, journal or MemoryJournal(), SimulatedClock(), i.Open(job, engine, "test", "shed"))
    for field, word in (("kind", "motorcycle"), ("starting", "electric"), ("fuel", "petrol")):
        desk.submit(i.SetProfile(field, word=word))
    return desk


def meet(desk: Desk, *holds: str) -> None:
    """Record hold points as met, as their procedures would."""
    facts = tuple(f.HoldMet(at=desk.clock.now(), hold=h, by="test") for h in holds)
    desk.journal.append(desk.job, desk.situation.count, facts)
    desk.situation = fold_all(facts, desk.situation)


def clock_of(desk: Desk) -> SimulatedClock:
    assert isinstance(desk.clock, SimulatedClock)
    return desk.clock


def set_clock(desk: Desk, seconds: float) -> None:
    """Somebody sets the time of day; the steady clock does not know of it."""
    clock = clock_of(desk)
    clock.set(clock.now() + timedelta(seconds=seconds))


def ready_to_crank(rules: Rules, journal: MemoryJournal | None = None, job: str = "job") -> Desk:
    """A job that stands at the crank step with every hold point met."""
    desk = new_desk(rules, journal, job)
    meet(desk, *HOLDS, "clear-to-crank")
    desk.submit(i.Begin("spin"))
    return desk


def crank(desk: Desk, seconds: float) -> None:
    """Crank for some seconds of the simulated clock."""
    desk.submit(i.Go())
    clock_of(desk).sleep(seconds)
    desk.submit(i.Release(seconds))


def state(desk: Desk) -> str:
    assert desk.situation.run is not None
    return f"{desk.situation.run.procedure}:{desk.situation.run.state}"


def wait_of(desk: Desk) -> float:
    """Seconds that the starter must still rest."""
    return desk.rules.permit(desk.situation, desk.now).wait_s


def fresh(desk: Desk, hold: str) -> bool:
    """Does the hold point hold now?"""
    return hold in desk.rules.truths(desk.situation, desk.now)
