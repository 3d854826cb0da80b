"""What can be read of a damaged record, in a new one; and exactly what cannot.

Every entry keeps its number: where one is lost, a note stands that says so. A job that has lost entries may have
lost a crank or the undoing of a hold point among them, so it is closed in a way that is safe whatever they were:
its hold points hold no longer, work under way is left, and the starter is taken as having been cranked for long.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from firststart.errors import RecordError, RecordReadOnly, UnknownName
from firststart.job import facts as f
from firststart.job.fold import fold
from firststart.job.situation import Situation
from firststart.journal import place
from firststart.journal.carve import Found, carve
from firststart.journal.sqlite import SqliteJournal
from firststart.journal.wire import fact_of

TAKEN_S = 60.0  # a longer crank than any duty class allows: what may have been cranked in lost entries
MOST_BYTES = 1 << 30  # of a record: a million entries and more; all of it is held while it is searched
_AFAR = 400  # an entry in the index that far beyond all others is a damaged one (a page holds about a hundred)


@dataclass(frozen=True)
class Lost:
    """One entry that cannot be read, and why."""

    number: int
    why: str = "it is on no page that can be read"


@dataclass(frozen=True)
class SavedJob:
    """One job of a damaged record.

    `certain`: nothing beyond the last entry named here can have been lost.
    """

    job: str
    engine: str
    entries: int  # how many there were, as far as can be told
    facts: dict[int, f.Fact]
    lost: tuple[Lost, ...]
    certain: bool

    @property
    def whole(self) -> bool:
        """Was every entry read?"""
        return self.certain and not self.lost


def examine(path: Path) -> tuple[SavedJob, ...]:
    """Every job in the file, by name. The file is only read; no connection to it may be open in this process.

    Raises UnknownName, RecordReadOnly, RecordError.
    """
    if path.exists() and not path.is_file():
        raise RecordReadOnly(f"{path} is no file; name the damaged record.")
    try:
        if path.stat().st_size > MOST_BYTES:
            raise RecordError(f"The file {path} has more than {MOST_BYTES >> 30} GB; no record is so large.")
        data = path.read_bytes()
        log = place.log_of(path).read_bytes() if place.log_of(path).is_file() else b""
    except FileNotFoundError:
        raise UnknownName(f"There is no file {path}; name the damaged record.") from None
    except OSError as error:
        if isinstance(error, RecordError):
            raise
        raise RecordReadOnly(f"The record {path} cannot be read ({error.strerror}).") from error
    found = carve(data, log)
    names = sorted({job for job, _ in found.rows} | set(_known(found)))
    return tuple(_job(name, found) for name in names)


def _known(found: Found) -> Iterable[str]:
    """Jobs of which no entry is left but its name: in the table of jobs and in the index."""
    indexed = {job for job, _ in found.entries}
    return (job for job in found.engines if job in indexed)


def _job(name: str, found: Found) -> SavedJob:
    facts: dict[int, f.Fact] = {}
    why: dict[int, str] = {}
    for (job, number), row in found.rows.items():
        if job != name:
            continue
        try:
            facts[number] = fact_of(name, number, *row[3:])
        except RecordError as error:
            why[number] = str(error)
    indexed = _indexed(name, found)
    entries = _count({*facts, *why}, indexed)
    lost = tuple(Lost(n, why[n]) if n in why else Lost(n) for n in range(1, entries + 1) if n not in facts)
    certain = found.sealed and not found.torn and entries in indexed
    opened = facts.get(1)
    engine = opened.engine if isinstance(opened, f.JobOpened) else found.engines.get(name, name)
    return SavedJob(name, engine, entries, dict(sorted(facts.items())), lost, certain)


def _indexed(name: str, found: Found) -> set[int]:
    """The job's entries in the index; one whose seal belongs to another entry is a damaged key."""
    owner = {sealed: key for key, sealed in found.entries.items() if key in found.rows}
    return {n for (job, n), sealed in found.entries.items() if job == name and owner.get(sealed, (job, n)) == (job, n)}


def _count(read: set[int], indexed: set[int]) -> int:
    """How many entries there were: the last that is read, or told by the index without a leap."""
    last = max(read, default=0)
    for number in sorted(n for n in indexed if n > last):
        if number - last > _AFAR:
            break
        last = number
    return last


