"""One trial: somebody works, something fails, the job is opened again; and what had become of it."""

from __future__ import annotations

import contextlib
import json
import os
import resource
import select
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from typing import Any

from journal_disk import PHASES, Disk
from journal_facts import AT
from journal_worker import JOB, Work, prepared, shelf_of, work
from make_samples import SAMPLES, build

from firststart.bench.desk import resume_job
from firststart.clock import SimulatedClock
from firststart.errors import FirststartError, RecordError, UnknownName
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.sqlite import SqliteJournal
from firststart.journal.wire import row_of

START = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
PATIENCE_S = 20.0
TURNS = 24
ROOM = 400_000  # bytes of the small file system


@dataclass
class Outcome:
    """What one trial showed. All but `reached` should be nothing."""

    lost: int = 0  # acknowledged entries that are not there, or differ
    doubled: int = 0  # entries that nobody gave, or that are there twice
    shortened: int = 0  # rests shorter than the starter owed
    damaged: int = 0  # a record that fails its check or does not take another entry
    hung: int = 0
    untold: int = 0  # a failure without a clear sentence, or a step that moved on unrecorded
    acknowledged: int = 0
    failures: int = 0  # sentences told to the person
    reached: bool = True  # did the fault happen before the work was over?


@dataclass
class Told:
    """What the worker said on its pipe before it died."""

    rows: dict[int, list[Any]] = field(default_factory=dict)
    about: dict[int, list[Any]] = field(default_factory=dict)
    last: dict[str, Any] = field(default_factory=dict)
    log_end: int = 0
    ended: bool = False
    writes: int = 0
    failed: list[str] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)

    def take(self, said: dict[str, Any]) -> None:
        if "about" in said:
            after, rows = said["about"]
            self.about = dict(enumerate(rows, after + 1))
        elif "done" in said:
            self.rows.update(self.about)
            self.about, self.log_end = {}, said["log"]
        elif "now" in said:
            self.last = said
        elif "failed" in said:
            self.failed.append(said["failed"])
        elif "broken" in said:
            self.broken.append(said["broken"])
        elif said.get("end"):
            self.ended, self.writes = True, said["writes"]


@dataclass(frozen=True)
class Kind:
    """A kind of fault: on what record, on what disk, when the worker is killed, and what is done to the files then."""

    name: str
    record: str = "empty"  # empty, cranking, old
    disk: Callable[[Random, int], Disk | None] = lambda _r, _writes: None
    kill: bool = True  # at a random moment; else it dies by itself or works to the end
    after: Callable[[Random, Path, Told], None] = lambda _r, _path, _told: None
    small: str = ""  # "limit" a limit on the size of files, "system" a small file system
    mend: bool = False
    reader: bool = False


def _dies(phase: str) -> Callable[[Random, int], Disk]:
    return lambda r, writes: Disk(die_at=r.randrange(writes), phase=phase)


def _dies_anyhow(r: Random, writes: int) -> Disk:
    return Disk(die_at=r.randrange(writes), phase=r.choice(PHASES))


def _power(r: Random, writes: int) -> Disk:
    return Disk(die_at=r.randrange(writes), phase=r.choice(PHASES), power=Random(r.random()))


def _no_lock_file(_r: Random, path: Path, _told: Told) -> None:
    """What lay in memory alone is gone with the power."""
    path.with_name(path.name + "-shm").unlink(missing_ok=True)


def _tear(r: Random, path: Path, told: Told) -> None:
    """What the log holds beyond the last acknowledged entry is cut, garbled, or followed by garbage."""
    log = path.with_name(path.name + "-wal")
    if not log.is_file():
        return
    data = log.read_bytes()
    kept, rest = data[: told.log_end], data[told.log_end :]
    way = r.choice(("cut", "garbled", "longer"))
    if way == "cut":
        rest = rest[: r.randrange(len(rest) + 1)]
    elif way == "garbled":
        rest = bytes(b if r.random() < 0.9 else r.randrange(256) for b in rest)
    else:
        rest = rest + r.randbytes(r.randrange(1, 9000))
    log.write_bytes(kept + rest)
    _no_lock_file(r, path, told)


KINDS = (
    Kind("killed at a random moment", "cranking"),
    Kind("killed at a random moment, new record"),
    Kind("killed before a write", "cranking", _dies("before"), kill=False),
    Kind("killed in the middle of a write", "cranking", _dies("half"), kill=False),
    Kind("killed after a write", "cranking", _dies("after"), kill=False),
    Kind("killed at a write, new record", "empty", _dies_anyhow, kill=False),
    Kind("killed while an old record is brought up", "old", lambda r, _w: _dies_anyhow(r, 40), kill=False),
    Kind("power lost at a write", "cranking", _power, kill=False, after=_no_lock_file),
    Kind("power lost at a write, new record", "empty", _power, kill=False, after=_no_lock_file),
    Kind("torn last page", "cranking", lambda _r, _w: Disk(), after=_tear),
    Kind("disk full, then mended", "cranking", lambda r, _w: Disk(room=r.randrange(200_000)), mend=True),
    Kind("disk full, new record", "empty", lambda r, _w: Disk(room=r.randrange(200_000))),
    Kind("disk fails once", "cranking", lambda r, w: Disk(fail_at=r.randrange(w))),
    Kind("file size limited", "cranking", small="limit"),
    Kind("small file system full", "cranking", small="system"),
    Kind("killed while another bench reads", "cranking", reader=True),
)  # fmt: skip


