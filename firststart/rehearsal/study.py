"""One row a job of a closed-loop study: what is kept of it, and what its minutes were spent on.

Overhead minutes are those from the first failed try to the end, nights left out, less the minutes spent on repairs of
what was really broken.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime, timedelta
from itertools import pairwise

from firststart.job import facts as f
from firststart.rehearsal.play import Played
from firststart.rehearsal.scenario import Scenario

FAILED = ("silent", "coughs", "dies", "pops", "bangs", "not-running", "nothing", "click", "stops-dead", "whirrs")


@dataclass(frozen=True)
class Cpu:
    """Seconds of the processor that a job took: in all, for the virtual engine and person, for the diagnosis."""

    whole: float
    virtual: float = 0.0
    advice: float = 0.0


@dataclass(frozen=True)
class Row:
    """One job of one policy.

    `wrong` are pieces of work that the diagnosis decided on and that put nothing right; `condemned` what a job on a
    sound engine put right or left standing as wrong; `unpermitted` cranks that permit or hold points did not
    allow, judged anew from the record. `minutes`, `overhead` and `cranked` (seconds) are of the virtual clock, `cpu`
    seconds of the processor, `cpu_virtual` of them for the virtual engine and person, `cpu_advice` for the diagnosis.
    """

    policy: str
    index: int
    kind: str
    person: str
    faults: int
    ended: str
    runs: bool
    found: int
    wrong: int
    condemned: int
    unpermitted: int
    checks: int
    minutes: float
    overhead: float
    cranked: float
    hottest_c: float
    cpu: float
    cpu_virtual: float
    cpu_advice: float

    def line(self) -> str:
        """The row as one line of JSON."""
        return json.dumps(asdict(self), sort_keys=True)


def row_of(line: str) -> Row:
    """A row from its line. Raises ValueError when it is none."""
    data = json.loads(line)
    if not isinstance(data, dict) or set(data) != {x.name for x in fields(Row)}:
        raise ValueError("this line is no row of a study")
    return Row(**data)


def make_row(
    policy: str, index: int, scenario: Scenario, played: Played, unpermitted: int, cpu: Cpu,
    care: Collection[str] = (),
) -> Row:  # fmt: skip
    """What one play comes to; `care` as in `condemned`."""
    return Row(
        policy=policy, index=index, kind=scenario.given.profile["kind"], person=scenario.when.person,
        faults=len(scenario.given.hidden), ended=played.ended, runs=played.runs, found=len(played.found),
        wrong=len(played.wrong), condemned=0 if scenario.given.hidden else len(condemned(played.facts, care)),
        unpermitted=unpermitted, checks=played.checks, minutes=round(played.minutes, 1),
        overhead=round(overhead(played), 1), cranked=round(played.cranked, 1),
        hottest_c=round(played.hottest - 273.15, 1), cpu=round(cpu.whole, 4),
        cpu_virtual=round(cpu.virtual, 4), cpu_advice=round(cpu.advice, 4),
    )


def condemned(facts: Sequence[f.Fact], care: Collection[str]) -> tuple[str, ...]:
    """What a job condemned: repairs that were made, and work whose newest result is still that something is wrong.

    `care` are procedures that are done on every engine: what they renew as a matter of course is not condemned.
    """
    mended = dict.fromkeys(x.suspect for x in facts if isinstance(x, f.RepairDone) and x.procedure not in care)
    newest = {x.procedure: x for x in facts if isinstance(x, f.RunEnded)}
    return (*mended, *(f"{p}: {x.result}" for p, x in newest.items() if x.outcome == "bad"))


def overhead(played: Played) -> float:
    """Minutes from the first failed try to the end, less nights, and less the repair of what was really broken."""
    begin = _first_failure(played.facts)
    if begin is None:
        return 0.0
    whole = (played.facts[-1].at - begin) / timedelta(minutes=1) - _nights(played.facts, begin)
    return max(0.0, whole - _mending(played))


def _first_failure(facts: Iterable[f.Fact]) -> datetime | None:
    for fact in facts:
        if isinstance(fact, f.AnswerGiven) and fact.observe in ("firing", "cranking") and fact.event in FAILED:
            return fact.at
    return None


def _nights(facts: Sequence[f.Fact], begin: datetime) -> float:
    """Minutes of the night: the time between a day's last fact and the next morning's first."""
    total = timedelta(0)
    for before, after in pairwise(facts):
        if before.at >= begin and after.at.date() != before.at.date() and after.at - before.at > timedelta(hours=4):
            total += after.at - before.at
    return total / timedelta(minutes=1)


def _mending(played: Played) -> float:
    """Minutes of the runs that put something right that was really broken."""
    began: dict[int, datetime] = {}
    wanted: set[str] = set()
    total = timedelta(0)
    for fact in played.facts:
        if isinstance(fact, f.RunStarted):
            began[fact.run] = fact.at
        elif isinstance(fact, f.RepairDone) and fact.suspect not in played.wrong:
            wanted.add(fact.procedure)
        elif isinstance(fact, f.RunEnded) and fact.procedure in wanted and fact.run in began:
            total += fact.at - began[fact.run]
            wanted.discard(fact.procedure)
    return total / timedelta(minutes=1)
