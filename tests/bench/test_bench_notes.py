"""Notes at the bench: words, photos and sounds by their path, and notes that are spoken."""

from __future__ import annotations

import io
import sys
import threading
from argparse import Namespace
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor, Reply
from firststart.bench.desk import Desk, open_job
from firststart.bench.keeping import Keeper
from firststart.cli.bench import Bench
from firststart.cli.noting import SPEAK, Notes
from firststart.cli.tongue import Tongue, load_language
from firststart.clock import SimulatedClock
from firststart.devices.ears import DeafEars, Ears, ScriptedEars
from firststart.devices.endpoint import BLOCK, Block
from firststart.devices.mouth import SilentMouth
from firststart.devices.soundcard import DeviceError
from firststart.devices.stage import Event, PlainStage
from firststart.devices.tape import FIRST, FULL, SECONDS, SILENT, Recorder, Tape
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.drawer import MemoryDrawer
from firststart.journal.memory import MemoryJournal
from firststart.prompt.dialogue import PEDAL, VOICE
from firststart.prompt.onekey import HELD, SHORT

sys.path.append(str(Path(__file__).resolve().parent.parent / "journal"))
from journal_photos import from_a_phone, tone, wav

LOUD: Block = np.full(BLOCK, 8000, np.int16)
QUIET: Block = np.zeros(BLOCK, np.int16)
SAID = [(LOUD, 0.9)] * 60 + [(QUIET, 0.0)] * 90  # two seconds of talk, and then silence


def desk_of(rules: Rules) -> Desk:
    return open_job(rules, MemoryJournal(), SimulatedClock(), i.Open("twin", "twin", "test", "shed"))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A person's own folder."""
    (tmp_path / "my photos").mkdir()
    for name in ("plug.jpg", "plug 2.JPG", "my photos/it's plug.jpeg"):
        (tmp_path / name).write_bytes(from_a_phone())
    (tmp_path / "knock.wav").write_bytes(wav())
    (tmp_path / "text.jpg").write_text("no photo")
    return tmp_path


def talk_of(rules: Rules, folder: Path) -> Conductor:
    keeper = Keeper(MemoryDrawer(), lambda data: (tone(), 16_000), folder)
    return Conductor(desk_of(rules), Adviser(rules, None), keeper)


def kept(desk: Desk) -> list[tuple[str, str, str]]:
    """What is kept: sort, name, what was said of it."""
    facts = desk.journal.read("twin")
    return [(x.attachment.sort, x.attachment.name, x.text) for x in facts if isinstance(x, f.AttachmentKept)]


def notes(desk: Desk) -> list[str]:
    return [x.text for x in desk.journal.read("twin") if isinstance(x, f.NoteAdded)]


PHOTOS = [
    ("note photo plug.jpg black and oily", ("photo", "plug.jpg", "black and oily")),
    ("note plug.jpg", ("photo", "plug.jpg", "")),
    ("note 'plug 2.JPG' wet", ("photo", "plug 2.JPG", "wet")),
    ('note "plug 2.JPG" wet', ("photo", "plug 2.JPG", "wet")),
    (r"note plug\ 2.JPG wet", ("photo", "plug 2.JPG", "wet")),
    ('note picture "my photos/it\'s plug.jpeg"', ("photo", "it's plug.jpeg", "")),
    ("note sound knock.wav at idle", ("sound", "knock.wav", "at idle")),
    ("note knock.wav", ("sound", "knock.wav", "")),
]


@pytest.mark.parametrize(("words", "found"), PHOTOS, ids=[words for words, _ in PHOTOS])
def test_a_note_that_names_a_file_keeps_it(
    words: str, found: tuple[str, str, str], rules: Rules, folder: Path
) -> None:
    """However a terminal writes a path, the photo or sound is in the record, with what was said of it."""
    talk = talk_of(rules, folder)
    reply = talk.hear(words)

    assert [found] == kept(talk.desk)
    assert reply.say[0].startswith(f"The {found[0]} {found[1]} is kept, ")
    assert not reply.repeat


def test_what_was_taken_out_of_a_photo_is_said(rules: Rules, folder: Path) -> None:
    """The place is not kept, and the person hears so."""
    assert "Taken out: where it was taken, " in talk_of(rules, folder).hear("note plug.jpg").say[0]


