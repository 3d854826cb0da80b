"""Every mutant of the safety code against the tests: which test catches it.

    python tests/job/mutants.py                 all of them, as a table
    python tests/job/mutants.py rest heat       those with "rest" or "heat" in their name

A mutant lives in a process of its own, which runs the tests that belong to it until one fails, and after those
all other tests of the safety code. It ends with status 1 when a mutant is not caught.
"""

from __future__ import annotations

import contextlib
import io
import multiprocessing as mp
import os
import sys
import time
from pathlib import Path

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


def caught_by(mutant: Mutant | None) -> str:
    """The first test that fails with the mutant alive; empty when none does. None: the code as it is."""
    first = First()
    settings.register_profile("mutants", derandomize=True, deadline=None, database=None)
    settings.load_profile("mutants")
    own = TESTS[mutant.tests] if mutant is not None else ()
    others = tuple(f for f in EVERY if f not in own)
    alive = switched(mutant) if mutant is not None else contextlib.nullcontext()
    with alive, contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        for files in (own, others):
            paths = [str(ROOT / file) for file in files]
            if paths and not first.failed:
                code = pytest.main([*paths, *_OPTIONS], plugins=[first])
                assert code in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.INTERRUPTED), code
    return first.failed


def _job(number: int) -> tuple[int, str, float]:
    os.nice(10)
    os.chdir(ROOT)
    began = time.monotonic()
    return number, caught_by(MUTANTS[number] if number >= 0 else None), time.monotonic() - began


def main() -> int:
    """Print the table; 1 when a mutant lives on, or when the tests fail without any."""
    wanted = sys.argv[1:] or [""]
    numbers = [n for n, m in enumerate(MUTANTS) if any(w in m.name for w in wanted)]
    alive = 0
    with mp.get_context("spawn").Pool(os.cpu_count(), maxtasksperchild=1) as pool:
        for number, caught, seconds in pool.imap(_job, [-1, *numbers]):
            if number < 0:
                print("without any mutant:", f"FAILS at {caught}" if caught else "all tests pass", flush=True)
                if caught:  # then a failing test would say nothing of a mutant
                    return 1
                continue
            alive += not caught
            test = caught.rsplit("/", 1)[-1] if caught else "NOBODY"
            print(f"{number + 1:4}  {MUTANTS[number].name:<46} {test:<110.110} {seconds:5.1f} s", flush=True)
    print(f"{len(numbers)} mutants, {len(numbers) - alive} caught, {alive} not caught")
    return 1 if alive else 0


if __name__ == "__main__":
    sys.exit(main())
