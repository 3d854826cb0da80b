"""The rooms import only downwards, and each library has one door."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "firststart"
FLOOR = ("errors", "units", "clock")
ORDER = (
    "physics", "engine", "starter", "judge", "procedure", "machine", "job", "journal", "prompt", "diagnosis", "bench",
    "report", "devices", "rehearsal", "cli",
)  # fmt: skip
ALLOWED = {room: {*FLOOR, *ORDER[: ORDER.index(room)], room} for room in ORDER}
ALLOWED["physics"] = {"errors", "units", "physics"}
ALLOWED["engine"] = {"errors", "units", "physics", "engine"}
ALLOWED["starter"] = {"errors", "units", "physics", "engine", "starter"}
ALLOWED["devices"] = {*FLOOR, "prompt", "physics", "devices"}
ALLOWED["rehearsal"] -= {"devices", "cli"}
ALLOWED |= {"errors": set(), "units": {"errors"}, "clock": {"errors"}, "__main__": {"cli"}, "__init__": set()}
DOORS = {
    "pint": {"units.py", "physics/subject.py"},
    "transitions": {"machine/runtime.py"},
    "prompt_toolkit": {"devices/stage.py"},
    "pyttsx3": {"devices/mouth_child.py"},
    "sqlite3": {"journal/sqlite.py"},
    "yaml": {"procedure/reader.py"},
    "PIL": {"journal/photo.py"},
    "matplotlib": {"report/plot.py"},
    "miniaudio": {"devices/loudspeaker.py", "devices/capture.py"},
}
TYPE_ONLY = {"pint": {"physics/subject.py"}}


def imports(source: str, *, lazy: bool = True) -> list[str]:
    """Every module that a source imports; with `lazy` anywhere in it, else only when it is itself imported."""
    found: list[str] = []
    tree = ast.parse(source)
    for node in ast.walk(tree) if lazy else tree.body:
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            inside = [f"{node.module}.{alias.name}" for alias in node.names]
            found += inside if node.module == "firststart" else [node.module]
    return found


def room_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def breaches(room: str, file: str, source: str) -> list[str]:
    """What a file of `room` imports although it may not."""
    found: list[str] = []
    for module in imports(source):
        parts = module.split(".")
        if parts[0] == "firststart":
            target = parts[1] if len(parts) > 1 else "__init__"
            if target not in ALLOWED[room] and target != "__version__":
                found.append(f"{file} imports {module}")
        elif parts[0] in DOORS and file not in DOORS[parts[0]]:
            found.append(f"{file} imports {module}")
    return found


FILES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_room_imports_only_what_lies_below_it(path: Path) -> None:
    """No file imports a room above its own, nor a library through another door."""
    file = str(path.relative_to(PACKAGE))

    assert breaches(room_of(path), file, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("room", "source"),
    [
        ("physics", "from firststart.job.facts import Fact"),
        ("job", "import sqlite3"),
        ("prompt", "def f():\n    from firststart.cli import main"),
        ("machine", "import pint"),
        ("errors", "from firststart import units"),
    ],
)
def test_a_planted_breach_is_found(room: str, source: str) -> None:
    """The rule itself works: each planted breach is reported, hidden imports included."""
    assert len(breaches(room, f"{room}/planted.py", source)) == 1


def test_what_may_hang_or_crash_is_loaded_by_programs_of_their_own_only() -> None:
    """Sound devices, the recogniser and the speech library are reached from no module of the bench's own process."""
    graph = {
        ".".join(p.relative_to(PACKAGE.parent).with_suffix("").parts): set(imports(p.read_text(encoding="utf-8")))
        for p in FILES
    }
    foreign = {f"firststart.devices.{name}" for name in ("loudspeaker", "capture", "listener", "mouth_child")}
    seen, left = set(), ["firststart.cli"]
    while left:
        name = left.pop()
        if name not in seen:
            seen.add(name)
            left += [m for m in graph if m.startswith(f"{name}.")] if name == "firststart.cli" else []
            left += [m for m in graph.get(name, graph.get(f"{name}.__init__", ())) if m.startswith("firststart")]

    assert "firststart.devices.mouth" in seen
    assert set() == seen & foreign


def test_every_file_was_looked_at() -> None:
    """The scan saw every room of the table, and every file belongs to a room of the table."""
    assert {room_of(p) for p in FILES} == set(ALLOWED)


def test_the_rooms_do_not_hang_in_a_circle() -> None:
    """Importing one file never needs itself again through others; lazy loads inside functions come later."""
    graph = {
        ".".join(p.relative_to(PACKAGE.parent).with_suffix("").parts): {
            m for m in imports(p.read_text(encoding="utf-8"), lazy=False) if m.startswith("firststart")
        }
        for p in FILES
    }
    done: set[str] = set()

    def visit(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, f"circle: {' > '.join((*path, name))}"
        if name not in done:
            for child in graph.get(name, ()):
                visit(child, (*path, name))
            done.add(name)

    for name in graph:
        visit(name, ())


def test_no_file_is_longer_than_four_hundred_lines() -> None:
    """A file that grows past 400 lines wants splitting."""
    lines = {str(p.relative_to(PACKAGE)): len(p.read_text(encoding="utf-8").splitlines()) for p in FILES}
    long = {name: count for name, count in lines.items() if count > 400}

    assert long == {}


def _public(node: ast.AST, inside: str = "") -> Iterator[tuple[str, ast.FunctionDef | ast.ClassDef]]:
    """Every public class and function of a file, with the class it belongs to before its name."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.FunctionDef | ast.ClassDef) and not child.name.startswith("_"):
            yield f"{inside}{child.name}", child
            if isinstance(child, ast.ClassDef):
                yield from _public(child, f"{child.name}.")


def test_everything_public_has_a_docstring() -> None:
    """Each public class and function says what it is; what keeps a port is told at the port."""
    every = [(p, *found) for p in FILES for found in _public(ast.parse(p.read_text(encoding="utf-8")))]
    classes = [node for _, _, node in every if isinstance(node, ast.ClassDef)]
    ports = [node for node in classes if "Protocol" in map(ast.unparse, node.bases)]
    told = {f.name for port in ports for f in port.body if isinstance(f, ast.FunctionDef) and ast.get_docstring(f)}
    kept = {n for _, n, node in every if "." in n and node.name in told}
    bare = [f"{p.name} {n}" for p, n, node in every if not ast.get_docstring(node) and n not in kept]

    assert 1_000 < len(every)
    assert [] == bare
