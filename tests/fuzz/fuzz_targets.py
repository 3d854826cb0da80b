"""Everything that a person or a file can feed in, each as a function of bytes that say what is changed in a sample."""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import math
import struct
import wave
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any

import fuzz_kept
import numpy
from fuzz_guard import FOLDER
from fuzz_mutate import Bytes, changed_bytes, changed_json, changed_text
from PIL import Image

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import open_job, resume_job
from firststart.bench.keeping import Keeper
from firststart.bench.shop import make_rules
from firststart.bench.verify import find_problems
from firststart.cli.reckon import run_reckon
from firststart.clock import SimulatedClock
from firststart.devices.cranking_sound import cranking_in_file
from firststart.diagnosis.book import Book
from firststart.engine.profile import EngineProfile
from firststart.errors import DataError, FirststartError, Problem
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.journal.drawer import MemoryDrawer, check
from firststart.journal.memory import MemoryJournal
from firststart.journal.photo import kept_photo
from firststart.journal.salvage import examine, rebuilt
from firststart.journal.sqlite import SqliteJournal
from firststart.journal.wire import fact_of
from firststart.physics.subjects import SUBJECTS
from firststart.procedure import catalogue
from firststart.procedure.catalogue import data_folder, load_library
from firststart.procedure.matrix import read_sorts
from firststart.procedure.merge import merge_safety, own_problems, safety_problems
from firststart.procedure.model import Procedure
from firststart.procedure.reader import Document, read
from firststart.procedure.validate import model_of
from firststart.prompt.numbers import hear_number
from firststart.prompt.spoken import spoken
from firststart.prompt.told import told_crank
from firststart.rehearsal.kit import Kit, load_kit
from firststart.rehearsal.scenario import read_scenario
from firststart.report.archive import from_archive, to_archive
from firststart.report.build import build_report
from firststart.report.jsonform import from_json, to_json
from firststart.starter.duty import DutyClasses
from firststart.units import KINDS, parse, registry

SHIPPED, SCENARIOS = data_folder("procedures"), data_folder("scenarios")
SMALL = 3000  # letters of a procedure up to which it is also proven


@dataclass(frozen=True)
class Target:
    """One way in."""

    name: str
    do: Callable[[bytes], None]


@cache
def rules() -> Rules:
    return make_rules(load_library(SHIPPED))


@cache
def kit() -> Kit:
    return load_kit(SCENARIOS)


@cache
def texts(pattern: str, folder: Path = SHIPPED) -> tuple[str, ...]:
    return tuple(path.read_text(encoding="utf-8") for path in sorted(folder.glob(pattern)))


def _document(data: bytes, pattern: str, folder: Path = SHIPPED) -> Document:
    return read(changed_text(Bytes(data), texts(pattern, folder)), "input.yaml")


def procedure(data: bytes) -> None:
    """A user's own procedure, read, checked, compiled, proven; and led through a little when nothing is wrong."""
    text = changed_text(Bytes(data), texts("work/*.yaml"))
    document = read(text, "input.yaml")
    problems: list[Problem] = []
    library = rules().library
    model = model_of(Procedure, document, (), document.data, problems)
    if model is None or problems:
        raise DataError(problems)
    own_problems(model, model.id, document, library.procedures, library.safety)
    if len(text) > SMALL or len(model.steps) > 8:
        return
    documents = {**library.documents, model.id: document}
    digests = {**library.digests, model.id: "0"}
    changed = replace(library, procedures={**library.procedures, model.id: model}, documents=documents, digests=digests)
    found, _proof = find_problems(changed, only={model.id})
    if not found:
        _lead(Rules(changed), model.id)


def _lead(made: Rules, name: str) -> None:
    """A job in which that piece of work is begun and answered."""
    clock = SimulatedClock()
    desk = open_job(made, MemoryJournal(), clock, i.Open("fuzz", "fuzz", "test", "shed"))
    conductor = Conductor(desk, Adviser(made, None))
    with contextlib.suppress(FirststartError):
        desk.submit(i.Begin(name))
    for words in ("yes", "12", "next step", "why", "stop"):
        clock.sleep(2)
        conductor.hear(words)


def hazards(data: bytes) -> None:
    """A user's own hazards over those that ship."""
    problems: list[Problem] = []
    document = _document(data, "hazards.yaml")
    safety = merge_safety(rules().library.safety, document, problems)
    problems += safety_problems(safety, document)
    if problems:
        raise DataError(problems)


def book(data: bytes) -> None:
    """The book of suspects and checks."""
    document = _document(data, "no-start.yaml")
    Book.from_data(document.data, document.line, document.file)


def scenario(data: bytes) -> None:
    """A scenario file."""
    read_scenario(changed_text(Bytes(data), texts("*.yaml", SCENARIOS)), "input.yaml", kit().conditions)


def _reading(data: bytes, pattern: str, name: str) -> tuple[catalogue._Reading, Path]:
    path = FOLDER / name
    path.write_text(changed_text(Bytes(data), texts(pattern)), encoding="utf-8", errors="surrogatepass")
    return catalogue._Reading(FOLDER), path


