"""Speed of the bench, as ratios: run with `python tests/bench/bench_speed.py`. Not collected as a test.

Printed: answer to next prompt with the fact on disk, at 10,000 facts, beside a raw append of one row to an SQLite
file with the same durability; and opening such a job beside the bare import of the libraries it uses.
"""

from __future__ import annotations

import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import open_job, resume_job
from firststart.bench.shop import book_of, make_rules
from firststart.clock import SimulatedClock
from firststart.job import inputs as i
from firststart.journal.sqlite import SqliteJournal
from firststart.procedure.catalogue import data_folder, load_library

FACTS = 10_000
ANSWERS = 400
LIBRARIES = "import pydantic, transitions, yaml, prompt_toolkit, sqlite3, platformdirs"
OPEN = """
import argparse, sys
from pathlib import Path
from firststart.cli.bench import Bench
from firststart.cli.common import load_rules, open_record, wall_clock
from firststart.bench.desk import resume_job
arguments = argparse.Namespace(home=Path(sys.argv[1]), procedures=None)
journal = open_record(arguments, write=True)
desk = resume_job(load_rules(arguments), journal, wall_clock(), "long")
assert desk.situation.count >= {facts}
"""


def fill(home: Path) -> None:
    """A job of many facts: answers, readings, cranks, as real work leaves them."""
    rules = make_rules(load_library(data_folder("procedures")))
    clock = SimulatedClock()
    journal = SqliteJournal(home / "record.db")
    desk = open_job(rules, journal, clock, i.Open("long", "twin", "bench", "shed"))
    adviser = Adviser(rules, book_of(rules.library))
    conductor = Conductor(desk, adviser)
    while desk.situation.count < FACTS:
        step(conductor, clock)
    journal.close()


def step(conductor: Conductor, clock: SimulatedClock) -> float:
    """One answer as a patient person gives it; the seconds from the words to the next prompt."""
    prompt = conductor.prompt()
    clock.sleep(3 + prompt.rest_s + prompt.wait_s)
    prompt = conductor.prompt()
    expects = prompt.expects
    words = "cannot measure" if expects.kind == "measure" else (expects.offered() or ("finish for today",))[0]
    if expects.kind == "idle" and conductor.desk.situation.count % 7 == 0:
        words = "note the weather is fine"
    began = time.perf_counter()
    conductor.hear(words)
    conductor.prompt()
    return time.perf_counter() - began


def answers(home: Path) -> list[float]:
    rules = make_rules(load_library(data_folder("procedures")))
    journal = SqliteJournal(home / "record.db")
    clock = SimulatedClock()
    desk = resume_job(rules, journal, clock, "long")
    clock.set((desk.situation.now or clock.now()) + timedelta(seconds=1))
    conductor = Conductor(desk, Adviser(rules, book_of(rules.library)))
    conductor.greet()
    took = [step(conductor, clock) for _ in range(ANSWERS)]
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


def process(code: str, *arguments: str) -> float:
    """The best of several runs of a fresh Python process, in seconds."""
    best = 1e9
    for _ in range(7):
        began = time.perf_counter()
        subprocess.run([sys.executable, "-c", code, *arguments], check=True)
        best = min(best, time.perf_counter() - began)
    return best


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        fill(home)
        took, raw = answers(home), raw_appends(home)
        bare, opened = process(LIBRARIES), process(OPEN.format(facts=FACTS), str(home))
    quantiles = statistics.quantiles(took, n=100)
    print(f"answer to next prompt at {FACTS:,} facts: median {statistics.median(took) * 1e3:.2f} ms,")
    print(f"  99th percentile {quantiles[98] * 1e3:.2f} ms, worst {max(took) * 1e3:.2f} ms (bars: 5 and 20)")
    print(f"  in raw appends of one row (median {statistics.median(raw) * 1e3:.2f} ms): "
          f"{statistics.median(took) / statistics.median(raw):.1f} times")  # fmt: skip
    print(f"opening a job of {FACTS:,} facts: {opened:.2f} s; bare import of its libraries {bare:.2f} s: "
          f"{opened / bare:.2f} times (bar: 1.3)")  # fmt: skip


if __name__ == "__main__":
    main()
