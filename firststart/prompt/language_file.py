"""Message catalogues as GNU gettext writes them: `.po` text in, entries out; entries in, `.po` text or `.mo` bytes out.

Pure. Only what a catalogue of prompts needs: msgctxt, msgid, msgid_plural, msgstr, comments, references, and the flag
`fuzzy` (a guess that nobody has looked at yet counts as untranslated). Format: GNU gettext manual, "The Format of PO
Files" and "The Format of GNU MO Files" (from memory); the tests hold both against polib.
"""

from __future__ import annotations

import gettext
import re
import struct
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from firststart.errors import DataError, Problem

CONTEXT_END = "\x04"
COVERS, LEAVES, NEVER = "X-Covers", "X-Leaves", "X-Never-Say"
"""Header fields: procedures translated whole, files of the code that are not, words that no result may say."""

_KEYWORD = re.compile(r'(msgctxt|msgid_plural|msgid|msgstr(?:\[(\d)\])?)\s+(".*")\s*')
_MO_MAGIC = 0x950412DE
_ESCAPES = {"\\": "\\", '"': '"', "n": "\n", "t": "\t"}


@dataclass(frozen=True)
class Entry:
    """One message: its text in English, and what it becomes. `forms` are plural forms, one for a plain message."""

    msgid: str
    forms: tuple[str, ...] = ("",)
    context: str = ""
    plural: str = ""
    comments: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    fuzzy: bool = False
    line: int = 0

    @property
    def key(self) -> tuple[str, str]:
        """What makes it one message and no other: context and English text."""
        return self.context, self.msgid

    @property
    def done(self) -> bool:
        """Is it translated, and not a guess?"""
        return not self.fuzzy and all(self.forms)


@dataclass(frozen=True)
class Catalogue:
    """The entries of one language by (context, msgid), and the header's fields."""

    entries: Mapping[tuple[str, str], Entry]
    header: Mapping[str, str]
    file: str = ""

    def field(self, name: str) -> tuple[str, ...]:
        """A header field as a list of words or phrases that commas separate."""
        return tuple(w.strip() for w in self.header.get(name, "").split(",") if w.strip())

    def with_own(self, own: Catalogue) -> Catalogue:
        """This catalogue with a user's own: their entries win, and what they cover is covered too."""
        covers = ", ".join(dict.fromkeys((*self.field(COVERS), *own.field(COVERS))))
        header = {**own.header, **self.header, COVERS: covers}
        return Catalogue({**self.entries, **{k: e for k, e in own.entries.items() if e.done}}, header, self.file)


@dataclass
class _Building:
    """One entry while its lines are read."""

    line: int = 0
    parts: dict[str, str] = field(default_factory=dict)
    comments: list[str] = field(default_factory=list)
    places: list[str] = field(default_factory=list)
    fuzzy: bool = False
    last: str = ""

    def entry(self) -> Entry:
        numbers = sorted(k for k in self.parts if k.startswith("msgstr"))
        return Entry(
            self.parts.get("msgid", ""), tuple(self.parts[k] for k in numbers) or ("",), self.parts.get("msgctxt", ""),
            self.parts.get("msgid_plural", ""), tuple(self.comments), tuple(self.places), self.fuzzy, self.line,
        )  # fmt: skip


def read_po(text: str, file: str) -> Catalogue:
    """The catalogue in `text`. Raises DataError with every line that cannot be read and every message told twice."""
    problems: list[Problem] = []
    entries: dict[tuple[str, str], Entry] = {}
    for entry in _entries(text, file, problems):
        if entry.key in entries:
            first = entries[entry.key].line
            problems.append(Problem(file, entry.line, f"{entry.msgid[:40]!r} stands in line {first} too; keep one"))
        if _says(entry.msgid) and any(form and not _says(form) for form in entry.forms):
            message = f"the translation of {entry.msgid[:40]!r} says nothing; write it, or leave it empty for English"
            problems.append(Problem(file, entry.line, message))
        entries.setdefault(entry.key, entry)
    header = entries.pop(("", ""), Entry("")).forms[0]
    pairs = (line.split(":", 1) for line in header.splitlines() if ":" in line)
    fields = {name.strip(): value.strip() for name, value in pairs}
    if not all(_counts(value) for name, value in fields.items() if name.lower() == "plural-forms"):
        what = "Plural-Forms cannot be understood; write it as nplurals=2; plural=(n != 1);"
        problems.append(Problem(file, 1, what))
    if problems:
        raise DataError(problems)
    return Catalogue(entries, fields, file)


def _says(text: str) -> bool:
    """Is there a letter or a figure in it? Blanks in the place of a caution would take it away unseen."""
    return any(letter.isalnum() for letter in text)


