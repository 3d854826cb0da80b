"""`firststart jobs --export` and `--import`: a job as one file, and back into a record."""

from __future__ import annotations

import argparse
import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from firststart.bench.desk import LONGEST_NAME
from firststart.bench.sharing import same_engine
from firststart.cli.common import job_meant, job_shelf, load_rules, open_record, wall_clock
from firststart.cli.noting import drawer_of
from firststart.cli.reports import file_name, page_and_export
from firststart.errors import InputError, RecordReadOnly, UnknownName
from firststart.job import facts as f
from firststart.job.attachment import Attachment
from firststart.journal import place
from firststart.journal.drawer import attachments, read_file
from firststart.report.archive import MOST_BYTES, from_archive, to_archive
from firststart.report.jsonform import from_json

_ZIP = b"PK"


def run_export(arguments: argparse.Namespace) -> int:
    """Write the archive of a job, read it back, and say what is in it."""
    from firststart.bench.desk import resume_job

    journal = open_record(arguments, write=False)
    try:
        rules = load_rules(arguments)
        job = job_meant(journal, arguments.export or None)
        desk = resume_job(rules, journal, wall_clock(), job, job_shelf(arguments))
        facts = journal.read(job)
        drawer = drawer_of(arguments)
        page, export = page_and_export(rules, journal, desk, drawer.get)
        data = to_archive(export, page, facts, drawer.get)
    finally:
        journal.close()
    back = from_archive(data)
    if back.facts != facts:
        raise InputError(f"The archive of {job} does not read back equal; nothing was written.")
    target = arguments.output or Path(f"{file_name(job)}.zip")
    _write(target, data)
    _tell(arguments, {"file": str(target)}, job, facts, back.missing, f"{target}: {job}, ", " and checked.")
    return 0


def run_import(arguments: argparse.Namespace) -> int:
    """Take a job from an archive or an export into the record; nothing that is in it already is touched."""
    data = read_file(arguments.bring, MOST_BYTES)
    now = wall_clock().now()
    kept: Mapping[Attachment, bytes] = {}
    if data[:2] == _ZIP:
        unpacked = from_archive(data, now)
        facts, kept = unpacked.facts, unpacked.kept
    else:
        facts = from_json(data, now)
    journal = open_record(arguments, write=True)
    try:
        opened = _opened(facts, arguments.as_name)
        known = {line.job for line in journal.jobs()}
        if opened.job in known:
            same = "the same, entry for entry" if journal.read(opened.job) == facts else "with other entries"
            raise InputError(
                f"There is a job called {opened.job!r} already, {same}; nothing was taken, "
                "and --as NAME keeps this one beside it under another name."
            )
        opened = opened.model_copy(update={"engine": same_engine(journal, opened.engine)})
        drawer = drawer_of(arguments)
        for attachment, body in kept.items():
            drawer.put(attachment, body)
        facts = (opened, *facts[1:])
        journal.append(opened.job, 0, facts)
    finally:
        journal.close()
    missing = tuple(a for a in attachments(facts) if a not in kept)
    more = f" taken in. Carry on with: firststart --job '{opened.job}'"
    _tell(arguments, {"file": str(arguments.bring)}, opened.job, facts, missing, f"{opened.job}: ", more)
    return 0


def _opened(facts: Sequence[f.Fact], name: str | None) -> f.JobOpened:
    """The opening of the job, under another name when one is given. Raises InputError: no name to work with."""
    first = facts[0]
    assert isinstance(first, f.JobOpened)  # from_json looked
    opened = first if name is None else first.model_copy(update={"job": name.strip()})
    for what, text in (("job", opened.job), ("engine", opened.engine)):
        if not text.strip() or len(text) > LONGEST_NAME or not text.isprintable():
            anew = "; name it anew with --as NAME" if what == "job" else ""
            raise InputError(f"The {what}'s name must have 1 to {LONGEST_NAME} letters that can be shown{anew}.")
    return opened


def _write(target: Path, data: bytes) -> None:
    """A new file for the user alone; nothing is overwritten. Raises RecordError."""
    if not target.absolute().parent.is_dir():
        raise UnknownName(f"There is no folder {target.absolute().parent}; name another place.")
    place.make_new(target)
    try:
        target.write_bytes(data)
        place.keep(target)
    except OSError as error:
        place.remove(target)
        raise RecordReadOnly(f"The file {target} cannot be written ({error.strerror}); name another place.") from error


def _tell(
    arguments: argparse.Namespace, head: dict[str, object], job: str, facts: Sequence[f.Fact],
    missing: Sequence[Attachment], before: str, after: str,
) -> None:  # fmt: skip
    there = [a for a in attachments(facts) if a not in missing]
    photos, sounds = (sum(a.sort == sort for a in there) for sort in ("photo", "sound"))
    if arguments.format == "json":
        told = {"job": job, "entries": len(facts), "photos": photos, "sounds": sounds}
        print(json.dumps({**head, **told, "missing": [a.file for a in missing]}, indent=2))
        return
    parts = [f"{len(facts)} entries", *(_count(n, w) for n, w in ((photos, "photo"), (sounds, "sound")) if n)]
    print(f"{before}{', '.join(parts)}{after}")
    if missing:
        names = ", ".join(a.called() for a in missing[:6])
        print(f"Not there any more, and so not in it: {names}{' and others' if len(missing) > 6 else ''}.")


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
