"""Files from elsewhere that a note keeps, what was kept here for speed, catalogues of languages, lessons of pupils."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

from fuzz_guard import FOLDER
from fuzz_mutate import Bytes, changed_bytes, changed_json, changed_text

from firststart.bench.keeping import Keeper
from firststart.bench.shop import book_of
from firststart.cli.lessonfile import read_lesson
from firststart.cli.noting import _decoded
from firststart.job.rules import Rules
from firststart.journal import shelf
from firststart.journal.drawer import MemoryDrawer
from firststart.procedure.catalogue import data_folder
from firststart.prompt.language import Language
from firststart.prompt.language_file import read_po
from firststart.rehearsal.draw import draw
from firststart.rehearsal.kit import Kit
from firststart.rehearsal.lesson import Lesson


def kept_sounds(data: bytes, sound: bytes) -> None:
    """A sound file for a note, and the words that name it."""
    source = Bytes(data)
    name = source.pick(("a.wav", "a.aiff", "a b.wav"))
    (FOLDER / name).write_bytes(changed_bytes(source, sound))
    keeper = Keeper(MemoryDrawer(), _decoded, FOLDER)
    keeper.told(source.text(20) + source.pick((f"sound {name} at idle", f"'{name}'", name, "photo a.jpg")))
    keeper.told(f"sound '{name}' {source.text(40)}")


@cache
def kept_file() -> tuple[shelf.Shelf, Path, bytes]:
    """A shelf with one thing on it, and the file of that."""
    own = shelf.Shelf(FOLDER / "shelf")
    own.put("job", ("a thing",), "key")
    (path,) = (FOLDER / "shelf").iterdir()
    return own, path, path.read_bytes()


def shelves(data: bytes) -> None:
    """A file of the shelf with bytes changed is not believed, and never unpacked; whole, it gives what was put in."""
    own, path, whole = kept_file()
    changed = changed_bytes(Bytes(data), whole)
    path.write_bytes(changed)
    if own.get("job", "key") != (("a thing",) if changed == whole else None):
        raise AssertionError("what was changed is believed, or what is whole is not")


def languages(data: bytes) -> None:
    """A catalogue of one's own; what can be read of it is spoken."""
    source = Bytes(data)
    small = (data_folder("procedures") / "languages" / "de.po").read_text(encoding="utf-8")[:6000].rpartition("\n\n")[0]
    catalogue = read_po(changed_text(source, (small,)), "de.po")
    language = Language("de", catalogue)
    for text in ("Stop.", source.text(60), "That was 2 seconds of cranking.", "12.6 V"):
        language.text(text)
        language.phrases(text)
        language.spoken(text)


def lessons(data: bytes, rules: Rules, kit: Kit) -> None:
    """A pupil's lesson with its lines changed; what is believed of it is led through, as for the class sheet."""
    source = Bytes(data)
    lines = ['{"scenario": "", "seed": 5, "pupil": "Ada", "procedures": "x"}']
    for _ in range(source.below(6)):
        words = source.pick(("yes", "1", "12.6", "stop", "why", "something else", "I cranked 5 s", source.text(40)))
        lines.append(json.dumps({"words": words, "channel": "keys", "turned": float(source.below(20))}))
    lines = [changed_json(source, line) if source.below(4) == 0 else line for line in lines]
    path = FOLDER / "seed-5-ada.jsonl"
    path.write_text("\n".join(lines) + source.pick(("\n", "", "x")), encoding="utf-8", errors="surrogatepass")
    _beginning, entries = read_lesson(path)
    book = book_of(rules.library)
    assert book is not None
    lesson = Lesson(rules, draw(5, kit.conditions), kit, book, 5)
    lesson.greet()
    for entry in entries[:6]:
        lesson.enter(entry)
