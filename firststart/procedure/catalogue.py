"""Finds and opens the files of `procedures/`, and makes one checked Library of them.

A folder of the user's own may add procedures, or replace one that ships by having its id and stating
`replaces: ID`. Its hazards may add to the shipped ones, and nothing in it can take a guard away.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from firststart.errors import DataError, Problem
from firststart.judge.model import Limit, Limits
from firststart.procedure.library import Defaults, Library
from firststart.procedure.matrix import read_sorts
from firststart.procedure.merge import merge_safety, own_problems, safety_problems
from firststart.procedure.model import Procedure, Safety, Stage
from firststart.procedure.reader import MAX_CHARS, Document, read
from firststart.procedure.validate import model_of
from firststart.starter.duty import DutyClasses


def data_folder(name: str) -> Path:
    """The folder `procedures` or `scenarios`: inside the installed package, else beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "_data" / name
    return inside if inside.is_dir() else package.parent / name


def text_of(path: Path, shown: str) -> str:
    """The text of a file that a person may have written or fetched; never more than such a file may have.

    Raises DataError that calls it `shown`: no file (a pipe would never end), too long, not readable, not UTF-8.
    """
    try:
        if path.exists() and not path.is_file():
            raise DataError([Problem(shown, 1, "this is no file; put a file of text here")])
        with path.open(encoding="utf-8") as file:
            text = file.read(MAX_CHARS + 1)
    except UnicodeDecodeError:
        raise DataError([Problem(shown, 1, "not UTF-8 text; save it as UTF-8")]) from None
    except OSError as error:
        reason = error.strerror or str(error)
        raise DataError([Problem(shown, 1, f"cannot be read ({reason}); check its place and rights")]) from None
    if len(text) > MAX_CHARS:
        raise DataError([Problem(shown, 1, f"the file is longer than {MAX_CHARS} characters; split it")])
    return text


@dataclass
class _Reading:
    """What has been read so far, and every problem met."""

    root: Path
    problems: list[Problem] = field(default_factory=list)
    documents: dict[str, Document] = field(default_factory=dict)

    def document(self, path: Path) -> Document | None:
        shown = _shown(path, self.root)
        try:
            return read(text_of(path, shown), shown)
        except DataError as error:
            self.problems += error.problems
            return None


def _shown(path: Path, root: Path) -> str:
    try:
        return str(Path(root.name) / path.relative_to(root))
    except ValueError:
        return str(path)


def content_key(folders: Sequence[Path]) -> str:
    """A digest over the name and every byte of all that is read from `folders`: the same key, the same library."""
    seal = hashlib.blake2b(digest_size=32)
    for folder in map(str, folders):
        for path in (folder, *_yaml_below(folder, set())):
            body = _bytes_of(path)
            seal.update(f"{path}\0{len(body)}\0".encode("utf-8", "surrogatepass") + body)
    return seal.hexdigest()


def _yaml_below(folder: str, seen: set[tuple[int, int]]) -> Iterator[str]:
    """What is called like a file of YAML, in order; links are followed as reading follows them, no folder twice."""
    with contextlib.suppress(OSError):
        state = Path(folder).stat()
        if (state.st_dev, state.st_ino) in seen:
            return
        seen.add((state.st_dev, state.st_ino))
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
        for entry in entries:
            if entry.name.endswith((".yaml", ".yml")):
                yield entry.path
            if entry.is_dir():
                yield from _yaml_below(entry.path, seen)


def _bytes_of(name: str) -> bytes:
    """What the digest is made of: the whole file, or so much of it that it is refused for its length."""
    path = Path(name)
    try:
        if not path.is_file():
            return b"no file"
        with path.open("rb") as file:
            return file.read(4 * MAX_CHARS + 1)
    except OSError as error:
        return f"cannot be read: {error.errno}".encode()


def load_library(folder: Path, own: Sequence[Path] = ()) -> Library:
    """The library of `folder` and of the user's `own` folders. Raises DataError with every problem."""
    library, problems = load_with_problems(folder, own)
    if library is None or problems:
        raise DataError(problems)
    return library


def load_with_problems(
    folder: Path, own: Sequence[Path] = (), files: Sequence[Path] = ()
) -> tuple[Library | None, list[Problem]]:
    """The library as far as it can be made, and every problem of reading it. `files` are single procedures more."""
    reading = _Reading(folder)
    if not folder.is_dir():
        return None, [Problem(str(folder), 1, "there is no such folder; name the folder of procedures")]
    stages = _load_stages(reading, folder / "stages.yaml")
    safety: Safety | None = _load_one(reading, folder / "hazards.yaml", Safety)
    if safety is not None:
        reading.problems += safety_problems(safety, reading.documents["hazards"])
    shipped_safety = safety
    limits = _load_limits(reading, sorted((folder / "limits").glob("*.yaml")))
    duties = _load_duties(reading, folder / "starters.yaml")
    engines = _load_engines(reading, sorted((folder / "engines").glob("*.yaml")))
    book = reading.document(folder / "no-start.yaml") if (folder / "no-start.yaml").is_file() else None
    procedures, digests = _load_procedures(reading, sorted((folder / "work").glob("*.yaml")))
    owned = set[str]()
    for extra in own:
        reading.root = extra
        if safety is not None and (extra / "hazards.yaml").is_file():
            document = reading.document(extra / "hazards.yaml")
            if document is not None:
                safety = merge_safety(safety, document, reading.problems)
        reading.problems += _strays(extra)
        paths = sorted((extra / "work").glob("*.yaml"))
        more, more_digests = _load_procedures(reading, paths, procedures, shipped_safety)
        procedures, digests = {**procedures, **more}, {**digests, **more_digests}
        owned |= set(more)
    if files:
        more, more_digests = _load_procedures(reading, files, procedures, shipped_safety)
        procedures, digests = {**procedures, **more}, {**digests, **more_digests}
        owned |= set(more)
    if safety is None or duties is None:
        return None, sorted(reading.problems)
    library = Library(
        procedures, digests, reading.documents, safety, stages, Limits(by_name=limits), duties, engines, book,
        frozenset(owned), safety is not shipped_safety,
    )  # fmt: skip
    return library, sorted(reading.problems)


