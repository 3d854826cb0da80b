"""A closed-loop study: many random engines, each led by the tool and by plain lists, on all cores, resumable.

The work is spread by the standard library's process pool. Every finished job is one line of JSON in a file that the
caller names; a study that is begun again skips what is in it.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from dataclasses import dataclass
from pathlib import Path

from firststart.bench.advice import Adviser
from firststart.bench.shop import book_of, make_rules
from firststart.job.rules import Rules
from firststart.procedure.catalogue import load_library
from firststart.rehearsal.baselines import BriefAdviser, advisers
from firststart.rehearsal.draw import draw
from firststart.rehearsal.kit import Kit, load_kit
from firststart.rehearsal.permitcheck import unpermitted
from firststart.rehearsal.play import play
from firststart.rehearsal.study import Cpu, Row, make_row, row_of
from firststart.rehearsal.studytable import SOUND, TOOL

POLICIES = (TOOL, "file order", "cheapest first", "printed by odds", "printed by bits", "odds anew")
_AHEAD = 4  # jobs waiting for each core, so that none stands idle


@dataclass(frozen=True)
class Plan:
    """What to study: engines `first` to `first + count - 1`, led by each of `policies`; and `sound` sound ones,
    led by the tool through all the work from the beginning."""

    count: int
    first: int = 0
    faults: int | None = None
    policies: tuple[str, ...] = (TOOL,)
    sound: int = 0

    def jobs(self) -> tuple[tuple[str, int], ...]:
        led = tuple((policy, n) for n in range(self.first, self.first + self.count) for policy in self.policies)
        return led + tuple((SOUND, n) for n in range(self.first, self.first + self.sound))


@dataclass(frozen=True)
class World:
    """Everything a play needs, made once in each process."""

    rules: Rules
    kit: Kit
    makers: dict[str, Callable[[], Adviser]]

    @classmethod
    def of(cls, procedures: Path, scenarios: Path) -> World:
        """The world of two folders. Raises DataError."""
        library = load_library(procedures)
        rules = make_rules(library)
        book = book_of(library)
        makers = advisers(rules, book) if book is not None else {TOOL: lambda: Adviser(rules, None)}
        return cls(rules, load_kit(scenarios), makers)

    def job(self, policy: str, index: int, faults: int | None) -> Row:
        """One random engine, led by one policy."""
        sound = policy == SOUND
        scenario = draw(index, self.kit.conditions, 0 if sound else faults, prepared=not sound)
        if sound:  # led through with care: what a hurried person misjudges says little of the tool
            scenario = scenario.model_copy(update={"when": scenario.when.model_copy(update={"person": "patient"})})
        adviser, ticks = self.makers[TOOL if sound else policy](), time.process_time
        if isinstance(adviser, BriefAdviser):
            adviser.ticks = ticks
        began = ticks()
        played = play(self.rules, scenario, self.kit, seed=index, adviser=adviser, talk=False, ticks=ticks)
        cpu = Cpu(ticks() - began, played.virtual_s, adviser.spent if isinstance(adviser, BriefAdviser) else 0.0)
        care = {p.id for p in self.rules.library.procedures.values() if p.line == "main"}
        return make_row(policy, index, scenario, played, len(unpermitted(self.rules, played.facts)), cpu, care)


_worlds: dict[tuple[Path, Path], World] = {}  # one for each process of a pool; filled by its initialiser alone


def _prepare(procedures: Path, scenarios: Path) -> None:
    _worlds[(procedures, scenarios)] = World.of(procedures, scenarios)
    gc.collect()
    gc.freeze()  # all that is made by now stays: the collector of garbage need not look at it at every job


def _job(procedures: Path, scenarios: Path, policy: str, index: int, faults: int | None) -> str:
    return _worlds[(procedures, scenarios)].job(policy, index, faults).line()


def read_rows(path: Path) -> list[Row]:
    """The rows of an earlier study; a last line that was cut off is left out."""
    if not path.is_file():
        return []
    rows = []
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            rows.append(row_of(line))
        except ValueError:
            continue
    return rows


def study(
    plan: Plan, procedures: Path, scenarios: Path, out: Path, *,
    workers: int = 1, on_row: Callable[[int, int, Row], None] | None = None,
) -> list[Row]:  # fmt: skip
    """Run what is left of `plan`, adding each row to `out` as it is done; all rows of the plan, in its order.

    `on_row(done, all, row)` is called for each. Raises DataError when the data are wrong.
    """
    jobs = plan.jobs()
    rows = {(r.policy, r.index): r for r in read_rows(out)}
    left = [job for job in jobs if job not in rows]
    with out.open("a", encoding="utf-8") as file:
        for row in _run(left, plan.faults, procedures, scenarios, workers):
            file.write(row.line() + "\n")
            file.flush()
            rows[(row.policy, row.index)] = row
            if on_row is not None:
                on_row(len(jobs) - len(left) + sum(1 for j in left if j in rows), len(jobs), row)
    return [rows[job] for job in jobs]


def _run(
    jobs: Sequence[tuple[str, int]], faults: int | None, procedures: Path, scenarios: Path, workers: int
) -> Iterable[Row]:
    if workers <= 1:
        world = World.of(procedures, scenarios) if jobs else None
        for policy, index in jobs:
            assert world is not None  # made when there is any job
            yield world.job(policy, index, faults)
        return
    with ProcessPoolExecutor(workers, initializer=_prepare, initargs=(procedures, scenarios)) as pool:
        todo = iter(jobs)
        waiting = {pool.submit(_job, procedures, scenarios, p, n, faults) for p, n in _some(todo, workers * _AHEAD)}
        while waiting:
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            waiting |= {pool.submit(_job, procedures, scenarios, p, n, faults) for p, n in _some(todo, len(done))}
            for future in done:
                yield row_of(future.result())


def _some(items: Iterable[tuple[str, int]], count: int) -> list[tuple[str, int]]:
    found = []
    for _, item in zip(range(count), items, strict=False):
        found.append(item)
    return found