@dataclass
class Harness:
    """What all trials share: the rules, the records they begin with, and how many writes the work makes on each."""

    rules: Rules
    folder: Path
    planted: str = ""  # a fault put into the tool itself, to see that the trials find it
    writes: dict[str, int] = field(default_factory=dict)
    rows: dict[str, dict[int, list[Any]]] = field(default_factory=dict)

    def make_ready(self) -> None:
        self._warm()
        for record in ("empty", "cranking", "old"):
            home = self.folder / record
            home.mkdir()
            if record == "cranking":
                prepared(self.rules, home / "record.db", START)
            elif record == "old":
                lines = (SAMPLES / "v1.sql").read_text(encoding="utf-8").splitlines()
                build("\n".join(line for line in lines if "'job-closed'" not in line), home / "record.db")
            self.rows[record] = _rows(home / "record.db") if record != "empty" else {}
            told = Told()
            with self._home(Kind("", record)) as path:
                self._run(Kind("", record, kill=False), path, Disk(), 1, Random(1), told)
            self.writes[record] = told.writes

    def _warm(self) -> None:
        """Work in this process first: what the rules work out once is then there in every process forked from it."""
        with open(os.devnull, "wb") as nothing:  # noqa: PTH123
            for name, seeds in (("empty", 3), ("cranking", 6)):
                for seed in range(seeds):
                    path = self.folder / f"warm-{name}-{seed}.db"
                    if name == "cranking":
                        prepared(self.rules, path, START)
                    work(self.rules, Work(path, seed, TURNS, START), nothing.fileno(), None)

    @contextlib.contextmanager
    def _home(self, kind: Kind) -> Iterator[Path]:
        """A copy of the record to begin with, on the file system wanted; gone afterwards."""
        home = Path(tempfile.mkdtemp(dir=self.folder))
        if kind.small == "system":
            subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={ROOM}", "tmpfs", str(home)], check=True)
        try:
            shutil.copytree(self.folder / kind.record, home, dirs_exist_ok=True)
            yield home / "record.db"
        finally:
            if kind.small == "system":
                subprocess.run(["umount", str(home)], check=True)
            shutil.rmtree(home, ignore_errors=True)

    def trial(self, kind: Kind, seed: int) -> Outcome:
        """Work, fail, open again."""
        r = Random(f"{kind.name} {seed}")
        told = Told(rows=dict(self.rows[kind.record]))
        with self._home(kind) as path:
            disk = kind.disk(r, max(self.writes[kind.record], 1))
            hung = not self._run(kind, path, disk, seed, r, told)
            if kind.small == "system":  # the person makes room
                subprocess.run(["mount", "-o", f"remount,size={10 * ROOM}", str(path.parent)], check=True)
            kind.after(r, path, told)
            outcome = self._opened_again(path, told)
            outcome.hung += hung
            outcome.reached = not told.ended
            outcome.acknowledged = len(told.rows) - len(self.rows[kind.record])
            outcome.failures = len(told.failed)
            outcome.untold += len(told.broken) + sum(not _is_a_sentence(line) for line in told.failed)
            return outcome

    def _run(self, kind: Kind, path: Path, disk: Disk | None, seed: int, r: Random, told: Told) -> bool:
        """Let the worker work until it ends, dies or is killed; False when it hung."""
        source, sink = os.pipe()
        task = Work(path, seed, TURNS, _start(kind.record), r.randrange(1, 8) if kind.mend else None)
        worker = _forked(lambda: self._worker(kind, task, sink, disk, source))
        reader = _forked(lambda: _reads_on(path, sink)) if kind.reader else None
        os.close(sink)
        lines = r.randrange(90) if kind.kill else None
        finished = _listen(source, worker, lines, r, told)
        os.close(source)
        _end(worker)
        blocked = reader is not None and _end(reader) == 1
        return finished and not blocked

    def _worker(self, kind: Kind, task: Work, sink: int, disk: Disk | None, source: int) -> None:
        os.close(source)
        if disk is not None:
            disk.put_under_sqlite()
        if self.planted:
            _plant(self.planted)
        if kind.small == "limit":
            size = Random(task.seed).randrange(60_000, 400_000)
            resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
        work(self.rules, task, sink, disk)

    def _opened_again(self, path: Path, told: Told) -> Outcome:
        """What another process finds; one that does not come back in time has hung."""
        source, sink = os.pipe()

        def look() -> None:
            os.write(sink, json.dumps(vars(_look(self.rules, path, told))).encode())

        process = _forked(look)
        os.close(sink)
        ready, _, _ = select.select([source], [], [], PATIENCE_S)
        data = os.read(source, 65536) if ready else b""
        os.close(source)
        _end(process)
        if not ready:
            return Outcome(hung=1)
        return Outcome(**json.loads(data)) if data else Outcome(damaged=1)


