"""A long run: a million random answers over all procedures and kinds of engine, every fact held against the truth.

    python tests/job/long_run.py                     a million answers on every core
    python tests/job/long_run.py --answers 20000     a short one
    python tests/job/long_run.py --keep run.json     kept as it goes on; the same command goes on where it ended
    python tests/job/long_run.py --life 4711         one life again, as the run did it

It is no part of the normal tests. It ends with status 1 at the first life that breaks a rule, and says which.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing as mp
import os
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[2])]

from job_anybody import live  # noqa: E402 - the path is set first
from job_watch import Tally  # noqa: E402

from firststart.bench.shop import make_rules  # noqa: E402
from firststart.procedure.catalogue import data_folder, load_library  # noqa: E402

ACTS = 300  # things done in one life


def main() -> int:
    """Run it and print the figures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--answers", type=int, default=1_000_000, help="how many inputs in all")
    parser.add_argument("--cores", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--first", type=int, default=0, metavar="SEED", help="the first life")
    parser.add_argument("--life", type=int, metavar="SEED", help="one life alone")
    parser.add_argument("--keep", type=Path, metavar="FILE", help="keep the figures here, and go on from them")
    arguments = parser.parse_args()
    if arguments.life is not None:
        tally = Tally()
        live(make_rules(load_library(data_folder("procedures"))), arguments.life, ACTS, tally)
        print(_line(tally, 0.0))
        return 0
    return _run(arguments.answers, arguments.cores, _kept(arguments.keep, arguments.first), arguments.keep)


@dataclass
class Run:
    """How far a run has come: lives up to, and without, the seed `next` were led, in so many seconds."""

    next: int
    total: Tally
    seconds: float = 0.0


def _run(answers: int, cores: int, run: Run, keep: Path | None) -> int:
    before, began, told, broken = run.seconds, time.monotonic(), 0.0, ""
    with mp.get_context("spawn").Pool(cores, _start) as pool:
        for tally, problem in pool.imap(_life, _seeds(run.next), chunksize=1):  # in order, so that `next` is the truth
            run.total.add(tally)
            run.next += 1
            broken = problem
            run.seconds = before + time.monotonic() - began
            if run.seconds - told > 20:
                told = run.seconds
                print(_line(run.total, told), flush=True)
                _keep(keep, run)
            if broken or run.total.inputs >= answers:
                pool.terminate()
                break
    _keep(keep, run)
    print(_line(run.total, run.seconds))
    print(f"BROKEN: {broken}" if broken else "no rule was broken")
    return 1 if broken else 0


def _kept(path: Path | None, first: int) -> Run:
    """The run that is kept in this file; a new one when there is none."""
    if path is None or not path.exists():
        return Run(first, Tally())
    told = json.loads(path.read_text(encoding="utf-8"))
    total = Tally()
    for name, value in told["total"].items():
        pairs = {v if isinstance(v, str) else tuple(v) for v in value} if isinstance(value, list) else value
        setattr(total, name, pairs)
    return Run(told["next"], total, told["seconds"])


def _keep(path: Path | None, run: Run) -> None:
    """Whole or not at all: the run may be killed while it writes."""
    if path is not None:
        total = {name: sorted(v) if isinstance(v, set) else v for name, v in vars(run.total).items()}
        new = path.with_suffix(".new")
        new.write_text(json.dumps({"next": run.next, "seconds": run.seconds, "total": total}), encoding="utf-8")
        new.replace(path)


def _seeds(first: int) -> Iterator[int]:
    yield from range(first, first + 1_000_000)


def _start() -> None:
    global _rules  # noqa: PLW0603 - one library for each process
    os.nice(10)
    _rules = make_rules(load_library(data_folder("procedures")))


def _life(seed: int) -> tuple[Tally, str]:
    tally = Tally()
    try:
        live(_rules, seed, ACTS, tally)
    except AssertionError as error:
        return tally, str(error) or f"life {seed}"
    return tally, ""


def _line(tally: Tally, seconds: float) -> str:
    began = len({procedure for procedure, _state in tally.states})
    return (
        f"{seconds:7.0f} s  {tally.inputs:,} answers, {tally.refused:,} refused, {tally.facts:,} facts, "
        f"{tally.jobs:,} jobs; {tally.cranks:,} cranks by starter, {tally.by_hand:,} by hand; {tally.stops:,} stops, "
        f"{tally.restarts:,} restarts, {tally.clocks:,} clocks set; {len(tally.kinds)} kinds of engine, "
        f"{began} procedures, {len(tally.states):,} states, "
        f"{len(tally.results):,} results seen"
    )


if __name__ == "__main__":
    sys.exit(main())