def engines(data: bytes) -> None:
    """The defaults of a kind of engine; what was found in order must be usable."""
    reading, path = _reading(data, "engines/*.yaml", "car.yaml")
    made = catalogue._load_engines(reading, [path])
    if reading.problems:
        raise DataError(reading.problems)
    library = replace(rules().library, engines={**rules().library.engines, **made})
    Rules(library).profile(EngineProfile().with_word("kind", "car"))


def limits(data: bytes) -> None:
    """The limits of judgement."""
    reading, path = _reading(data, "limits/*.yaml", "limits.yaml")
    catalogue._load_limits(reading, [path])
    if reading.problems:
        raise DataError(reading.problems)


def starters(data: bytes) -> None:
    """Duty classes, stages and sorts."""
    document = _document(data, "starters.yaml")
    DutyClasses.from_data(document.data, document.file)


def stages(data: bytes) -> None:
    """The order of the work, and the sorts of engine."""
    reading, path = _reading(data, "stages.yaml", "stages.yaml")
    catalogue._load_stages(reading, path)
    read_sorts(_document(data, "sorts.yaml"))


@cache
def export() -> str:
    """A job as the tool exports it."""
    clock = SimulatedClock()
    journal = MemoryJournal()
    desk = open_job(rules(), journal, clock, i.Open("fuzz", "twin", "test", "shed"))
    conductor = Conductor(desk, Adviser(rules(), None))
    for words in ("something else", "1", "open air", "done", "note hello", "stop", "yes"):
        clock.sleep(4)
        conductor.hear(words)
    desk.submit(i.TellCrank(2, 5.0))
    facts = journal.read("fuzz")
    return to_json(build_report(facts, rules(), clock.now()), facts)


def imported(data: bytes) -> None:
    """A job from a JSON file; what is taken must open, and be led on."""
    clock = SimulatedClock()
    facts = from_json(changed_json(Bytes(data), export()), clock.now() + timedelta(days=400))
    _take_up(facts, clock)


@cache
def _photos() -> tuple[bytes, ...]:
    """Photos of each form that is read, with what a camera writes beside the picture."""
    exif = Image.Exif()
    exif[0x010F] = "Invented"
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 12.5)})
    made = []
    for form in ("JPEG", "PNG", "WEBP"):
        out = io.BytesIO()
        Image.new("RGB", (40, 30), "white").save(out, form, exif=exif)
        made.append(out.getvalue())
    return tuple(made)


def photographed(data: bytes) -> None:
    """A photo from anywhere; what is taken must pass the check that an archive's photos pass."""
    source = Bytes(data)
    attachment, body = kept_photo(changed_bytes(source, source.pick(_photos())))
    check(attachment, body)


@cache
def _archive() -> tuple[str, MemoryDrawer, bytes]:
    """A job with a photo and a sound, its export and its archive."""
    drawer = MemoryDrawer()
    keeper = Keeper(drawer, lambda body: (body, 16000), FOLDER)
    clock, journal = SimulatedClock(), MemoryJournal()
    desk = open_job(rules(), journal, clock, i.Open("fuzz", "twin", "test", "shed"))
    desk.submit(keeper.recording(b"\1\0" * 8000, 16000, "a hum"))
    attachment, body = kept_photo(_photos()[0])
    drawer.put(attachment, body)
    desk.submit(i.Keep(attachment, "a plug"))
    facts = journal.read("fuzz")
    text = to_json(build_report(facts, rules(), clock.now()), facts)
    return text, drawer, to_archive(text, "page", facts, drawer.get)


def archived(data: bytes) -> None:
    """An archive with bytes changed, or one made anew round a changed export; what is taken must open."""
    source, clock = Bytes(data), SimulatedClock()
    text, drawer, whole = _archive()
    if source.below(2):
        whole = to_archive(changed_json(source, text), "page", from_json(text), drawer.get)
    else:
        whole = changed_bytes(source, whole)
    _take_up(from_archive(whole, clock.now() + timedelta(days=400)).facts, clock)


def _take_up(facts: tuple[f.Fact, ...], clock: SimulatedClock) -> None:
    fold_all(facts)
    journal = MemoryJournal()
    journal.append("taken", 0, facts)
    clock.set(max(fact.at for fact in facts))
    conductor = Conductor(resume_job(rules(), journal, clock, "taken"), Adviser(rules(), None))
    conductor.greet()
    for words in ("yes", "stop", "status"):
        conductor.hear(words)


def row(data: bytes) -> None:
    """One row of a record."""
    source = Bytes(data)
    entries = json.loads(export())["facts"]
    entry = source.pick(entries)
    kind = source.pick((entry["type"], "note-added", "", "x"))
    fact_of("job", source.below(9), kind, source.below(4) - 1, changed_json(source, json.dumps(entry)))


@cache
def record() -> tuple[bytes, bytes]:
    """A record with its log, as a killed bench leaves them."""
    path = FOLDER / "sample.db"
    journal = SqliteJournal(path)
    facts = from_json(export())
    for at in range(0, len(facts), 3):
        journal.append("fuzz", at, facts[at : at + 3])
    both = path.read_bytes(), path.with_name("sample.db-wal").read_bytes()
    journal.close()
    return both