@pytest.mark.parametrize(
    "words", ["the plug.jpg is wet", "photo session on Sunday", "none.jpg", "12.5 V at the coil", "x" * 3000 + ".jpg"]
)
def test_a_note_of_words_stays_one(words: str, rules: Rules, folder: Path) -> None:
    """Words that only look like a file are a note like any other."""
    talk = talk_of(rules, folder)

    assert ("Noted.",) == talk.hear(f"note {words}").say
    assert ([words], []) == (notes(talk.desk), kept(talk.desk))


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("note photo none.jpg", "There is no file"),
        ("note text.jpg", "text.jpg is no photo"),
        ("note sound text.jpg", "is kept"),  # this decoder takes all; the real one does not
        (f"note plug.jpg {'x' * 4001}", "has 4001 characters, and 4000 fit"),
        (f"note {'x' * 4001}", "has 4001 characters, and 4000 fit"),
        ("note photo my.jpg/../plug.jpg", "There is no file|cannot be read"),
    ],
)
def test_what_cannot_be_kept_is_said_in_a_sentence(words: str, told: str, rules: Rules, folder: Path) -> None:
    """No such file, no photo, too many words: one sentence, and the same question stands."""
    talk = talk_of(rules, folder)
    before = talk.prompt()
    (said,) = talk.hear(words).say

    assert any(part in said for part in told.split("|"))
    assert before == talk.prompt()
    assert [] == notes(talk.desk)


def test_no_path_is_taken_from_the_ears(rules: Rules, folder: Path) -> None:
    """What is half heard never opens a file."""
    talk = talk_of(rules, folder)
    talk.hear("note plug.jpg", VOICE)

    assert (["plug.jpg"], []) == (notes(talk.desk), kept(talk.desk))


@dataclass
class Scene:
    """A bench with scripted ears, and the lines on its screen."""

    bench: Bench
    screen: io.StringIO

    def happens(self, *events: Event) -> list[str]:
        """What is said, event by event."""
        said = []
        for event in events:
            reply = self.bench._handle(event)
            if reply is not None:
                self.bench._give(reply)
                said += reply.say
        return said


def scene(rules: Rules, ears: Ears, tongue: Tongue | None = None) -> Scene:
    screen = io.StringIO()
    keeper = Keeper(MemoryDrawer(), lambda data: (data, 16_000), Path())
    mouth = SilentMouth()
    notes = Notes(ears, mouth.busy, keeper, alone=False, english=tongue.english if tongue else None)
    stage = PlainStage(io.StringIO(), screen)
    language = tongue.language if tongue else None
    bench = Bench(desk_of(rules), stage, mouth, ears, Adviser(rules, None), threading.Event(), language, notes)
    return Scene(bench, screen)


def test_a_note_of_no_words_is_spoken_and_kept(rules: Rules) -> None:
    """After the tone the tape runs; the person's silence ends it, and the sound is in the record."""
    here = scene(rules, ScriptedEars([], SAID))
    here.happens(Event("typed", "note"))

    assert here.bench.notes.running
    assert Event("spoken") == here.bench._poll()
    (said,) = here.happens(Event("spoken"))
    assert said.startswith("The sound of ")
    assert [("sound", "", "")] == kept(here.bench.desk)
    assert not here.bench.notes.running
    assert SPEAK in here.screen.getvalue()


def test_by_voice_a_note_is_asked_back_and_then_spoken(rules: Rules) -> None:
    """ "Take a note" by voice, yes, and the note: no word of it is taken for an answer."""
    here = scene(rules, ScriptedEars([], SAID))
    here.happens(Event("heard", "take a note", VOICE), Event("heard", "yes", VOICE))

    assert here.bench.notes.running
    assert [] == here.happens(Event("heard", "done", VOICE))
    assert [] == notes(here.bench.desk)


def test_stop_is_obeyed_while_a_note_is_spoken(rules: Rules) -> None:
    """Spoken, typed, by pedal or Ctrl-C: the work stops, and the note is dropped."""
    ways = (
        Event("heard", "stop", VOICE), Event("typed", "Stop"), Event("stop"), Event("heard", "halt", VOICE),
        Event("pedal", HELD, PEDAL),
    )  # fmt: skip
    for event in ways:
        here = scene(rules, ScriptedEars([], SAID))
        here.happens(Event("typed", "note"), event)

        assert here.bench.desk.situation.stopped
        assert not here.bench.notes.running
        assert [] == kept(here.bench.desk)


@pytest.mark.parametrize(
    ("spoken", "event", "said"),
    [
        (SAID, Event("typed", ""), "is kept"),
        (SAID, Event("pedal", SHORT, PEDAL), "is kept"),
        (SAID, Event("typed", "never mind"), "The note is not kept."),
        ([(QUIET, 0.0)] * 400, Event("spoken"), "Nothing was said, so nothing is kept."),
    ],
)
def test_a_key_or_the_pedal_ends_a_note(
    spoken: list[tuple[Block, float]], event: Event, said: str, rules: Rules
) -> None:
    """Enter keeps it, never mind drops it, and of silence nothing is kept; the question stands as before."""
    here = scene(rules, ScriptedEars([], spoken))
    before = here.bench.conductor.prompt()
    here.happens(Event("typed", "note"))
    told = here.happens(event)

    assert said in told[0]
    assert before == here.bench.conductor.prompt()


