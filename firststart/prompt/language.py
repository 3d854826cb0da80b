"""The language at the bench: English inside, translated where it leaves. Pure, given the text of a catalogue.

The core, the record and the judges speak English only, so a record is whole whatever was spoken, and a job can go on in
another language. On the way out every sentence is looked up in a gettext catalogue. One that was put together from
parts is found by its pattern: `{value} is low. Expected {band}.` is one message, and what stood in its fields is
translated in turn. When one part is not known the whole sentence stays English; nothing is half translated.
"""

from __future__ import annotations

import gettext
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from firststart.prompt.language_file import Catalogue, mo_bytes
from firststart.units import KINDS

ENGLISH = "en"
FIELD = re.compile(r"\{([^{}]+)\}")
ALWAYS, UNIT = "always", "unit"
"""Contexts: the general words by their meaning, and the spoken names of units."""

BETWEEN = "|"
"""Stands between the phrases that mean the same answer; the first one is offered."""

COUNTED = ("second", "minute", "hour", "day")
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
OWN = frozenset({"job"})
"""Fields that hold a name the person has given; it is nobody's to translate."""

_NUMBER = r"[+-]?\d[\d.,:]*"
_BEFORE_NUMBERS = (*DAYS, "about")
_BETWEEN_NUMBERS = (*MONTHS, "to", "and", "or")
_CODE = re.compile(r"[A-Z]{2,}|\d+W-\d+")  # SAE, 20W-50
_OWN = re.compile(r"'[^']*'|\"[^\"]*\"")  # the person's own words, read back in quotes
_SENTENCE = re.compile(r"(?<=[.?!]) +")
_LIST = re.compile(r", | and | or ")


@dataclass(frozen=True)
class _Template:
    """A message with fields: the patterns that find it, and what it becomes.

    Two patterns, as what stands in a field may hold words of the message: fields as short, and as long, as they can be.
    """

    patterns: tuple[re.Pattern[str], ...]
    fields: tuple[str, ...]
    weight: int
    becomes: str