def save(jobs: Sequence[SavedJob], target: Path, now: datetime) -> dict[str, int]:
    """A new record with all that was read, checked. Raises RecordError: `target` is there, or cannot be made."""
    place.make_new(target)
    try:
        journal = SqliteJournal(target)
        try:
            for job in jobs:
                if job.entries:
                    journal.append(job.job, 0, rebuilt(job, now))
            return journal.check()
        finally:
            journal.close()
    except BaseException:
        place.remove(target)
        raise


def rebuilt(job: SavedJob, now: datetime) -> tuple[f.Fact, ...]:
    """The job's facts under their old numbers, notes in place of the lost ones, and a safe close when any is lost."""
    facts: list[f.Fact] = []
    situation = Situation()
    at = min((fact.at for fact in job.facts.values()), default=now)
    for number in range(1, job.entries + 1):
        fact = job.facts.get(number) or _stand_in(job, number, at)
        situation, fact = _folded(situation, fact, number)
        facts.append(fact)
        at = fact.at
    if job.whole:
        return tuple(facts)
    return (*facts, *_safe_close(job, situation, at, now))


def _stand_in(job: SavedJob, number: int, at: datetime) -> f.Fact:
    if number == 1:
        return f.JobOpened(at=at, job=job.job, engine=job.engine, tool="salvage")
    return f.NoteAdded(at=at, text=f"Entry {number} was lost from a damaged record.")


def _folded(situation: Situation, fact: f.Fact, number: int) -> tuple[Situation, f.Fact]:
    """A fact that rests on a lost one is kept as a note of what it said."""
    try:
        return fold(situation, fact), fact
    except (LookupError, ValueError, StopIteration, TypeError):
        told = f"Entry {number} rests on a lost one. It said: {f.to_json(fact)}"
        note = f.NoteAdded(at=fact.at, text=told[:4000])
        return fold(situation, note), note


def _safe_close(job: SavedJob, situation: Situation, last: datetime, now: datetime) -> Iterable[f.Fact]:
    because = "entries of the record were lost"
    at = max(now, last)
    if situation.open_crank is not None:
        yield f.CrankEnded(at=at, run=situation.open_crank.run, seconds=situation.open_crank.limit_s, sure=False)
    for run in reversed(situation.runs):
        yield f.RunEnded(
            at=at, run=run.run, procedure=run.procedure, result="left", outcome="left", say=f"Left, since {because}."
        )
    for name, hold in situation.holds.items():
        if not hold.undone:
            yield f.HoldUndone(at=at, hold=name, because=because)
    yield from _staled(job, situation, at, because)
    yield f.CrankTold(at=at, seconds=TAKEN_S, ago_s=_ago(job, situation, at))
    yield f.NoteAdded(
        at=at, text=f"{summary(job)} Its entries may have told of cranking: {TAKEN_S:g} seconds are taken."
    )


def _staled(job: SavedJob, situation: Situation, at: datetime, because: str) -> Iterable[f.Fact]:
    """What was observed before the last loss, and not again after it: a repair may be among the lost."""
    until = max((lost.number for lost in job.lost), default=0) if job.certain else job.entries + 1
    newest = {seen.name: seen.number for seen in situation.observed if not seen.stale}
    for name, number in newest.items():
        if number < until:
            yield f.EvidenceStaled(at=at, observe=name, because=because)


def _ago(job: SavedJob, situation: Situation, at: datetime) -> float:
    """How long ago the lost entries can have been written at the latest, by the job's own time."""
    if not job.certain:
        return 0.0
    last = max(lost.number for lost in job.lost)
    after = [fact.at for number, fact in job.facts.items() if number > last]
    if not after or situation.shift_s or any(isinstance(fact, f.ClockSet) for fact in job.facts.values()):
        return 0.0  # nothing is known of the time since, or the clock was set
    return max((at - min(after)).total_seconds(), 0.0)


def summary(job: SavedJob) -> str:
    """One sentence: what of the job was read, and exactly what is missing."""
    if not job.entries:
        return f"{job.job}: nothing of it can be read."
    end = "" if job.certain else f" Entries after {job.entries} may be missing too."
    if not job.lost:
        return f"{job.job}: all {job.entries} entries were read.{end}"
    read = job.entries - len(job.lost)
    word = "entry" if len(job.lost) == 1 else "entries"
    return f"{job.job}: {read} of {job.entries} entries were read; lost: {word} {_ranges(job.lost)}.{end}"


def _ranges(lost: Sequence[Lost]) -> str:
    """4, 7 to 9, 12."""
    groups: list[list[int]] = []
    for one in lost:
        if groups and one.number == groups[-1][1] + 1:
            groups[-1][1] = one.number
        else:
            groups.append([one.number, one.number])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in groups)