def _start(record: str) -> datetime:
    return max(START, AT) if record == "old" else START


def _forked(do: Callable[[], None]) -> int:
    """A process of its own that does one thing and is gone."""
    process = os.fork()
    if process:
        return process
    status = 1
    try:
        do()
        status = 0
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        os._exit(status)


def _end(process: int) -> int:
    """Kill it when it still runs; how it had ended by itself, or minus the signal."""
    with contextlib.suppress(ProcessLookupError):
        os.kill(process, signal.SIGKILL)
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])


def can_mount(folder: Path) -> bool:
    """May this user mount a small file system?"""
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=4096", "tmpfs", str(folder)], capture_output=True, check=False
    )
    if done.returncode == 0:
        subprocess.run(["umount", str(folder)], check=True)
    return done.returncode == 0


def _listen(source: int, worker: int, lines: int | None, r: Random, told: Told) -> bool:
    """Take what the worker says; kill it a moment after so many lines. False when it fell silent and did not end."""
    rest, count = b"", 0
    while True:
        ready, _, _ = select.select([source], [], [], PATIENCE_S)
        if not ready:
            return False
        data = os.read(source, 65536)
        if not data:
            return True
        *whole, rest = (rest + data).split(b"\n")
        for line in whole:
            told.take(json.loads(line))
        count += len(whole)
        if lines is not None and count >= lines:
            time.sleep(r.random() * 0.004)
            with contextlib.suppress(ProcessLookupError):
                os.kill(worker, signal.SIGKILL)
            lines = None


def _rows(path: Path) -> dict[int, list[Any]]:
    journal = SqliteJournal(path, write=False)
    try:
        return {n: list(row_of(fact)) for n, fact in enumerate(journal.read(JOB), 1)}
    finally:
        journal.close()


def _reads_on(path: Path, sink: int) -> None:
    """Another bench that reads all the time, and is never blocked."""
    os.close(sink)
    while True:
        journal = SqliteJournal(path, write=False)
        began = time.monotonic()
        journal.read(JOB)
        if time.monotonic() - began > 1.0:
            raise AssertionError("the reader was blocked")
        journal.close()


def _look(rules: Rules, path: Path, told: Told) -> Outcome:
    """Open the record as a bench does; hold it against what was acknowledged."""
    outcome = Outcome()
    try:
        journal = SqliteJournal(path)
        journal.check()
    except FirststartError:
        outcome.damaged += 1
        return outcome
    try:
        found = {n: list(row_of(fact)) for n, fact in enumerate(journal.read(JOB), 1)}
    except UnknownName:
        found = {}
    outcome.lost = sum(found.get(n) != row for n, row in told.rows.items())
    extra = {n: row for n, row in found.items() if n not in told.rows}
    outcome.doubled = 0 if extra in ({}, told.about) else len(extra)
    if found:
        _rest_stands(rules, journal, told, outcome)
    journal.close()
    return outcome


def _rest_stands(rules: Rules, journal: SqliteJournal, told: Told, outcome: Outcome) -> None:
    """The job goes on, and the starter owes at least what it owed."""
    facts = journal.read(JOB)
    said = datetime.fromisoformat(told.last["now"]) if told.last else facts[-1].at
    moment = max(said, facts[-1].at)  # the power is back at once
    desk = resume_job(rules, journal, SimulatedClock(moment), JOB, shelf_of(journal.path))
    outcome.damaged += desk.situation != resume_job(rules, journal, SimulatedClock(moment), JOB).situation
    open_crank = desk.situation.open_crank
    try:
        desk.submit(i.Resume())
        owes = rules.permit(desk.situation, desk.now).wait_s
        wanted = told.last.get("owed", 0.0) - (moment - said).total_seconds()
        outcome.shortened += owes < wanted - 1e-6
        if open_crank is not None:  # killed while the starter turned: it counts to its limit at least, and must rest
            outcome.shortened += owes <= 0 or desk.situation.cranks[-1].seconds < open_crank.limit_s
        desk.submit(i.Note("taken up again"))
    except RecordError:
        outcome.damaged += 1


def _is_a_sentence(line: str) -> bool:
    return line.startswith("The ") and line.endswith(".") and "record" in line


def _plant(fault: str) -> None:
    """A fault of the tool itself, to see that a trial finds it."""
    opened = SqliteJournal._bring_up

    def careless(journal: SqliteJournal) -> None:
        opened(journal)
        journal._db.execute("PRAGMA synchronous = OFF")

    appended = SqliteJournal.append

    def hasty(journal: SqliteJournal, job: str, after: int, facts: Sequence[Any]) -> int:
        return after + len(facts) if after > 8 else appended(journal, job, after, facts)

    if fault == "no sync":
        SqliteJournal._bring_up = careless  # type: ignore[method-assign]
    else:
        SqliteJournal.append = hasty  # type: ignore[method-assign]
