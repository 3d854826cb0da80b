"""The lock is whole and fits the project, and the check of an environment finds what is put into it."""

from __future__ import annotations

import base64
import hashlib
import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from supply import COVERED, LOCK, VERSIONS, check, here, plain, read_lock, uncovered

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
HERE = {"sys_platform": "linux", "platform_machine": "x86_64", "python_full_version": "3.11.0", "os_name": "posix"}


def wanted(*groups: str) -> list[Requirement]:
    """What the project asks for on the kind of machine that the lock is for."""
    extras = PROJECT["optional-dependencies"]
    texts = [*PROJECT["dependencies"], *(text for group in groups for text in extras[group])]
    every = [Requirement(text) for text in texts]
    return [r for r in every if r.marker is None or r.marker.evaluate({**HERE, "python_version": "3.11"})]


def test_the_lock_pins_every_library_by_hash_and_names_no_address() -> None:
    """Each entry has one version and hashes of its files; nothing comes from an address of its own."""
    text = LOCK.read_text(encoding="utf-8")
    pins, problems = read_lock(text)

    assert problems == []
    assert len(pins) > 60
    assert not re.search(r"://|^-(?!-hash)", text, re.MULTILINE)


def test_the_lock_fits_what_the_project_asks_for() -> None:
    """Every dependency is in the lock with a version that the project allows: a new one wants the lock made anew."""
    pins, _ = read_lock(LOCK.read_text(encoding="utf-8"))
    unfit = [str(r) for r in wanted("ears", "test") if not r.specifier.contains(pins.get(plain(r.name), "0"))]

    assert unfit == []


def test_what_users_install_is_bounded_on_both_sides() -> None:
    """A library's next great version is never installed unseen."""
    loose = [str(r) for r in wanted("ears") if not {"<", "==", "~="} & {s.operator for s in r.specifier}]
    loose += [str(r) for r in wanted("ears") if not {">=", "==", "~="} & {s.operator for s in r.specifier}]

    assert loose == []


@pytest.fixture
def site(tmp_path: Path) -> Path:
    """A folder of libraries with one in it."""
    (tmp_path / "good").mkdir()
    (tmp_path / "good" / "__init__.py").write_text("x = 1\n")
    info = tmp_path / "good-1.0.dist-info"
    info.mkdir()
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: good\nVersion: 1.0\n")
    lines = [f"{p},sha256={_digest(tmp_path / p)}," for p in ("good/__init__.py", "good-1.0.dist-info/METADATA")]
    (info / "RECORD").write_text("\n".join([*lines, "good-1.0.dist-info/RECORD,,"]) + "\n")
    return tmp_path


def _digest(path: Path) -> str:
    return base64.urlsafe_b64encode(hashlib.sha256(path.read_bytes()).digest()).rstrip(b"=").decode()


def test_an_environment_as_it_was_locked_has_no_problem(site: Path) -> None:
    """The library of the lock, with the files of its record, is in order."""
    assert check(site, {"good": "1.0"}) == []


@pytest.mark.parametrize(
    ("change", "pins", "told"),
    [
        ("good/__init__.py", {"good": "1.0"}, "is not what was installed"),
        ("at-every-start.pth", {"good": "1.0"}, "belongs to no library"),
        ("good/more.py", {"good": "1.0"}, "belongs to no library"),
        ("good/more.pyc", {"good": "1.0"}, "belongs to no library"),
        ("", {"good": "1.1"}, "the lock says 1.1"),
        ("", {}, "not in the lock"),
        ("", {"good": "1.0", "other": "2"}, "other is in the lock and not installed"),
    ],
)
def test_what_is_put_in_is_found(site: Path, change: str, pins: dict[str, str], told: str) -> None:
    """A changed file, a file that is nobody's, another version, a library too many or too few: each is told."""
    if change:
        (site / change).write_text("import os\n")
    problems = check(site, pins)

    assert len(problems) == 1
    assert told in problems[0]


@pytest.mark.parametrize(
    ("kind", "version", "known"),
    [
        (COVERED, VERSIONS[0], True),
        (COVERED, VERSIONS[1], True),
        (COVERED, (3, 99), False),
        (("pypy", *COVERED[1:]), VERSIONS[0], False),
        (("cpython", "linux-aarch64", "glibc"), VERSIONS[0], False),
        (("cpython", "linux-x86_64", ""), VERSIONS[0], False),
        (("cpython", "macosx-14.0-arm64", ""), VERSIONS[0], False),
    ],
)
def test_an_interpreter_that_the_lock_does_not_cover_is_told(
    kind: tuple[str, str, str], version: tuple[int, int], known: bool
) -> None:
    """Another version, machine, C library or implementation gets a sentence that names both; the head says the same."""
    told = uncovered(kind, version)
    head = LOCK.read_text(encoding="utf-8").splitlines()[0]

    assert known == (told == "")
    assert known or f"{version[0]}.{version[1]}" in told
    assert f"CPython 3.{VERSIONS[0][1]} to 3.{VERSIONS[1][1]} on Linux x86_64 with glibc" in head


def test_the_interpreter_of_these_tests_is_described() -> None:
    """What is asked of the lock is what runs."""
    kind, version = here()

    assert version >= VERSIONS[0]
    assert all(isinstance(part, str) for part in kind)


def test_without_versions_the_files_are_checked_all_the_same(site: Path) -> None:
    """Where the lock says nothing, a changed file is found and another version is not told."""
    assert check(site, None) == []

    (site / "good" / "__init__.py").write_text("x = 2\n")

    assert len(check(site, None)) == 1


@pytest.mark.parametrize("bad", ["one>=1\n", "one==1\n", "one @ https://example.invalid/x.whl\n"])
def test_a_careless_lock_is_found(bad: str) -> None:
    """A version left open, a missing hash, an address: each is a problem."""
    assert len(read_lock(bad)[1]) == 1
