"""Speed of the bench, as ratios: run with `python tests/bench/bench_speed.py`. Not collected as a test.

Printed: answer to next prompt with the fact on disk, at 10,000 facts, beside a raw append of one row to an SQLite file
with the same durability; and opening such a job at a terminal up to its first prompt, beside the bare import of
libraries: of those that are loaded by then, and of those that the job has used some answers later.
"""

from __future__ import annotations

import os
import sqlite3
import statistics
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from bench_opening import bare, libraries, opened

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import open_job, resume_job
from firststart.bench.shop import book_of, make_rules
from firststart.cli.ready import fetch
from firststart.clock import SimulatedClock
from firststart.job import inputs as i
from firststart.journal.sqlite import SqliteJournal
from firststart.procedure.catalogue import data_folder, load_library
from firststart.prompt.expect import Expectation

FACTS = 10_000
ANSWERS = 400
LATER = 40  # answers after which the libraries of a job are read off


def fill(home: Path) -> None:
    """A job of many facts: answers, readings, cranks, as real work leaves them."""
    rules = make_rules(load_library(data_folder("procedures")))
    clock = SimulatedClock()
    journal = SqliteJournal(home / "record.db")
    desk = open_job(rules, journal, clock, i.Open("long", "twin", "bench", "shed"))
    adviser = Adviser(rules, book_of(rules.library))
    conductor = Conductor(desk, adviser)
    count = -1
    while desk.situation.count < FACTS:
        refused, count = desk.situation.count == count and conductor.dialogue.pending is None, desk.situation.count
        step(conductor, clock, refused=refused)
    journal.close()


def step(conductor: Conductor, clock: SimulatedClock, *, refused: bool = False) -> tuple[float, float]:
    """One answer as a patient person gives it; from the words to the next prompt, seconds and of them processor's."""
    prompt = conductor.prompt()
    clock.sleep(3 + prompt.rest_s + prompt.wait_s)
    prompt = conductor.prompt()
    expects = prompt.expects
    words = f"{(expects.low + expects.high) / 2:.2f}" if expects.kind == "measure" else _first(expects)
    if expects.kind == "measure" and refused:
        words = "cannot measure"
    if conductor.dialogue.pending is not None:
        words = "yes"
    if expects.kind == "idle" and conductor.desk.situation.count % 7 == 0:
        words = "note the weather is fine"
    began, worked = time.perf_counter(), time.process_time()
    conductor.hear(words)
    conductor.prompt()
    return time.perf_counter() - began, time.process_time() - worked


def _first(expects: Expectation) -> str:
    return (expects.offered() or ("finish for today",))[0]


def answers(home: Path) -> list[tuple[float, float]]:
    rules = make_rules(load_library(data_folder("procedures")))
    journal = SqliteJournal(home / "record.db")
    clock = SimulatedClock()
    desk = resume_job(rules, journal, clock, "long")
    clock.set((desk.situation.now or clock.now()) + timedelta(seconds=1))
    conductor = Conductor(desk, Adviser(rules, book_of(rules.library)))
    conductor.greet()
    fetch(rules)  # as the bench does while the first prompt is read
    took, count = [], -1
    for _ in range(ANSWERS):
        refused, count = desk.situation.count == count and conductor.dialogue.pending is None, desk.situation.count
        took.append(step(conductor, clock, refused=refused))
    journal.close()
    return took


def raw_appends(home: Path) -> list[float]:
    db = sqlite3.connect(home / "raw.db", isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE fact (n INTEGER PRIMARY KEY, body TEXT)")
    took = []
    for n in range(ANSWERS):
        began = time.perf_counter()
        db.execute("INSERT INTO fact VALUES (?, ?)", (n, "x" * 200))
        took.append(time.perf_counter() - began)
    return took


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        os.environ["FIRSTSTART_CACHE"] = str(home / "cache")
        fill(home)
        took, worked = zip(*answers(home), strict=True)
        raw = raw_appends(home)
        first, _ = opened(home, runs=1)
        seconds, early = opened(home)
        _, whole = opened(home, LATER, runs=1)
        bare_early, bare_whole = bare(home, early), bare(home, whole)
    quantiles = statistics.quantiles(took, n=100)
    middle = statistics.median(took)
    print(f"answer to next prompt at {FACTS:,} facts: median {middle * 1e3:.2f} ms (bar 5),")
    print(f"  99th percentile {quantiles[98] * 1e3:.2f} ms (bar 20), worst {max(took) * 1e3:.2f} ms,")
    print(f"  of which processor time {statistics.median(worked) * 1e3:.2f} and "
          f"{statistics.quantiles(worked, n=100)[98] * 1e3:.2f} ms,")  # fmt: skip
    ratio, last = middle / statistics.median(raw), statistics.quantiles(raw, n=100)[98]
    print(f"  in raw appends of one row (median {statistics.median(raw) * 1e3:.2f} ms, 99th percentile "
          f"{last * 1e3:.2f} ms): {ratio:.1f} times")  # fmt: skip
    print(f"opening a job of {FACTS:,} facts at a terminal, to its first prompt: {seconds:.3f} s of processor time; "
          f"the first time, with nothing on the shelf, {first:.2f} s")  # fmt: skip
    print(f"  bare import of what the job has used {LATER} answers later ({libraries(whole)}): {bare_whole:.3f} s: "
          f"{seconds / bare_whole:.2f} times (bar 1.3)")  # fmt: skip
    print(f"  bare import of what is loaded by the first prompt ({libraries(early)}): {bare_early:.3f} s: "
          f"{seconds / bare_early:.2f} times")  # fmt: skip


if __name__ == "__main__":
    main()
