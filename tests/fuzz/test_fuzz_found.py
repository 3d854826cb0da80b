"""What fuzzing has found, each as its smallest input: one sentence or a right value, and no traceback."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from firststart.bench.keeping import Keeper
from firststart.cli.noting import _decoded
from firststart.devices.sound import read_sound
from firststart.errors import DataError, InputError
from firststart.journal.drawer import MemoryDrawer
from firststart.prompt.language import Language
from firststart.prompt.language_file import read_po, write_po

HEAD = 'msgid ""\nmsgstr ""\n"Language: xx\\n"\n'
STOP = '\nmsgid "stop"\nmsgstr "hält"\n'


@pytest.mark.parametrize("charset", ["", '"Content-Type: text/plain; charset=us-ascii\\n"\n', '"content-type: x\\n"\n'])
def test_a_catalogue_is_utf_8_whatever_its_head_says(charset: str) -> None:
    """Without a word on its letters, or with a wrong one, it is read as the file was."""
    assert "hält" == Language("xx", read_po(f"{HEAD}{charset}{STOP}", "xx.po")).text("stop")


@pytest.mark.parametrize("place", ["msgid", "msgid_plural", "msgstr"])
def test_letters_that_part_texts_stand_in_no_text(place: str) -> None:
    """A zero parts the forms of a text where it is compiled; in a text it is told, with its line."""
    text = f'{HEAD}\nmsgid "x"\nmsgid_plural "y"\nmsgstr[0] "a"\nmsgstr[1] "b"\n'.replace(f'{place} "', f'{place} "\0')
    with pytest.raises(DataError):
        read_po(text.replace('msgstr[1] "', 'msgstr[1] "\0') if place == "msgstr" else text, "xx.po")


def test_any_other_letter_may_stand_in_a_catalogue() -> None:
    """A backslash, a quote and a new line are read as written, and written as they were read."""
    text = 'a \\ " \n c'
    catalogue = read_po(f'{HEAD}\nmsgid "stop"\nmsgstr "a \\\\ \\" \\n c"\n', "xx.po")

    assert (text,) == catalogue.entries["", "stop"].forms
    assert (text,) == read_po(write_po(catalogue), "xx.po").entries["", "stop"].forms


@pytest.mark.parametrize(
    "rule", ["nplurals=2; plural=(n != ;", "plural=n", "nplurals=2; plural=n%0;", "nplurals=2; plural=n"]
)
def test_a_rule_of_plural_forms_that_counts_nothing_is_told(rule: str) -> None:
    """One that cannot be read, divides by nothing, or names a form that there is not."""
    with pytest.raises(DataError, match="Plural-Forms cannot be understood"):
        read_po(f'{HEAD}"Plural-Forms: {rule}\\n"\n{STOP}', "xx.po")


@pytest.mark.parametrize("said", ["sound ~\0x.wav at idle", "~\0x.wav", "photo ~\0x.jpg", "sound a\0b.wav"])
def test_a_name_that_no_file_can_have_is_a_sentence(said: str, tmp_path: Path) -> None:
    """A zero in the name of a file, after the sign for a home or anywhere: no such file, or a note of words."""
    keeper = Keeper(MemoryDrawer(), _decoded, tmp_path)
    if said.startswith("~"):
        assert keeper.told(said) is None
    else:
        with pytest.raises(InputError):
            keeper.told(said)


@pytest.mark.parametrize("channels", [65, 65535])
def test_a_sound_of_countless_channels_is_a_sentence(channels: int) -> None:
    """A head that claims tens of thousands of channels is not believed, and nothing is cut into so many pieces."""
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 40000, b"WAVE", b"fmt ", 16, 1, channels, 8000, 16000, 2, 16,
                       b"data", 36000)  # fmt: skip
    with pytest.raises(InputError, match=f"{channels} channels"):
        read_sound(head + bytes(36000 * (1 + channels // 9000)))
