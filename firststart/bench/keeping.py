"""Photos and sounds on their way to a job: looked at, put in the drawer, and handed on as an input.

    note photo plug2.jpg black and oily      note "/home/me/my photo.jpg"      note sound knock.wav at idle
"""

from __future__ import annotations

import contextlib
import re
import shlex
from collections.abc import Callable
from pathlib import Path

from firststart.errors import InputError
from firststart.job import inputs as i
from firststart.job.attachment import MOST_TEXT, Attachment
from firststart.journal import photo, spoken
from firststart.journal.drawer import Drawer, read_file

_SORTS = ("photo", "picture", "sound")
_PHOTOS, _SOUNDS = (".jpg", ".jpeg", ".png", ".webp", ".heic", ".avif"), (".wav", ".wave", ".aif", ".aiff", ".aifc")
Decode = Callable[[bytes], tuple[bytes, int]]
"""A sound file's bytes to samples of one channel (signed 16 bits, little end first) and their rate."""


class Keeper:
    """Takes photos and sounds in. `decode` reads sound files; `base` is the folder that names without one lie in."""

    def __init__(self, drawer: Drawer, decode: Decode, base: Path) -> None:
        self.drawer, self._decode, self._base = drawer, decode, base

    def photo(self, path: Path, text: str = "") -> i.Keep:
        """A photo by its path. Raises InputError, RecordError."""
        place = self._place(path)
        return self._keep(*photo.kept_photo(read_file(place, photo.MOST_READ), _plain(place.name)), text)

    def sound(self, path: Path, text: str = "") -> i.Keep:
        """A sound file by its path. Raises InputError, RecordError."""
        place = self._place(path)
        samples, rate = self._decode(read_file(place, spoken.MOST_READ))
        return self._keep(*spoken.kept_sound(samples, rate, _plain(place.name)), text)

    def recording(self, samples: bytes, rate: int, text: str = "") -> i.Keep:
        """What a microphone heard. Raises InputError, RecordError."""
        return self._keep(*spoken.kept_sound(samples, rate), text)

    def told(self, said: str) -> i.Keep | None:
        """What is to be kept when a note names a file; None when it is a note of words alone. Raises as above."""
        word, rest = _first(said)
        sort = word.lower() if word.lower() in _SORTS else ""
        name, text = _first(rest) if sort else (word, rest)
        suffix = Path(name).suffix.lower()
        if suffix not in (*_PHOTOS, *_SOUNDS) or (not sort and not self._there(name)):
            return None
        is_sound = sort == "sound" or (not sort and suffix in _SOUNDS)
        return (self.sound if is_sound else self.photo)(Path(name), text)

    def _place(self, path: Path) -> Path:
        with contextlib.suppress(RuntimeError, ValueError):  # a home of nobody known: the name is taken as it is
            path = path.expanduser()
        return self._base / path

    def _there(self, name: str) -> bool:
        try:
            return self._place(Path(name)).is_file()
        except (OSError, ValueError):  # a name that is no name, such as a whole page
            return False

    def _keep(self, attachment: Attachment, data: bytes, text: str) -> i.Keep:
        if len(text) > MOST_TEXT:
            raise InputError(f"That note has {len(text)} characters, and {MOST_TEXT} fit; keep it in parts.")
        self.drawer.put(attachment, data)
        return i.Keep(attachment, text.strip())


def kept_text(attachment: Attachment) -> str:
    """What was kept, in a sentence, with what was taken out of it."""
    size = f"{attachment.size / 1e6:.1f} MB" if attachment.size >= 1e5 else f"{attachment.size / 1e3:.0f} kB"
    told = f"The {attachment.called()} is kept, {size}."
    return f"{told} Taken out: {', '.join(attachment.removed)}." if attachment.removed else told


def _plain(name: str) -> str:
    """A file's name for the record: what can be read of it."""
    return "".join(c if c.isprintable() else "?" for c in name)[:200]


def _first(text: str) -> tuple[str, str]:
    """The first word, in quotes or with spaces marked by a backslash as a terminal writes them, and what follows."""
    text = text.strip()
    quoted = re.match(r"""(?:"([^"]+)"|'([^']+)')(?:\s+|$)""", text)
    if quoted:
        return quoted[1] or quoted[2], text[quoted.end() :]
    found = re.match(r"(?:\\ |\S)+", text)
    word = found[0] if found else ""
    return _unmarked(word), text[len(word) :].strip()


def _unmarked(word: str) -> str:
    if "\\ " not in word:
        return word
    try:
        return " ".join(shlex.split(word))
    except ValueError:
        return word
