"""Random jobs: `decide` driven by random inputs, wise and foolish, over the invented library."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from random import Random
from typing import Any

from hypothesis import strategies as st
from report_jobs import START, rules

from firststart.errors import FirststartError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.decide import decide
from firststart.job.fold import fold
from firststart.job.situation import Situation
from firststart.units import KINDS, from_si, measured

WORK = ("place", "fire", "oil", "battery", "compression", "first-crank")
MOVES = ("fit",) * 24 + ("begin", "odd")
PAUSES = (0.0, 1.5, 20.0, 40.0, 40.0, 90.0, 700.0, -300.0, 30000.0)


def _begin(s: Situation, r: Random, _words: tuple[str, ...]) -> i.Input:
    open_ = [w for w in WORK if w not in s.ended] or list(WORK)
    return i.Begin(open_[0] if r.random() < 0.8 else r.choice(WORK), "plan")


def _fitting(s: Situation, r: Random, words: tuple[str, ...]) -> i.Input:
    """An input that fits the state the job is in, so that random jobs get somewhere."""
    if s.stopped and (s.run is None or s.run.why != "stop"):
        return i.CarryOn()
    if s.open_crank is not None:
        return i.Release(r.uniform(0.1, 12))
    if s.run is None:
        return _begin(s, r, words)
    state = rules().table(s.run.procedure, s).states[s.run.state]
    if state.sort == "crank":
        return i.Go()
    if state.sort == "measure" and state.step is not None and state.step.measure is not None:
        asked = state.step.measure
        given = measured(round(r.uniform(*asked.range), r.choice([0, 1, 3])), asked.unit, asked.quantity)
        unit = r.choice(KINDS[asked.quantity].units).symbol
        return i.Give(from_si(given.si, unit, given.kind), r.choice(words), "voice")
    if state.sort == "gate":
        return i.Fetch() if r.random() < 0.9 else i.Leave()
    events = [e for e in rules().table(s.run.procedure, s).events(s.run.state) if e != "leave"]
    return i.Say(events[0] if r.random() < 0.85 else r.choice(events), r.choice(words))


def _odd(_s: Situation, r: Random, words: tuple[str, ...]) -> i.Input:
    """Anything else that may come in at any time."""
    text = r.choice(words) or "x"
    number = measured(r.uniform(-30, 45), "degC", "temperature")
    return r.choice(
        [
            i.Note(text), i.NamePlace(text), i.Mend(text, r.random() < 0.5),
            i.TellCrank(r.randint(1, 3), r.uniform(0.5, 20), r.uniform(0, 600)), i.Stop(), i.Stop("pedal", 2.5),
            i.Back(), i.Back(), i.Leave(), i.Resume(), i.Tick(), i.ShiftClock(r.uniform(-86400, 0), text),
            i.ClockJumped(r.uniform(-3600, 7200)), i.ConfirmDate(r.random() < 0.5), i.Resume(True),
            i.SetProfile("kind", r.choice(["motorcycle", "car", None])), i.SetProfile("air-temperature", None, number),
            i.SetProfile("cylinders", None, measured(float(r.randint(1, 4)), "", "count")),
        ]
    )  # fmt: skip


_MAKE: dict[str, Callable[[Situation, Random, tuple[str, ...]], i.Input]] = {
    "fit": _fitting, "begin": _begin, "odd": _odd,
}  # fmt: skip


def random_job(r: Random, words: tuple[str, ...], moves: int) -> tuple[f.Fact, ...]:
    """The facts of a job of so many moves; the same arguments give the same job."""
    situation, facts, wall = Situation(), [], START
    given: i.Input = i.Open("job", r.choice(words) or "e", "0.1", r.choice(words))
    for _ in range(moves):
        try:
            new = decide(rules(), situation, given, wall)
        except FirststartError:
            new = ()
        for fact in new:
            situation = fold(situation, fact)
        facts += new
        wall += timedelta(seconds=r.choice(PAUSES))
        given = _MAKE[r.choice(MOVES)](situation, r, words)
    return tuple(facts)


@st.composite
def jobs(draw: Any, moves: tuple[int, ...] = (3, 40, 80)) -> tuple[f.Fact, ...]:
    """The facts of a random job; names, notes and what was said are any text."""
    words = tuple(draw(st.lists(st.text(max_size=40), min_size=1, max_size=4)))
    return random_job(Random(draw(st.integers(0, 2**32))), words, draw(st.sampled_from(moves)))