def damaged(data: bytes) -> None:
    """A record with bytes changed: opened, listed, read, salvaged."""
    source = Bytes(data)
    path = FOLDER / "damaged.db"
    for name, content in zip(("damaged.db", "damaged.db-wal"), record(), strict=True):
        (FOLDER / name).write_bytes(changed_bytes(source, content))
    for saved in examine(path):
        rebuilt(saved, SimulatedClock().now())
    (FOLDER / "damaged.db-shm").unlink(missing_ok=True)
    journal = SqliteJournal(path, write=False)
    try:
        for line in journal.jobs():
            journal.read(line.job)
        list(journal.cranks_of_others("other", "twin"))
        journal.check()
    finally:
        journal.close()


def answers(data: bytes) -> None:
    """Words, typed or heard, at a real bench."""
    source = Bytes(data)
    clock = SimulatedClock()
    desk = open_job(rules(), MemoryJournal(), clock, i.Open("fuzz", "twin", "test", "shed"))
    conductor = Conductor(desk, Adviser(rules(), None))
    for _ in range(8):
        clock.sleep(1 + source.below(40))
        offered = conductor.prompt().expects.offered() or ("yes",)
        known = (*offered, "something else", "I cranked 3 times 5 seconds 2 minutes ago", "note ", "12.6 V", "stop")
        words = source.pick(known) if source.below(3) else ""
        conductor.hear(words + source.text(60), source.pick(("voice", "keys", "pedal")), sure=bool(source.below(3)))


def numbers(data: bytes) -> None:
    """A number with its unit, in figures or in words."""
    source = Bytes(data)
    kind = source.pick(tuple(KINDS))
    units = KINDS[kind].units
    text = source.pick(("", "12.6", "-5", "one one eight", "minus twelve point six", "9:1", "1e9")) + source.text(40)
    text += source.pick(("", *(unit.symbol for unit in units), *(unit.spoken for unit in units)))
    spoken(text)
    told_crank(f"i cranked {text}")
    for words in (text, _heard(text)):
        with contextlib.suppress(FirststartError):
            value = parse(words, kind, source.pick((None, units[0].symbol)))
            if not math.isfinite(value.si):
                raise AssertionError(f"{words!r} is not finite")
    parse(text, kind)


def _heard(text: str) -> str:
    try:
        return hear_number(text)
    except FirststartError:
        return ""


def reckoned(data: bytes) -> None:
    """A line of `reckon`."""
    source = Bytes(data)
    subject = source.pick(tuple(SUBJECTS.values()))
    values = []
    for given in subject.given:
        if source.below(8) == 0:
            continue
        middle = given.words[0] if given.words else f"{given.low + (given.high - given.low) * source.below(9) / 8:.6f}"
        value = source.pick((middle, middle, "0", "-1", "9" * 9, "1e5")) + ("" if given.words else given.unit)
        values.append(f"{given.name}={value}" if source.below(9) else source.text(20))
    told = argparse.Namespace(
        list=False, subject=subject.name, values=values, format=source.pick(("text", "json")), sound=None
    )
    with contextlib.redirect_stdout(io.StringIO()):
        run_reckon(told)


@cache
def sound() -> bytes:
    """Two seconds of something that beats, as a WAV file."""
    rate = 8000
    samples = (
        math.sin(n / 3) * 9000 * (1 + math.sin(n / rate * 2 * math.pi * 12)) * (rate // 4 < n < rate * 7 // 4)
        for n in range(2 * rate)
    )
    with io.BytesIO() as file:
        with wave.open(file, "wb") as out:
            out.setnchannels(1)
            out.setsampwidth(2)
            out.setframerate(rate)
            out.writeframes(b"".join(struct.pack("<h", int(s / 2)) for s in samples))
        return file.getvalue()


def heard_sound(data: bytes) -> None:
    """A recording of cranking, from anywhere."""
    source = Bytes(data)
    path = FOLDER / source.pick(("sound.wav", "sound.mp3", "sound.flac", "sound.ogg"))
    cylinders, strokes = source.below(14) - 1, source.pick((4, 4, 2, 3, 0))
    path.write_bytes(changed_bytes(source, sound()))
    cranking_in_file(path, cylinders, strokes)


_ALL: dict[str, Callable[[bytes], Any]] = {
    "procedures": procedure, "hazards": hazards, "fault-tables": book, "scenarios": scenario, "engines": engines,
    "limits": limits, "starters": starters, "stages": stages, "imports": imported, "rows": row, "records": damaged,
    "answers": answers, "numbers": numbers, "reckon": reckoned, "sounds": heard_sound, "shelves": fuzz_kept.shelves,
    "photos": photographed, "archives": archived, "kept-sounds": lambda data: fuzz_kept.kept_sounds(data, sound()),
    "languages": fuzz_kept.languages, "lessons": lambda data: fuzz_kept.lessons(data, rules(), kit()),
}  # fmt: skip
numpy.fft.rfft(numpy.arange(8.0))
registry()
TARGETS = {name: Target(name, do) for name, do in _ALL.items()}