def _counts(told: str) -> bool:
    """Is this a rule of plural forms that gives one of its forms for every number?"""
    found = re.fullmatch(r"nplurals\s*=\s*([1-6])\s*;\s*plural\s*=\s*([^;]{1,200});?", told)
    if found is None:
        return False
    try:
        rule = gettext.c2py(found[2])
        return all(0 <= rule(n) < int(found[1]) for n in range(1000))
    except (ValueError, ArithmeticError, RecursionError):
        return False


def _entries(text: str, file: str, problems: list[Problem]) -> Iterable[Entry]:
    """Each entry, in the order of the file; a blank line ends one."""
    building = _Building()
    for number, line in enumerate([*text.splitlines(), ""], 1):
        stripped = line.strip()
        if not stripped:
            if building.parts:
                yield building.entry()
            building = _Building()
        elif not _take(building, stripped, number):
            problems.append(Problem(file, number, f"cannot be read: {stripped[:40]!r}; a text stands in double quotes"))


def _take(building: _Building, line: str, number: int) -> bool:
    """Take one line into the entry; False when it is none of the format's."""
    if line.startswith("#"):
        _comment(building, line)
        return True
    if line.startswith('"') and building.last:
        text = _unquoted(line)
        building.parts[building.last] += text or ""
        return text is not None
    match = _KEYWORD.fullmatch(line)
    if match is None:
        return False
    text = _unquoted(match[3])
    building.last = match[1]
    building.parts[match[1]] = text or ""
    if match[1] == "msgid":
        building.line = number
    return text is not None


def _comment(building: _Building, line: str) -> None:
    if line.startswith("#:"):
        building.places.append(line[2:].strip())
    elif line.startswith("#,"):
        building.fuzzy = building.fuzzy or "fuzzy" in line
    elif line.startswith("#."):
        building.comments.append(line[2:].strip())


def _unquoted(quoted: str) -> str | None:
    """The text between double quotes with its escapes resolved; None when it is not such a text."""
    if not re.fullmatch(r'"(?:[^"\\\0\x04]|\\["\\nt])*"', quoted):  # both have a meaning in the compiled form
        return None
    return re.sub(r"\\(.)", lambda found: _ESCAPES[found[1]], quoted[1:-1])


def _quoted(text: str) -> str:
    body = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    return f'"{body}"'


def write_po(catalogue: Catalogue) -> str:
    """The catalogue as text, entries in their order; what is read again is equal but for the line numbers."""
    head = "".join(f"{name}: {value}\n" for name, value in catalogue.header.items())
    blocks = ['msgid ""\nmsgstr ""\n' + "\n".join(_quoted(line + "\n") for line in head.splitlines())]
    blocks += [_block(entry) for entry in catalogue.entries.values()]
    return "\n\n".join(blocks) + "\n"


def _block(entry: Entry) -> str:
    lines = [f"#. {comment}" for comment in entry.comments] + [f"#: {place}" for place in entry.places]
    lines += ["#, fuzzy"] if entry.fuzzy else []
    lines += [f"msgctxt {_quoted(entry.context)}"] if entry.context else []
    lines.append(f"msgid {_quoted(entry.msgid)}")
    if entry.plural:
        lines.append(f"msgid_plural {_quoted(entry.plural)}")
        lines += [f"msgstr[{n}] {_quoted(form)}" for n, form in enumerate(entry.forms)]
    else:
        lines.append(f"msgstr {_quoted(entry.forms[0])}")
    return "\n".join(lines)


def mo_bytes(catalogue: Catalogue) -> bytes:
    """The translated entries in the compiled form that `gettext.GNUTranslations` reads."""
    told = {name: value for name, value in catalogue.header.items() if name.lower() != "content-type"}
    fields = {**told, "Content-Type": "text/plain; charset=UTF-8"}  # whatever the text said of itself
    head = "".join(f"{name}: {value}\n" for name, value in fields.items())
    pairs = {b"": head.encode()}
    for entry in catalogue.entries.values():
        if entry.done:
            name = f"{entry.context}{CONTEXT_END}{entry.msgid}" if entry.context else entry.msgid
            name += f"\0{entry.plural}" if entry.plural else ""
            pairs[name.encode()] = "\0".join(entry.forms).encode()
    return _packed(sorted(pairs.items()))


def _packed(pairs: list[tuple[bytes, bytes]]) -> bytes:
    """Header, table of originals, table of translations, then all texts with an ending zero."""
    count = len(pairs)
    start = 28 + 16 * count
    originals, translations, texts = b"", b"", b""
    for side in (0, 1):
        table = b""
        for pair in pairs:
            table += struct.pack("<II", len(pair[side]), start + len(texts))
            texts += pair[side] + b"\0"
        originals, translations = (table, translations) if side == 0 else (originals, table)
    head = struct.pack("<7I", _MO_MAGIC, 0, count, 28, 28 + 8 * count, 0, 0)
    return head + originals + translations + texts
