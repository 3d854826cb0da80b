"""Nothing leaves the machine, and what is kept is the user's alone."""

from __future__ import annotations

import argparse
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from cli_shut import shut, tried

from firststart.cli.common import read_settings, write_settings
from firststart.errors import RecordReadOnly

JOB = """
import io, sys
from pathlib import Path
from PIL import Image
from firststart.cli import main
home, out = sys.argv[1:3]
def run(*arguments, wanted=(0,)):
    status = main([*arguments, "--home", home])
    assert status in wanted, (arguments, status)
sys.stdin = io.StringIO("something else\\n1\\nnote the weather is fine\\nI cranked for 5 seconds\\nfinish for today\\n")
run("--plain", "--no-ears", "--job", "twin")
run("rehearse", "twin-eight-years", "--quiet", "--report", f"{out}/pages")
run("verify", wanted=(0, 1))  # its problems are the business of other tests
run("jobs"); run("tools"); run("next"); run("jobs", "--format", "json")
for form in ("html", "text", "json", "csv"):
    run("report", "--format", form, "--output", f"{out}/report.{form}")
run("reckon", "compression", "ratio=9:1", "stroke=80mm", "rod=135mm")
Image.new("RGB", (40, 30)).save(f"{out}/plug.png")
run("note", "black", "--photo", f"{out}/plug.png")
run("jobs", "--export", "twin", "--output", f"{out}/twin.zip")
run("jobs", "--import", f"{out}/twin.zip", "--as", "twin 2"); run("compare", "twin", "twin 2", wanted=(0, 2))
run("copy", f"{out}/copy.db"); run("salvage", f"{out}/saved.db")
print("WHOLE JOB DONE")
"""


def whole_job(tmp_path: Path) -> subprocess.CompletedProcess[str]:
    (tmp_path / "out").mkdir(mode=0o700)
    environment = {**os.environ, **shut(tmp_path / "block"), "FIRSTSTART_CACHE": str(tmp_path / "shelf")}
    command = [sys.executable, "-c", JOB, str(tmp_path / "home"), str(tmp_path / "out")]
    return subprocess.run(
        command, env=environment, capture_output=True, text=True, check=False, timeout=120, stdin=subprocess.DEVNULL
    )


def test_the_whole_job_uses_no_network(tmp_path: Path) -> None:
    """Bench, rehearsal, every report, notes, archives, copy and salvage run with every way out of the machine shut.

    And whatever they leave behind is the user's alone.
    """
    done = whole_job(tmp_path)

    assert "WHOLE JOB DONE" in done.stdout, done.stderr[-2000:]
    assert [] == tried(tmp_path / "block")
    assert {"pages", "plug.png", "twin.zip", "copy.db", "copy.kept", "saved.db", "saved.kept"} == {
        p.name for p in (tmp_path / "out").iterdir() if p.stem != "report"
    }
    assert ["twin-eight-years.html"] == [p.name for p in (tmp_path / "out" / "pages").iterdir()]
    assert [] == [p.name for p in open_to_others(tmp_path) if p.name not in ("plug.png", "block")]


def open_to_others(folder: Path) -> list[Path]:
    """Whatever below `folder` somebody else may read, enter or change."""
    found = [] if os.name != "posix" else [p for p in folder.rglob("*") if p.stat().st_mode & 0o077]
    return [p for p in found if "block" not in p.parent.parts]


@pytest.mark.parametrize(
    "planted",
    [
        "import socket; socket.socket()",
        "import urllib.request; urllib.request.urlopen('http://localhost:9/')",
        "import socket; socket.create_connection(('localhost', 9))",
        "import subprocess; subprocess.run([sys.executable, '-c', 'import socket; socket.socket()'], check=True)",
    ],
)
def test_a_planted_use_of_the_network_is_found(planted: str, tmp_path: Path) -> None:
    """The guard itself works: in the program and in a process it starts."""
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; {planted}"], env={**os.environ, **shut(tmp_path)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert done.returncode != 0
    assert [] != tried(tmp_path)


@pytest.mark.skipif(os.name != "posix", reason="file rights are posix")
def test_settings_are_private_and_kept_whole(tmp_path: Path) -> None:
    """What was learnt is the user's alone, also over an older open file; nothing half written is left."""
    home = argparse.Namespace(home=tmp_path / "home")
    write_settings(home, {"pedal": "f8"})
    (tmp_path / "home" / "settings.json").chmod(0o644)
    write_settings(home, {"pedal": "f9"})

    assert read_settings(home) == {"pedal": "f9"}
    assert stat.S_IMODE((tmp_path / "home").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "home" / "settings.json").stat().st_mode) == 0o600
    assert [p.name for p in (tmp_path / "home").iterdir()] == ["settings.json"]


BAD = ("", "[]", "{", "[" * 90_000, '{"pedal": ' * 20_000, "\udcff", '"' + "x" * 200_000 + '"')


@pytest.mark.parametrize("text", BAD)
def test_settings_that_cannot_be_read_are_none(text: str, tmp_path: Path) -> None:
    """A file of settings from anywhere does no harm: it is left out."""
    (tmp_path / "settings.json").write_text(text, encoding="utf-8", errors="surrogateescape")

    assert read_settings(argparse.Namespace(home=tmp_path)) == {}


def test_settings_that_cannot_be_kept_are_told(tmp_path: Path) -> None:
    """A home that is no folder gets a sentence."""
    (tmp_path / "file").write_text("x")

    with pytest.raises(RecordReadOnly, match="cannot be kept"):
        write_settings(argparse.Namespace(home=tmp_path / "file"), {})
