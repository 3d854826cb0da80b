"""The supply chain, without a network: `python tests/supply/supply.py`, in the environment that is to be checked.

The lock names every library for development with its version and the hashes of its files. Checked: what is installed
is what the lock names and nothing else; every installed file has the hash that its own record tells, and no file lies
there that belongs to none. Where the lock does not cover the interpreter that is said, and the versions alone are not
compared. Prints each problem; 1 when there is any. With `--covers`: is this an interpreter that the lock covers?
"""

from __future__ import annotations

import base64
import hashlib
import platform
import re
import sys
import sysconfig
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, distributions
from pathlib import Path

LOCK = Path(__file__).resolve().parent / "requirements.lock"
OURS = "firststart"
UNLOCKED = {OURS, "setuptools"}  # the project itself, and what a new environment may bring along
COVERED = ("cpython", "linux-x86_64", "glibc")
VERSIONS = ((3, 11), (3, 14))  # first and last
_PIN = re.compile(r"([A-Za-z0-9._-]+)==([^\s;\\]+)")


def uncovered(kind: tuple[str, str, str], version: tuple[int, int]) -> str:
    """Why the lock says nothing for such an interpreter (implementation, platform, C library); empty when it does."""
    if kind == COVERED and VERSIONS[0] <= version <= VERSIONS[1]:
        return ""
    shown = " ".join(part for part in kind if part)
    return (
        f"The lock covers {' '.join(COVERED)} {_dotted(VERSIONS[0])} to {_dotted(VERSIONS[1])}, and this is "
        f"{shown} {_dotted(version)}: its versions are not compared."
    )


def _dotted(version: tuple[int, int]) -> str:
    return ".".join(map(str, version))


def here() -> tuple[tuple[str, str, str], tuple[int, int]]:
    """This interpreter, as `uncovered` takes it."""
    kind = (sys.implementation.name, sysconfig.get_platform(), platform.libc_ver()[0])
    return kind, (sys.version_info.major, sys.version_info.minor)


def plain(name: str) -> str:
    """A name as the index compares it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def read_lock(text: str) -> tuple[dict[str, str], list[str]]:
    """Versions by name, and what is wrong with the lock itself."""
    pins: dict[str, str] = {}
    problems: list[str] = []
    entries = [e for e in re.split(r"\n(?=\S)", text.strip()) if e and not e.startswith("#")]
    for entry in entries:
        found = _PIN.match(entry)
        if found is None:
            problems.append(f"the lock has a line that pins nothing: {entry.splitlines()[0][:80]}")
            continue
        pins[plain(found[1])] = found[2]
        if not re.search(r"--hash=sha256:[0-9a-f]{64}\b", entry):
            problems.append(f"{found[1]} has no hash in the lock")
        if "://" in entry or " @ " in entry:
            problems.append(f"{found[1]} comes from an address of its own")
    return pins, problems


def against_lock(installed: Iterable[tuple[str, str]], pins: dict[str, str], optional: frozenset[str]) -> Iterator[str]:
    """What is installed and not locked, locked and not installed, or of another version."""
    there = {plain(name): version for name, version in installed}
    for name, version in sorted(there.items()):
        if name in UNLOCKED:
            continue
        if name not in pins:
            yield f"{name} {version} is installed and not in the lock"
        elif pins[name] != version:
            yield f"{name} is {version}, but the lock says {pins[name]}"
    for name in sorted(set(pins) - set(there) - optional):
        yield f"{name} is in the lock and not installed"


def altered(distribution: Distribution) -> Iterator[str]:
    """The files of one library that are gone, or not what its record tells."""
    name = distribution.metadata["Name"]
    if distribution.files is None:
        yield f"{name} has no record of its files"
        return
    for file in distribution.files:
        path = Path(str(distribution.locate_file(file)))
        if not path.is_file():
            if not str(file).endswith(".pyc"):
                yield f"{name}: {file} is gone"
        elif file.hash is not None:
            found = hashlib.new(file.hash.mode, path.read_bytes()).digest()
            if base64.urlsafe_b64encode(found).rstrip(b"=").decode() != file.hash.value:
                yield f"{name}: {file} is not what was installed"


def strays(site: Path, owned: set[Path]) -> Iterator[str]:
    """Files in the folder of libraries that belong to none of them: each could run at every start of Python."""
    for path in sorted(site.rglob("*")):
        kept = path.suffix == ".pyc" and path.parent.name == "__pycache__"  # never imported without its source
        if path.is_file() and not kept and path.resolve() not in owned:
            yield f"{path.relative_to(site)} belongs to no library"


def check(site: Path, pins: dict[str, str] | None, optional: frozenset[str] = frozenset()) -> list[str]:
    """Every problem of the libraries in `site`; `pins` None: versions are not compared."""
    found = list(distributions(path=[str(site)]))
    owned = {Path(str(d.locate_file(f))).resolve() for d in found for f in d.files or ()}
    installed = [(d.metadata["Name"], d.version) for d in found]
    problems = [] if pins is None else list(against_lock(installed, pins, optional))
    for distribution in found:
        problems += altered(distribution)
    return [*problems, *strays(site, owned)]


def main(arguments: list[str]) -> int:
    not_here = uncovered(*here())
    if not_here:
        print(not_here)
    if arguments == ["--covers"]:
        return 1 if not_here else 0
    pins, problems = read_lock(LOCK.read_text(encoding="utf-8"))
    site = Path(sysconfig.get_path("purelib"))
    problems += check(site, None if not_here else pins)
    for problem in problems:
        print(problem)
    print(f"{len(problems)} problems; {len(pins)} libraries locked, those in {site.name} checked file by file.")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
