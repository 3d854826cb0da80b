"""The short version of the thousand crashes, and that the trials would find a tool that loses answers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

HARNESS = Path(__file__).resolve().parent / "kill_harness.py"

pytestmark = pytest.mark.skipif(
    sys.platform != "linux", reason="the disk that fails is found under SQLite through Linux's map of a process"
)


def crash(*arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(HARNESS), *arguments], capture_output=True, text=True, check=False, timeout=120
    )


def total(table: str) -> dict[str, int]:
    """The last line of the table, by the names at its head."""
    lines = table.splitlines()
    head = next(line for line in lines if line.startswith("kind of fault")).split()[3:]
    last = next(line for line in lines if line.startswith("all ")).split()[1:]
    return dict(zip(head, (int(figure.replace(",", "")) for figure in last), strict=True))


def test_a_job_outlives_every_kind_of_crash() -> None:
    """Killed, without power, on a full, small, torn or failing disk: nothing lost, doubled, shortened, hung."""
    done = crash("--trials", "16", "--seed", "7")
    told = total(done.stdout)

    assert done.returncode == 0, done.stdout + done.stderr
    assert told["tried"] == 16
    assert told["happened"] >= 8
    assert told["answers"] > 100
    assert done.stderr == ""


@pytest.mark.parametrize(("fault", "kind"), [("no sync", "power lost"), ("no write", "random moment")])
def test_a_tool_that_loses_answers_is_found(fault: str, kind: str) -> None:
    """With a fault put into the tool itself the trials count what is lost, and the command fails."""
    done = crash("--trials", "6", "--planted", fault, "--kind", kind)

    assert done.returncode == 1
    assert total(done.stdout)["lost"] > 0
