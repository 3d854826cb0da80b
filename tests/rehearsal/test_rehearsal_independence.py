"""The virtual engine and the book of suspects know nothing of each other."""

import ast
from pathlib import Path

import firststart
import firststart.rehearsal

PACKAGE = Path(firststart.__file__).parent
ROOM = Path(firststart.rehearsal.__file__).parent
ENGINE_SIDE = (
    "parts", "body", "wear", "turning", "sparking", "fuelling", "firing", "sight", "looks_engine", "looks_spark",
    "looks_fuel", "looks_trial", "readings", "conditions", "doing", "engine", "scenario", "kit", "draw", "answers",
    "temper",
)  # fmt: skip
BARRED = ("firststart.diagnosis", "firststart.bench", "firststart.report")


def imports_of(text: str) -> set[str]:
    """Every module that a source imports, at any depth of the text."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def reached_from(module: str, seen: set[str]) -> set[str]:
    """Every module of the package that `module` imports, through whatever others."""
    if module in seen or not module.startswith("firststart"):
        return seen
    path = PACKAGE.parent / Path(*module.split("."))
    source = path.with_suffix(".py") if path.with_suffix(".py").is_file() else path / "__init__.py"
    if not source.is_file():
        return seen
    seen.add(module)
    for name in imports_of(source.read_text(encoding="utf-8")):
        reached_from(name, seen)
    return seen


def violations(modules: set[str]) -> set[str]:
    return {m for m in modules if m.startswith(BARRED)}


def test_the_virtual_engine_reaches_no_diagnosis_through_any_import() -> None:
    """No module of the engine's side imports the diagnosis, the bench or the report, directly or through others."""
    reached: set[str] = set()
    for name in ENGINE_SIDE:
        assert (ROOM / f"{name}.py").is_file()
        reached_from(f"firststart.rehearsal.{name}", reached)

    assert set() == violations(reached)


def test_a_planted_import_is_caught() -> None:
    """The check above can fail: an import of the diagnosis in the middle of a function is seen."""
    planted = "def look():\n    from firststart.diagnosis.book import Book\n    return Book\n"

    assert {"firststart.diagnosis.book", "firststart.diagnosis.book.Book"} == violations(imports_of(planted))


def test_the_engine_side_never_names_the_book() -> None:
    """No source of the engine's side speaks of the book's file or of the library's book."""
    guilty = [
        name
        for name in ENGINE_SIDE
        for word in ("no-start.yaml", ".book", "bad_if", "posterior")
        if word in (ROOM / f"{name}.py").read_text(encoding="utf-8")
    ]

    assert guilty == []
