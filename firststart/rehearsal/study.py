"""The figures of a closed-loop study: one row a job, tables by kind and by number of faults, with intervals.

Overhead minutes are those from the first failed try to the end, nights left out, less the minutes spent on repairs of
what was really broken. Intervals of a share are Wilson's (1927), of a mean the percentile bootstrap's (Efron 1979).
"""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import datetime, timedelta
from itertools import pairwise

from firststart.job import facts as f
from firststart.rehearsal.play import Played
from firststart.rehearsal.scenario import Scenario

FAILED = ("silent", "coughs", "dies", "pops", "bangs", "not-running", "nothing", "click", "stops-dead", "whirrs")
DRAWS = 1000  # of the bootstrap


@dataclass(frozen=True)
class Row:
    """One job of one policy."""

    policy: str
    index: int
    kind: str
    person: str
    faults: int
    ended: str
    runs: bool
    found: int
    wrong: int
    checks: int
    minutes: float
    overhead: float
    cranked: float
    hottest_c: float
    cpu: float

    def line(self) -> str:
        """The row as one line of JSON."""
        return json.dumps(asdict(self), sort_keys=True)


def row_of(line: str) -> Row:
    """A row from its line. Raises ValueError when it is none."""
    data = json.loads(line)
    if not isinstance(data, dict) or set(data) != {x.name for x in fields(Row)}:
        raise ValueError("this line is no row of a study")
    return Row(**data)


def make_row(policy: str, index: int, scenario: Scenario, played: Played, cpu: float) -> Row:
    """What one play comes to."""
    return Row(
        policy=policy, index=index, kind=scenario.given.profile["kind"], person=scenario.when.person,
        faults=len(scenario.given.hidden), ended=played.ended, runs=played.runs, found=len(played.found),
        wrong=len(played.wrong), checks=played.checks, minutes=round(played.minutes, 1),
        overhead=round(overhead(played), 1), cranked=round(played.cranked, 1),
        hottest_c=round(played.hottest - 273.15, 1), cpu=round(cpu, 4),
    )


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


# figures -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Figures:
    """What many jobs come to. Each pair is a 95 per cent interval."""

    jobs: int
    started: float
    started_between: tuple[float, float]
    wrong: float
    wrong_between: tuple[float, float]
    overhead: float
    overhead_between: tuple[float, float]
    overhead_95: float
    hottest_c: float


def figures(rows: Sequence[Row], seed: int = 1) -> Figures:
    """The figures of some rows. Raises ValueError for none."""
    if not rows:
        raise ValueError("no job to reckon with")
    spent = [r.overhead for r in rows]
    wrong = [float(r.wrong) for r in rows]
    ran = sum(r.runs for r in rows)
    return Figures(
        jobs=len(rows), started=ran / len(rows), started_between=wilson(ran, len(rows)),
        wrong=mean(wrong), wrong_between=bootstrap(wrong, seed), overhead=mean(spent),
        overhead_between=bootstrap(spent, seed), overhead_95=quantile(spent, 0.95),
        hottest_c=max(r.hottest_c for r in rows),
    )


def mean(values: Sequence[float]) -> float:
    """The arithmetic mean."""
    return math.fsum(values) / len(values)


def quantile(values: Sequence[float], share: float) -> float:
    """The least value with at least `share` of all values at or below it."""
    ordered = sorted(values)
    return ordered[max(0, math.ceil(share * len(ordered)) - 1)]


def wilson(hits: int, total: int, z: float = 1.959963984540054) -> tuple[float, float]:
    """Wilson's interval of a share, 95 per cent."""
    p = hits / total
    middle = (p + z * z / (2 * total)) / (1 + z * z / total)
    half = z / (1 + z * z / total) * math.sqrt(p * (1 - p) / total + z * z / (4 * total * total))
    return max(0.0, middle - half), min(1.0, middle + half)


def bootstrap(values: Sequence[float], seed: int = 1, draws: int = DRAWS) -> tuple[float, float]:
    """The percentile bootstrap's interval of a mean, 95 per cent. The same seed gives the same interval."""
    rng = random.Random(f"bootstrap {seed}")
    size = len(values)
    means = sorted(math.fsum(rng.choices(values, k=size)) / size for _ in range(draws))
    return means[int(0.025 * draws)], means[min(draws - 1, int(0.975 * draws))]


def paired(ours: Mapping[int, Row], theirs: Mapping[int, Row], seed: int = 1) -> tuple[float, tuple[float, float]]:
    """Mean difference of overhead minutes on the same engines (theirs less ours), with its interval."""
    both = sorted(set(ours) & set(theirs))
    differences = [theirs[n].overhead - ours[n].overhead for n in both]
    return mean(differences), bootstrap(differences, seed)


def by(rows: Iterable[Row], key: Callable[[Row], object]) -> dict[object, list[Row]]:
    """Rows in groups, in the order in which their keys sort."""
    groups: dict[object, list[Row]] = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return dict(sorted(groups.items(), key=lambda pair: str(pair[0])))


def table(rows: Sequence[Row]) -> str:
    """The study as text: every policy, then the tool by number of faults and by kind."""
    head = f"{'':24}{'jobs':>6}{'start':>8}{'wrong a job':>14}{'overhead min':>24}{'95 %':>8}"
    lines = [head]
    for policy, some in by(rows, lambda r: r.policy).items():
        lines.append(_line(str(policy), figures(some)))
    ours = [r for r in rows if r.policy == "firststart"]
    for title, key in (("faults", lambda r: r.faults), ("kind", lambda r: r.kind)):
        for value, some in by(ours, key).items():
            lines.append(_line(f"  {title} {value}", figures(some)))
    mine = {r.index: r for r in ours}
    for policy, some in by(rows, lambda r: r.policy).items():
        if policy != "firststart" and mine:
            gain, (low, high) = paired(mine, {r.index: r for r in some})
            span = f"{low:+.1f} to {high:+.1f}"
            lines.append(f"{policy}: {gain:+.1f} minutes against firststart on the same engines ({span})")
    return "\n".join(lines)


def _line(name: str, x: Figures) -> str:
    span = f"{x.overhead:.0f} ({x.overhead_between[0]:.0f} to {x.overhead_between[1]:.0f})"
    wrong = f"{x.wrong:.2f} ({x.wrong_between[0]:.2f}-{x.wrong_between[1]:.2f})"
    return f"{name:24}{x.jobs:>6}{x.started:>8.0%}{wrong:>18}{span:>20}{x.overhead_95:>8.0f}"
