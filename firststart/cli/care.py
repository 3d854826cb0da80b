"""`firststart copy` and `firststart salvage`: a second record, of a whole one and of a damaged one."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from firststart.cli.common import RECORD, home_of, open_record, wall_clock
from firststart.job.attachment import Attachment
from firststart.job.facts import Fact
from firststart.journal.drawer import FolderDrawer, attachments, carry
from firststart.journal.salvage import SavedJob, examine, save, summary
from firststart.journal.sqlite import SqliteJournal


def run_copy(arguments: argparse.Namespace) -> int:
    """Copy the record, also while a bench writes to it, and check the copy; 1 when a photo or sound is missing."""
    journal = open_record(arguments, write=False)
    try:
        counts = journal.copy_to(arguments.file)
    finally:
        journal.close()
    copy = SqliteJournal(arguments.file, write=False)
    try:
        facts = [fact for job in counts for fact in copy.read(job)]
    finally:
        copy.close()
    found, lost = _carried(home_of(arguments) / RECORD, arguments.file, facts)
    if arguments.format == "json":
        told = {"file": str(arguments.file), "jobs": counts, "kept": len(found), "missing": [a.file for a in lost]}
        print(json.dumps(told, indent=2))
    else:
        jobs = "1 job" if len(counts) == 1 else f"{len(counts)} jobs"
        print(f"{arguments.file}: {jobs}, {sum(counts.values())} entries, copied and checked.")
        _tell_carried(arguments.file, found, lost)
    return 1 if lost else 0


def _carried(
    source: Path, target: Path, facts: Iterable[Fact]
) -> tuple[tuple[Attachment, ...], tuple[Attachment, ...]]:
    """The photos and sounds that these entries name, beside the new record too; and those that are not there."""
    named = attachments(facts)
    lost = carry(named, FolderDrawer(source), FolderDrawer(target))
    return tuple(a for a in named if a not in lost), lost


def _tell_carried(target: Path, found: Sequence[Attachment], lost: Sequence[Attachment]) -> None:
    counts = [(sum(a.sort == sort for a in found), sort) for sort in ("photo", "sound")]
    words = [f"{n} {sort}{'' if n == 1 else 's'}" for n, sort in counts if n]
    if words:
        print(f"  {' and '.join(words)} beside it, in {FolderDrawer(target).folder}.")
    for attachment in lost:
        print(f"  missing: the {attachment.called()}, which does not lie beside the record or has changed.")


def run_salvage(arguments: argparse.Namespace) -> int:
    """Tell what can be read of a record, and write it to a new one; 1 when anything is missing."""
    source = arguments.source or home_of(arguments) / RECORD
    saved = examine(source)
    found: tuple[Attachment, ...] = ()
    lost: tuple[Attachment, ...] = ()
    if arguments.file is not None:
        save(saved, arguments.file, wall_clock().now())
        facts = [fact for job in saved for fact in job.facts.values()]
        found, lost = _carried(source, arguments.file, facts)
    if arguments.format == "json":
        print(json.dumps(_as_json(source, arguments.file, saved), indent=2))
    else:
        _tell(source, arguments.file, saved)
        _tell_carried(arguments.file or source, found, lost)
    return 0 if all(job.whole for job in saved) and not lost else 1


def _as_json(source: Path, target: Path | None, saved: Sequence[SavedJob]) -> dict[str, object]:
    return {
        "record": str(source),
        "file": None if target is None else str(target),
        "whole": all(job.whole for job in saved),
        "jobs": [
            {
                "job": job.job,
                "engine": job.engine,
                "entries": job.entries,
                "lost": [vars(lost) for lost in job.lost],
                "more may be missing": not job.certain,
            }
            for job in saved
        ],
    }


def _tell(source: Path, target: Path | None, saved: Sequence[SavedJob]) -> None:
    for job in saved:
        print(summary(job))
    if target is None:
        print("Nothing was written. To keep what was read: firststart salvage FILE")
        return
    print(f"Written to {target}. To work on with it, move {source.name} aside and put it in its place.")
