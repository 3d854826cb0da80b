"""Every mutant of the safety code against the tests: which test catches it.

    python tests/job/mutants.py                 all of them, as a table
    python tests/job/mutants.py rest heat       those with "rest" or "heat" in their name
    python tests/job/mutants.py --keep FILE     goes on where it ended, as long as code, data and tests are the same

A mutant lives in a process of its own, which runs the tests that belong to it until one fails, and after those
all other tests of the safety code; with `--keep`, the test that caught it last time before all others. It ends with
status 1 when a mutant is not caught. First of all the tests are run without any mutant, and must pass.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import io
import json
import multiprocessing as mp
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(Path(__file__).resolve().parent), str(ROOT)]

import pytest  # noqa: E402 - the path is set first
from hypothesis import settings  # noqa: E402
from job_mutants import MUTANTS, Mutant, switched  # noqa: E402

TESTS = {
    "rounds": ("tests/job/test_job_ways_round.py",),
    "decide": ("tests/job/test_job_decide.py",),
    "clock": ("tests/job/test_job_clock.py",),
    "sharing": ("tests/job/test_job_sharing.py",),
    "undoing": ("tests/job/test_job_undoing.py",),
    "vanishing": ("tests/job/test_job_vanishing.py",),
    "places": ("tests/job/test_job_undoing.py",),
    "motor": ("tests/job/test_job_undoing.py",),
    "permit": ("tests/starter/test_starter_permit.py", "tests/starter/test_starter_heat.py",
               "tests/starter/test_starter_duty.py"),
    "place-of-record": ("tests/journal/test_journal_place.py",),
    "opening": ("tests/bench/test_bench_opening.py",),
    "questions": ("tests/bench/test_bench_questions.py",),
    "stopping": ("tests/prompt/test_prompt_onekey.py",),
    "failing": ("tests/cli/test_cli_failing_record.py",),
    "proofs": ("tests/machine/test_machine_proofs.py",),
    "refusals": ("tests/machine/test_machine_refusals.py",),
    "folders": ("tests/machine/test_machine_folders.py",),
}  # fmt: skip
EVERY = (*dict.fromkeys(file for files in TESTS.values() for file in files), "tests/job/test_job_anything.py")

_OPTIONS = ("-x", "-q", "-n0", "-p", "no:randomly", "-p", "no:cacheprovider",
            "-W", "ignore::pytest.PytestAssertRewriteWarning")  # fmt: skip

_ENDS = (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.INTERRUPTED)


class First:
    """Remembers the first test that fails."""

    def __init__(self) -> None:
        self.failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        if report.failed and not self.failed:
            self.failed = f"{report.nodeid} (cannot even be collected)"


class Kept:
    """What was found earlier, a line of JSON each: the state of the code, the mutant (or "") and the test."""

    def __init__(self, path: Path | None) -> None:
        self._path, self._code = path, _state()
        self.before = dict[str, str]()
        self.done = dict[str, tuple[str, float]]()
        for told in self._lines():
            self.before[told["mutant"]] = told["test"]
            if told["code"] == self._code:
                self.done[told["mutant"]] = told["test"], told["seconds"]

    def _lines(self) -> Iterator[dict[str, Any]]:
        if self._path is not None and self._path.is_file():
            yield from map(json.loads, self._path.read_text(encoding="utf-8").splitlines())

    def add(self, mutant: str, test: str, seconds: float) -> None:
        self.done[mutant] = test, seconds
        if self._path is not None:
            with self._path.open("a", encoding="utf-8") as file:
                line = {"code": self._code, "mutant": mutant, "test": test, "seconds": round(seconds, 1)}
                file.write(json.dumps(line) + "\n")


def _state() -> str:
    """A digest of every file of code, data and tests that a catch depends on."""
    files = (path for top in ("firststart", "procedures", "tests") for path in sorted((ROOT / top).rglob("*.*")))
    sealed = hashlib.sha256()
    for path in files:
        if path.suffix in (".py", ".yaml", ".problems"):
            sealed.update(f"{path.relative_to(ROOT)}\0".encode() + path.read_bytes())
    return sealed.hexdigest()[:16]


def caught_by(mutant: Mutant | None, before: str = "") -> str:
    """The first test that fails with the mutant alive; empty when none does. None: the code as it is.

    `before`: a test that is tried first of all.
    """
    first = First()
    settings.register_profile("mutants", derandomize=True, deadline=None, database=None)
    settings.load_profile("mutants")
    own = TESTS[mutant.tests] if mutant is not None else ()
    others = tuple(f for f in EVERY if f not in own)
    alive = switched(mutant) if mutant is not None else contextlib.nullcontext()
    with alive, contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        for files in ((before,) if before else (), own, others):
            paths = [str(ROOT / file) for file in files]
            if paths and not first.failed:
                code = pytest.main([*paths, *_OPTIONS], plugins=[first])
                gone = before in files and code == pytest.ExitCode.USAGE_ERROR  # that test is there no longer
                assert gone or code in _ENDS, code
    return first.failed


def _job(given: tuple[int, str]) -> tuple[int, str, float]:
    os.nice(10)
    os.chdir(ROOT)
    number, before = given
    began = time.monotonic()
    return number, caught_by(MUTANTS[number] if number >= 0 else None, before), time.monotonic() - began


def main() -> int:
    """Print the table; 1 when a mutant lives on, or when the tests fail without any."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("words", nargs="*", default=[""])
    parser.add_argument("--keep", type=Path)
    told = parser.parse_args()
    kept = Kept(told.keep)
    names = {-1: "", **{n: m.name for n, m in enumerate(MUTANTS) if any(w in m.name for w in told.words)}}
    left = [(n, kept.before.get(name, "")) for n, name in names.items() if name not in kept.done]
    with mp.get_context("spawn").Pool(os.cpu_count(), maxtasksperchild=1) as pool:
        for number, caught, seconds in pool.imap(_job, left):
            kept.add(names[number], caught, seconds)
            _print(number, names[number], caught, seconds)
            if number < 0 and caught:
                return 1  # then a failing test would say nothing of a mutant
    if len(left) < len(names):
        print("the whole table, with what was found before:")
        for number, name in names.items():
            _print(number, name, *kept.done[name])
    alive = sum(not kept.done[name][0] for number, name in names.items() if number >= 0)
    print(f"{len(names) - 1} mutants, {len(names) - 1 - alive} caught, {alive} not caught")
    return 1 if alive or kept.done[""][0] else 0


def _print(number: int, name: str, caught: str, seconds: float) -> None:
    if number < 0:
        print("without any mutant:", f"FAILS at {caught}" if caught else "all tests pass", flush=True)
        return
    test = caught.rsplit("/", 1)[-1] if caught else "NOBODY"
    print(f"{number + 1:4}  {name:<46} {test:<110.110} {seconds:5.1f} s", flush=True)


if __name__ == "__main__":
    sys.exit(main())