def test_without_a_microphone_the_words_are_asked_for(rules: Rules) -> None:
    """Deaf ears: the person is told to type what to keep."""
    here = scene(rules, DeafEars())

    assert ["Say note, and then what to keep."] == here.happens(Event("typed", "note"))
    assert not here.bench.notes.running


def test_no_note_is_spoken_while_the_starter_turns(rules: Rules, monkeypatch: pytest.MonkeyPatch) -> None:
    """Then the ears are for "stop" alone."""
    talk = talk_of(rules, Path())
    prompt = talk.prompt()
    expects = prompt.expects.__class__("turning")
    monkeypatch.setattr(talk, "prompt", lambda: prompt.__class__(prompt.text, prompt.big, expects))
    reply: Reply = talk.hear("note")

    assert not reply.record


@pytest.mark.parametrize("chance", [None, 0.0])
def test_a_tape_ends_by_itself(chance: float | None) -> None:
    """Nothing said: after a while. Silence after talk: soon. Talk without end: when it is full."""
    silent, talked, endless = Tape(), Tape(), Tape()
    for tape, blocks in ((silent, [QUIET] * 900), (talked, [QUIET] * 5 + [LOUD] * 60 + [QUIET] * 900),
                         (endless, ([LOUD] * 5 + [QUIET] * 5) * 300)):  # fmt: skip
        for block in blocks:
            tape.add(block, chance if chance is None or block is QUIET else 0.9)

    assert (True, True, True) == (silent.over, talked.over, endless.over)
    assert (False, True, True) == (silent.spoken, talked.spoken, endless.spoken)
    assert [FIRST, 65 * SECONDS + SILENT, FULL] == pytest.approx(
        [silent.seconds, talked.seconds, endless.seconds], abs=0.2
    )
    assert len(talked.samples()) / 2 / talked.rate == pytest.approx(65 * SECONDS + 0.5, abs=0.1)


@pytest.mark.parametrize(
    ("typed", "stops", "keeps"), [("Stopp", True, False), ("egal", False, False), ("", False, True)]
)
def test_a_note_is_ended_in_the_persons_language(typed: str, stops: bool, keeps: bool, rules: Rules) -> None:
    """In German too "stop" stops, "never mind" drops, and enter keeps."""
    language = load_language(Namespace(procedures=None, home=Path("nowhere")), "de")
    here = scene(rules, ScriptedEars([], SAID), Tongue(language))
    here.happens(Event("typed", "Notiz"), Event("typed", typed))

    assert (stops, keeps) == (here.bench.desk.situation.stopped, bool(kept(here.bench.desk)))


class Microphone:
    """A microphone that hears what it is given, and then nothing."""

    def __init__(self, blocks: list[Block]) -> None:
        self.blocks, self.closed = blocks, 0

    def block(self, timeout: float) -> Block | None:
        return self.blocks.pop(0) if self.blocks else None

    def close(self) -> None:
        self.closed += 1


def test_a_microphone_of_its_own_fills_the_tape_and_is_let_go() -> None:
    """Without ears the note has its own microphone: what the tool says itself is left out, and the end closes it."""
    busy = iter([True] * 3 + [False] * 1000)
    microphone, tape = Microphone([LOUD] * 3 + [QUIET] * 3 + [LOUD] * 30 + [QUIET] * 100), Tape()
    recorder = Recorder(tape, microphone, lambda: next(busy))  # type: ignore[arg-type]
    recorder._thread.join(timeout=5)
    recorder.close()

    assert (True, True) == (tape.over, tape.spoken)
    assert pytest.approx((33 + 0.5 / SECONDS) * SECONDS, abs=0.1) == len(tape.samples()) / 2 / tape.rate
    assert 1 == microphone.closed


def test_a_note_without_ears_says_so_where_no_microphone_opens(
    rules: Rules, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A microphone that does not open costs nothing but the words that are asked for instead."""

    def none(tape: Tape, busy: object) -> Recorder:
        raise DeviceError("no microphone was found")

    monkeypatch.setattr("firststart.devices.tape.open_recorder", none)
    here = scene(rules, DeafEars())
    here.bench.notes._alone = True

    assert ["Say note, and then what to keep."] == here.happens(Event("typed", "note"))


def test_words_from_a_record_cannot_steer_a_terminal() -> None:
    """An escape in a job from elsewhere is shown as a question mark."""
    screen = io.StringIO()
    PlainStage(io.StringIO(), screen).tell("left, since \x1b[2J\x9b31m it\trained\x07")

    assert "left, since ?[2J?31m it\trained?\n" == screen.getvalue()
