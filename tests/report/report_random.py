"""Random jobs: `decide` driven by random inputs, wise and foolish, over the invented library."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
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
Draw = Callable[[Any], Any]


def _begin(s: Situation, draw: Draw) -> i.Input:
    return i.Begin(draw(st.sampled_from(WORK)), "plan")


def _fitting(s: Situation, draw: Draw) -> i.Input:
    """An input that fits the state the job is in, so that random jobs get somewhere."""
    if s.stopped and (s.run is None or s.run.why != "stop"):
        return i.CarryOn()
    if s.open_crank is not None:
        return i.Release(draw(st.floats(0.1, 12)))
    if s.run is None:
        return _begin(s, draw)
    state = rules().table(s.run.procedure, s).states[s.run.state]
    if state.sort == "crank":
        return i.Go()
    if state.sort == "measure" and state.step is not None and state.step.measure is not None:
        low, high = state.step.measure.range
        number = draw(st.floats(low, high, allow_nan=False, width=32))
        unit = draw(st.sampled_from([u.symbol for u in KINDS[state.step.measure.quantity].units]))
        given = measured(number, state.step.measure.unit, state.step.measure.quantity)
        return i.Give(from_si(given.si, unit, given.kind), draw(st.text(max_size=20)), "voice")
    if state.sort == "gate":
        return i.Fetch()
    events = rules().table(s.run.procedure, s).events(s.run.state)
    return i.Say(draw(st.sampled_from([e for e in events if e != "leave"] or ["done"])), draw(st.text(max_size=20)))


def _odd(s: Situation, draw: Draw) -> i.Input:
    """Anything else that may come in at any time."""
    words = st.text(min_size=1, max_size=60)
    number = st.builds(measured, st.floats(-30, 45, width=32), st.just("degC"), st.just("temperature"))
    given = st.one_of(
        st.builds(i.Note, words), st.builds(i.NamePlace, words), st.builds(i.Mend, words, st.booleans()),
        st.builds(i.TellCrank, st.integers(1, 3), st.floats(0.5, 20), st.floats(0, 600)), st.just(i.Stop()),
        st.builds(i.Stop, st.just("pedal"), st.floats(0, 15)), st.just(i.Back()), st.just(i.Leave()),
        st.just(i.Resume()), st.just(i.Tick()), st.builds(i.ShiftClock, st.floats(-3600, 86400), words),
        st.builds(i.SetProfile, st.just("kind"), st.sampled_from(["motorcycle", "car", None])),
        st.builds(i.SetProfile, st.just("air-temperature"), st.none(), number),
        st.builds(i.SetProfile, st.just("cylinders"), st.none(), st.builds(
            measured, st.sampled_from([1.0, 2.0, 4.0]), st.just(""), st.just("count"))),
    )  # fmt: skip
    return draw(given)


@st.composite
def jobs(draw: Draw, most: int = 60) -> tuple[f.Fact, ...]:
    """The facts of a random job."""
    words = st.text(min_size=1, max_size=30)
    situation, facts, wall = Situation(), [], START
    moves = draw(st.lists(st.sampled_from(["fit", "fit", "fit", "fit", "begin", "odd"]), max_size=most))
    pending: list[i.Input] = [i.Open("job", draw(words), "0.1", draw(words))]
    for move in ["open", *moves]:
        wall += timedelta(seconds=draw(st.sampled_from([0.0, 1.5, 40.0, 700.0, -300.0, 90000.0])))
        given = pending.pop() if pending else {"fit": _fitting, "begin": _begin, "odd": _odd}[move](situation, draw)
        try:
            new = decide(rules(), situation, given, wall)
        except FirststartError:
            continue
        for fact in new:
            situation = fold(situation, fact)
        facts += new
    return tuple(facts)
