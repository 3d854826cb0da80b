"""`firststart note`: words, a photo or a sound kept with a job, also while a bench is open."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from firststart.bench.desk import resume_job
from firststart.bench.keeping import kept_text
from firststart.cli.common import job_meant, job_shelf, load_rules, open_record, wall_clock
from firststart.cli.noting import open_keeper
from firststart.errors import InputError
from firststart.job import inputs as i


def run_note(arguments: argparse.Namespace) -> int:
    """Keep what is named; each thing is said as it is kept."""
    text = " ".join(arguments.text).strip()
    if not (text or arguments.photo or arguments.sound):
        raise InputError("Say what to keep: firststart note 'the left tank leaks' --photo tank.jpg")
    open_record(arguments, write=False).close()  # a note makes no new record
    journal = open_record(arguments, write=True)
    try:
        job = job_meant(journal, arguments.job)
        desk = resume_job(load_rules(arguments), journal, wall_clock(), job, job_shelf(arguments))
        if desk.situation.open_crank is not None:
            raise InputError(f"By the record of {job} the starter turns; answer at the bench first.")
        if not desk.situation.closed:
            desk.submit(i.Resume())  # the hours since the newest entry are asked about at the bench, as ever
        for given, said in _inputs(arguments, text):
            desk.submit(given)
            print(f"{job}: {said}")
    finally:
        journal.close()
    return 0


def _inputs(arguments: argparse.Namespace, text: str) -> Iterator[tuple[i.Input, str]]:
    """Photos, then sounds; the words go with the first of them, or stand alone."""
    keeper = open_keeper(arguments)
    for take, paths in ((keeper.photo, arguments.photo), (keeper.sound, arguments.sound)):
        for path in paths or ():
            given = take(path, text)
            text = ""
            yield given, kept_text(given.attachment)
    if text:
        yield i.Note(text), "Noted."
