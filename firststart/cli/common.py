"""What commands share: the library, the record, the job that is meant."""

from __future__ import annotations

import argparse
import hashlib
import json
import os
from dataclasses import replace
from pathlib import Path

import platformdirs

from firststart.bench.shop import make_rules
from firststart.clock import Clock
from firststart.errors import RecordReadOnly, UnknownName
from firststart.job.rules import Rules
from firststart.journal.shelf import Later, Shelf, packed
from firststart.journal.sqlite import SqliteJournal
from firststart.procedure.catalogue import content_key, data_folder, load_library
from firststart.procedure.library import Library

RECORD = "record.db"
SETTINGS = "settings.json"
MOST_SETTINGS = 100_000  # characters


def home_of(arguments: argparse.Namespace) -> Path:
    """The folder of records: --home, else FIRSTSTART_HOME, else the platform's place for data."""
    if arguments.home is not None:
        return Path(arguments.home)
    named = os.environ.get("FIRSTSTART_HOME")
    return Path(named) if named else Path(platformdirs.user_data_dir("firststart", appauthor=False))


def own_folders(arguments: argparse.Namespace) -> tuple[Path, ...]:
    """The user's own folder of procedures: --procedures, else `procedures` in the home when it is there.

    Raises UnknownName when the folder that --procedures names is not there.
    """
    if arguments.procedures is not None:
        named = Path(arguments.procedures)
        if not named.is_dir():
            raise UnknownName(f"--procedures: there is no folder {str(named)!r}; name the folder that holds work/")
        return (named,)
    beside = home_of(arguments) / "procedures"
    return (beside,) if beside.is_dir() else ()


def load_rules(arguments: argparse.Namespace) -> Rules:
    """The library made ready, from the shelf when its files are as they were. Raises DataError with every problem."""
    folder, own = data_folder("procedures"), own_folders(arguments)
    shelf, name, key = Shelf(shelf_folder()), f"library {own}", content_key((folder, *own))
    kept = shelf.get(name, key)
    if isinstance(kept, tuple) and isinstance(kept[0], Library):
        return Rules(replace(kept[0], documents=Later(kept[1])), judge_words=kept[2])
    rules = make_rules(load_library(folder, own))
    documents, words = packed(dict(rules.library.documents)), dict(rules.judge_words)
    shelf.put(name, (replace(rules.library, documents={}), documents, words), key)
    return rules


def shelf_folder() -> Path:
    """Where things lie that can be worked out again: FIRSTSTART_CACHE, else the platform's place for them."""
    named = os.environ.get("FIRSTSTART_CACHE")
    return Path(named) if named else Path(platformdirs.user_cache_dir("firststart", appauthor=False))


def job_shelf(arguments: argparse.Namespace) -> Shelf:
    """The shelf for the jobs of one record."""
    place = str((home_of(arguments) / RECORD).absolute())
    return Shelf(shelf_folder() / hashlib.blake2b(place.encode("utf-8", "surrogatepass"), digest_size=8).hexdigest())


def open_record(arguments: argparse.Namespace, *, write: bool) -> SqliteJournal:
    """The record. For reading it must exist: UnknownName otherwise."""
    path = home_of(arguments) / RECORD
    if not write and not path.is_file():
        raise UnknownName(f"There is no record in {path.parent} yet; open the bench with: firststart")
    return SqliteJournal(path, write=write)


def job_meant(journal: SqliteJournal, name: str | None) -> str:
    """The job called `name`, or the newest. Raises UnknownName."""
    lines = journal.jobs()
    if name is None:
        if not lines:
            raise UnknownName("There is no job yet; open the bench with: firststart")
        return lines[0].job
    if name not in {line.job for line in lines}:
        known = ", ".join(line.job for line in lines[:8]) or "none"
        raise UnknownName(f"There is no job called {name!r}; there are: {known}.")
    return name


def read_settings(arguments: argparse.Namespace) -> dict[str, str]:
    """What `firststart voice` has learnt; empty when there is nothing or the file cannot be read."""
    try:
        with (home_of(arguments) / SETTINGS).open(encoding="utf-8") as file:
            told = json.loads(file.read(MOST_SETTINGS))
    except (OSError, ValueError, RecursionError):
        return {}
    return {str(k): str(v) for k, v in told.items()} if isinstance(told, dict) else {}


def write_settings(arguments: argparse.Namespace, settings: dict[str, str]) -> None:
    """Keep what was learnt, private to the user, all of it or nothing. Raises RecordReadOnly."""
    path = home_of(arguments) / SETTINGS
    begun = path.with_name(path.name + ".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        begun.unlink(missing_ok=True)
        handle = os.open(begun, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(json.dumps(settings, indent=2) + "\n")
        begun.replace(path)
    except OSError as error:
        raise RecordReadOnly(f"The settings {path} cannot be kept ({error.strerror}); check their place.") from error


def wall_clock() -> Clock:
    """The clock on the wall; its module is loaded when it is needed."""
    from firststart.devices.wallclock import WallClock

    return WallClock()
