"""The wheel carries its data and works in a fresh environment outside the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel built from this checkout. The build backend comes from this environment: nothing is fetched."""
    target = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(target), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True, cwd=target)
    return next(target.glob("*.whl"))


def test_the_wheel_carries_procedures_and_scenarios(wheel: Path) -> None:
    """Every data file of the checkout is inside the wheel."""
    inside = set(zipfile.ZipFile(wheel).namelist())
    wanted = {
        f"firststart/_data/{path.relative_to(ROOT).as_posix()}"
        for folder in ("procedures", "scenarios")
        for path in (ROOT / folder).rglob("*.yaml")
    }

    assert set() == wanted - inside
    assert 40 < len(wanted)


def test_the_wheel_works_outside_the_checkout(wheel: Path, tmp_path: Path) -> None:
    """Installed in a fresh environment, it rehearses a scenario from its own data."""
    fresh = tmp_path / "fresh"
    venv.create(fresh, with_pip=False)
    site = Path(sysconfig.get_path("purelib", "venv", {"base": str(fresh), "platbase": str(fresh)}))
    # The libraries come from this environment through a path file; only firststart itself is installed anew.
    lines = [p for p in sys.path if p.endswith("site-packages")]
    (site / "libraries.pth").write_text("\n".join(lines) + "\n", encoding="utf-8")
    install = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", "--target", str(site)]
    subprocess.run([*install, str(wheel)], check=True, capture_output=True)
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"}
    python = fresh / ("Scripts" if os.name == "nt" else "bin") / "python"
    where = "import firststart, sys; sys.stdout.write(firststart.__file__)"
    told = {"capture_output": True, "text": True, "cwd": tmp_path, "env": environment}
    found = subprocess.run([python, "-c", where], check=True, **told).stdout
    played = subprocess.run([python, "-m", "firststart", "rehearse", "--quiet"], check=False, **told)

    assert str(site) in found
    assert 0 == played.returncode, played.stderr
    assert played.stdout