class Language:
    """One language. `text` translates a sentence or leaves it; `phrases` gives the answers that mean one in English."""

    def __init__(self, code: str, catalogue: Catalogue) -> None:
        self.code, self.catalogue = code, catalogue
        self._gettext = gettext.GNUTranslations(io.BytesIO(mo_bytes(catalogue)))
        self._done = {key for key, entry in catalogue.entries.items() if entry.done and not entry.plural}
        self._kept: dict[str, str | None] = {}

    @property
    def english(self) -> bool:
        """Is it English, which needs no catalogue?"""
        return False

    def text(self, english: str) -> str:
        """`english` in this language, line by line; a line that is not known whole stays as it is."""
        return "\n".join(map(self._line, english.split("\n")))

    def _line(self, line: str) -> str:
        bare = line.strip()
        return line.replace(bare, self.known(bare) or bare) if bare else line

    def known(self, english: str) -> str | None:
        """`english` in this language, None when any part of it is not known."""
        if english not in self._kept:
            if len(self._kept) > 2000:
                self._kept.clear()
            self._kept[english] = self._find(english)
        return self._kept[english]

    def phrases(self, english: str) -> tuple[str, ...]:
        """What may be said for the English answer, the one to offer first; empty when it is not translated."""
        found = self._exact(english)
        return () if found is None else tuple(p.strip() for p in found.split(BETWEEN))

    def always(self, meaning: str) -> tuple[str, ...]:
        """The phrases of a general word, of yes, or of no, by its meaning."""
        if (ALWAYS, meaning) not in self._done:
            return ()
        return tuple(p.strip() for p in self._gettext.pgettext(ALWAYS, meaning).split(BETWEEN))

    def spoken(self, text: str) -> str:
        """`text` for the ear: units after numbers by their names, decimals as this language says them."""
        mark = self.catalogue.header.get("X-Decimal", ".")
        named = self._units_after_numbers.sub(lambda m: f"{m[1]} {self._unit_names[m[2]]}", text)
        return re.sub(r"(?<=\d)\.(?=\d)", mark, named)

    @cached_property
    def units(self) -> dict[str, str]:
        """The symbol of each unit by the small letters of its name here, for what is typed."""
        return {name.lower(): symbol for symbol, name in self._unit_names.items()}

    # finding ------------------------------------------------------------------------------------------------

    def _find(self, english: str) -> str | None:
        found = self._exact(english)
        if found is not None:
            return found.split(BETWEEN)[0].strip()
        return self._by_pattern(english) or self._by_sentences(english)

    def _exact(self, english: str) -> str | None:
        """The whole message, whether it begins with a capital here or not."""
        for text, change in ((english, str), (_swapped(english), _capital if english[:1].isupper() else str)):
            if ("", text) in self._done:
                return change(self._gettext.gettext(text))
        return None

    def _by_pattern(self, english: str) -> str | None:
        for template in self._templates:
            for pattern in template.patterns:
                match = pattern.fullmatch(english)
                made = self._filled(template, match.groups()) if match is not None else None
                if made is not None:
                    return made
        return None

    def _filled(self, template: _Template, groups: Iterable[str]) -> str | None:
        """The translation with its fields put in; None when a field that it shows is not known."""
        values = dict(zip(template.fields, groups, strict=True))
        shown = {n: values[n] if n in OWN else self._field(values[n]) for n in FIELD.findall(template.becomes)}
        if None in shown.values():
            return None
        return FIELD.sub(lambda m: shown[m[1]] or "", template.becomes)

    def _by_sentences(self, english: str) -> str | None:
        """Several messages one after the other, the longest first."""
        parts = _SENTENCE.split(english)
        for count in range(len(parts) - 1, 0, -1):
            first = " ".join(parts[:count])
            found = self._exact(first) or self._by_pattern(first)
            rest = self.known(" ".join(parts[count:])) if found is not None else None
            if rest is not None:
                return f"{found} {rest}"
        return None

    def _field(self, value: str) -> str | None:
        """What stands in a field: nothing, a quantity, the person's own words, a known text, or a list of such."""
        bare = value.strip()
        if not bare or _OWN.fullmatch(bare):
            return value
        if bare != value:
            inner = self._field(bare)
            return None if inner is None else value.replace(bare, inner)
        if (UNIT, value) in self._done:
            return self._gettext.pgettext(UNIT, value)
        found = self._quantity(value) or self.known(value)
        if found is not None:
            return found
        return self._listed(_LIST.split(value), _LIST.findall(value))

    def _listed(self, pieces: list[str], marks: list[str]) -> str | None:
        """A list whose items may hold a comma or an "or" themselves: the longest known beginning, then the rest."""
        for count in range(len(pieces) - 1, 0, -1):
            first = "".join(p + m for p, m in zip(pieces[:count], [*marks[: count - 1], ""], strict=True))
            found = self._quantity(first) or self.known(first)
            if found is None:
                continue
            rest = "".join(p + m for p, m in zip(pieces[count:], [*marks[count:], ""], strict=True))
            others = self._quantity(rest) or self.known(rest) or self._listed(pieces[count:], marks[count:])
            if others is not None:
                mark = marks[count - 1]
                return f"{found}{mark if mark == ', ' else f' {self._small(mark.strip())} '}{others}"
        return None

    def _quantity(self, value: str) -> str | None:
        """Numbers with their units, counted spans of time, ranges: "120 to 150 psi", "2 minutes 30 seconds"."""
        made: list[str] = []
        words = value.split()
        while words:
            number = re.fullmatch(rf"{_NUMBER}(:1)?", words[0].rstrip(","))
            if number and len(words) > 1 and words[1].rstrip("s,") in COUNTED:
                made.append(self._counted(words.pop(0), words.pop(0).rstrip("s,")))
            elif number or words[0].rstrip(",") in self._symbols or _CODE.fullmatch(words[0]):
                made.append(words.pop(0))
            elif made and (UNIT, words[0]) in self._done:
                made.append(self._gettext.pgettext(UNIT, words.pop(0)))
            elif words[0] in (_BETWEEN_NUMBERS if made else _BEFORE_NUMBERS) and len(words) > 1:
                made.append(self._small(words.pop(0)))
            else:
                return None
        return " ".join(made) or None

    def _counted(self, number: str, word: str) -> str:
        count = round(float(number.replace(",", "")))
        return self._gettext.ngettext(f"{{n}} {word}", f"{{n}} {word}s", count).replace("{n}", number)

    def _small(self, word: str) -> str:
        return self._gettext.pgettext("value", word)

    @cached_property
    def _templates(self) -> tuple[_Template, ...]:
        """Every message with fields, the one with most words of its own first."""
        made = [
            _template(entry.msgid, self._gettext.gettext(entry.msgid))
            for (context, msgid), entry in self.catalogue.entries.items()
            if not context and entry.done and not entry.plural and FIELD.search(msgid)
        ]
        return tuple(sorted(made, key=lambda t: -t.weight))

    @cached_property
    def _symbols(self) -> frozenset[str]:
        return frozenset(unit.symbol for kind in KINDS.values() for unit in kind.units if unit.symbol)

    @cached_property
    def _unit_names(self) -> dict[str, str]:
        """The name of each unit here, by its symbol; units that are not translated are left out."""
        return {
            unit.symbol: self._gettext.pgettext(UNIT, unit.spoken)
            for kind in KINDS.values() for unit in kind.units
            if unit.symbol and (UNIT, unit.spoken) in self._done
        }  # fmt: skip

    @cached_property
    def _units_after_numbers(self) -> re.Pattern[str]:
        names = "|".join(re.escape(s) for s in sorted(self._unit_names, key=len, reverse=True))
        return re.compile(rf"({_NUMBER}) ?({names or '(?!)'})(?![\w/])")


class _English(Language):
    """English itself: everything stays as it is."""

    def __init__(self) -> None:
        super().__init__(ENGLISH, Catalogue({}, {}))

    @property
    def english(self) -> bool:
        return True

    def text(self, english: str) -> str:
        return english


def english() -> Language:
    """The language that needs no catalogue."""
    return _English()


def _template(msgid: str, becomes: str) -> _Template:
    """The message as a pattern; a field that stands twice is found once and must be the same again."""
    pattern, fields, weight = "", list[str](), 0
    for number, piece in enumerate(FIELD.split(msgid)):
        if number % 2 == 0:
            pattern += re.escape(piece)
            weight += len(piece.strip())
        elif piece in fields:
            pattern += rf"\{fields.index(piece) + 1}"
        else:
            fields.append(piece)
            pattern += "(.*?)"
    several = (pattern, pattern.replace("(.*?)", "(.*)")) if len(fields) > 1 else (pattern,)
    return _Template(tuple(re.compile(p, re.DOTALL) for p in several), tuple(fields), weight, becomes)


def _swapped(text: str) -> str:
    """With the first letter small instead of large, or large instead of small."""
    return text[:1].swapcase() + text[1:]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
