"""`firststart copy` and `firststart salvage`: a second record, of a whole one and of a damaged one."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from pathlib import Path

from firststart.cli.common import RECORD, home_of, open_record, wall_clock
from firststart.journal.salvage import SavedJob, examine, save, summary


def run_copy(arguments: argparse.Namespace) -> int:
    """Copy the record, also while a bench writes to it, and check the copy."""
    journal = open_record(arguments, write=False)
    try:
        counts = journal.copy_to(arguments.file)
    finally:
        journal.close()
    if arguments.format == "json":
        print(json.dumps({"file": str(arguments.file), "jobs": counts}, indent=2))
    else:
        jobs = "1 job" if len(counts) == 1 else f"{len(counts)} jobs"
        print(f"{arguments.file}: {jobs}, {sum(counts.values())} entries, copied and checked.")
    return 0


def run_salvage(arguments: argparse.Namespace) -> int:
    """Tell what can be read of a record, and write it to a new one; 1 when anything is missing."""
    source = arguments.source or home_of(arguments) / RECORD
    saved = examine(source)
    if arguments.file is not None:
        save(saved, arguments.file, wall_clock().now())
    if arguments.format == "json":
        print(json.dumps(_as_json(source, arguments.file, saved), indent=2))
    else:
        _tell(source, arguments.file, saved)
    return 0 if all(job.whole for job in saved) else 1


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