def _strays(own: Path) -> list[Problem]:
    """The YAML files of a user's folder that nothing reads: a file put in the wrong place is told, not passed over."""
    read_here = {own / "hazards.yaml", *(own / "work").glob("*.yaml")}
    remedy = "procedures are read from work/NAME.yaml, and rules from hazards.yaml; move or rename this file"
    return [
        Problem(_shown(path, own), 1, f"nothing reads this file: {remedy}")
        for path in sorted(own.rglob("*.y*ml")) if path.suffix in (".yaml", ".yml") and path not in read_here
    ]


def load_sorts(folder: Path) -> dict[str, dict[str, str]]:
    """The sorts of engine that the matrix shows. Raises DataError."""
    reading = _Reading(folder)
    document = reading.document(folder / "sorts.yaml")
    if document is None:
        raise DataError(reading.problems)
    return read_sorts(document)


def _load_one(reading: _Reading, path: Path, model: Any) -> Any:
    document = reading.document(path)
    if document is None:
        return None
    reading.documents[path.stem] = document
    return model_of(model, document, (), document.data, reading.problems)


def _load_stages(reading: _Reading, path: Path) -> dict[str, Stage]:
    document = reading.document(path)
    if document is None or not isinstance(document.data, dict):
        return {}
    made = {k: model_of(Stage, document, (k,), v, reading.problems) for k, v in document.data.items()}
    return {k: v for k, v in made.items() if v is not None}


def _load_limits(reading: _Reading, paths: Sequence[Path]) -> dict[str, Limit]:
    limits: dict[str, Limit] = {}
    for path in paths:
        document = reading.document(path)
        if document is None or not isinstance(document.data, dict):
            continue
        for name, entry in document.data.items():
            if name in limits:
                reading.problems.append(document.problem((name,), f"the limit {name!r} stands in two files; keep one"))
            limit = model_of(Limit, document, (name,), entry, reading.problems)
            if limit is not None:
                limits[name] = limit
    return limits


def _load_duties(reading: _Reading, path: Path) -> DutyClasses | None:
    document = reading.document(path)
    if document is None:
        return None
    try:
        return DutyClasses.from_data(document.data, document.file)
    except DataError as error:
        reading.problems += error.problems
        return None


def _load_engines(reading: _Reading, paths: Sequence[Path]) -> dict[str, Defaults]:
    engines: dict[str, Defaults] = {}
    for path in paths:
        document = reading.document(path)
        if document is None or not isinstance(document.data, dict):
            continue
        words: dict[str, str] = {}
        numbers: dict[str, str] = {}
        sources: dict[str, str] = {}
        for name, entry in document.data.items():
            if not isinstance(entry, dict) or "source" not in entry or not ({"word", "number"} & set(entry)):
                reading.problems.append(
                    document.problem((name,), f"{name} needs a word or a number, and a source; add what is missing")
                )
                continue
            sources[name] = str(entry["source"])
            (words if "word" in entry else numbers)[name] = str(entry.get("word", entry.get("number")))
        engines[path.stem] = Defaults(words, numbers, sources)
    return engines


def _load_procedures(
    reading: _Reading,
    paths: Sequence[Path],
    shipped: Mapping[str, Procedure] | None = None,
    safety: Safety | None = None,
) -> tuple[dict[str, Procedure], dict[str, str]]:
    """Procedures and their digests; with `shipped`, those of a user's folder, held against what ships."""
    procedures: dict[str, Procedure] = {}
    digests: dict[str, str] = {}
    before = shipped or {}
    for path in paths:
        document = reading.document(path)
        if document is None:
            continue
        data = document.data if isinstance(document.data, dict) else {}
        replaces = data.pop("replaces", None) if shipped is not None else None
        model = model_of(Procedure, document, (), data, reading.problems)
        if model is None:
            continue
        if model.id != path.stem:
            reading.problems.append(
                document.problem(("id",), f"id is {model.id!r} but the file is called {path.stem!r}; make them equal")
            )
        if model.id in procedures or (model.id in before and replaces != model.id):
            by = reading.documents[model.id].file
            message = f"the id {model.id!r} is taken by {by}; choose another, or state 'replaces: {model.id}'"
            reading.problems.append(document.problem(("id",), message))
            continue
        if shipped is not None and safety is not None:
            reading.problems += own_problems(model, replaces, document, before, safety)
        procedures[model.id] = model
        digests[model.id] = digest_of(model)
        reading.documents[model.id] = document
    return procedures, digests


def digest_of(procedure: Procedure) -> str:
    """A short digest of a procedure's whole content, kept with every run of it."""
    return hashlib.sha256(repr(procedure).encode()).hexdigest()[:16]
