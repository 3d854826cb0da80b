"""What many tests share: the shipped library and rules, read once, and a small way to drive a job."""

from __future__ import annotations

import atexit
import gc
import os
import shutil
import tempfile
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from firststart.bench.shop import make_rules
from firststart.job.rules import Rules
from firststart.procedure.catalogue import data_folder, load_library
from firststart.procedure.library import Library

ROOT = Path(__file__).resolve().parent.parent
gc.set_threshold(100_000, 20, 20)  # a test run makes little rubbish that goes in circles: looking for it costs a tenth
BUSY = [HealthCheck.too_slow]
# What a test starts keeps its compiled modules, as on any other day: else each of many programs compiles them anew.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
# How fast a busy machine is says nothing of the code; the gate decides alike for the same tree.
# A hundred examples of everything take minutes: `pytest --hypothesis-profile thorough` tries many more.
settings.register_profile("quiet", deadline=None, max_examples=30, suppress_health_check=BUSY)
settings.register_profile("same", deadline=None, max_examples=30, derandomize=True, suppress_health_check=BUSY)
settings.register_profile("thorough", deadline=None, max_examples=500, suppress_health_check=BUSY)
settings.load_profile("same" if os.environ.get("CI") else "quiet")


LONG = (  # the longest first
    "test_devices_hearing", "test_report_browser", "test_cli_whole_job", "test_devices_handsfree", "test_cli_private",
    "test_devices_player", "test_cli_terminal", "test_wheel",
)  # fmt: skip


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The few long files begin first, each worker its share of them; the rest stays in random order behind them.

    Work is given out in equal runs of the list, one for each worker, and the idle take from the busy.
    """
    workers: int = getattr(config, "workerinput", {}).get("workercount", 1)
    mine: list[list[pytest.Item]] = [[] for _ in range(workers)]
    for place, name in enumerate(LONG):
        mine[place % workers] += [item for item in items if item.path.stem == name]
    rest = [item for item in items if item.path.stem not in LONG]
    each = len(items) // workers
    for share in mine[:-1]:
        room = max(each - len(share), 0)
        share.extend(rest[:room])
        rest = rest[room:]
    items[:] = [item for share in [*mine[:-1], mine[-1] + rest] for item in share]


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are cores: some tests wait for a terminal or a loudspeaker, and leave a core idle."""
    return len(os.sched_getaffinity(0)) + 1 if hasattr(os, "sched_getaffinity") else (os.cpu_count() or 1) + 1


def pytest_configure(config: pytest.Config) -> None:
    if "FIRSTSTART_CACHE" not in os.environ:  # the user's own stays as it is; the workers of one run share another
        os.environ["FIRSTSTART_CACHE"] = folder = tempfile.mkdtemp(prefix="firststart-tests-")
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
    config.addinivalue_line("markers", "external: checked against a value or a library from outside the project")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print how many checks against outside sources ran, and what could not be tested on this machine."""
    passed = [r for r in terminalreporter.stats.get("passed", []) if "external" in r.keywords]
    if passed:
        terminalreporter.write_line(f"external checks: {len(passed)} passed")
    skipped = Counter(str(r.longrepr[2]).removeprefix("Skipped: ") for r in terminalreporter.stats.get("skipped", []))
    for reason, count in sorted(skipped.items()):
        terminalreporter.write_line(f"not tested here: {count} ({reason})")


@pytest.fixture(scope="session")
def library() -> Library:
    """The shipped library, as it is in `procedures/`."""
    return load_library(data_folder("procedures"))


@pytest.fixture(scope="session")
def rules(library: Library) -> Rules:
    """Rules over the shipped library, with guided work for the whole book."""
    return make_rules(library)
