"""Files from elsewhere that a note keeps, what was kept here for speed, and catalogues of languages."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from fuzz_guard import FOLDER
from fuzz_mutate import Bytes, changed_bytes, changed_text

from firststart.bench.keeping import Keeper
from firststart.cli.noting import _decoded
from firststart.journal import shelf
from firststart.journal.drawer import MemoryDrawer
from firststart.procedure.catalogue import data_folder
from firststart.prompt.language import Language
from firststart.prompt.language_file import read_po


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
