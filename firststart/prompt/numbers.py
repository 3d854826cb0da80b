"""Numbers between words and digits: "one one eight p s i" to "118 psi", and "118" to words.

Both ways are pure and exact: they work on text, never on floats, so 12.50 stays 12.50. Which unit fits the
question, and whether the value is plausible, is for `firststart.units`; here a unit only changes from the
words people say to the symbol they write.

What counts as a number is closed and strict. A string of words that could mean two numbers is refused, and
so is one that starts with a lost zero ("zero five" may be 0.5 or 5): a wrong reading costs more than a second try.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

from firststart import units
from firststart.errors import NumberError

UNITS_OF_TEN = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen",
    "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

_DIGIT = {word: str(value) for value, word in enumerate(UNITS_OF_TEN)} | {"oh": "0", "o": "0", "niner": "9"}
_SMALL = {word: value for value, word in enumerate((*UNITS_OF_TEN, *TEENS))} | {"niner": 9}
_TENS = {word: 10 * (index + 2) for index, word in enumerate(TENS)} | {"fourty": 40}
_PART = {("half",): "5", ("quarter",): "25", ("three", "quarters"): "75"}
_SCALES = (("million", 10**6), ("thousand", 10**3))

NUMBER_WORDS = frozenset({*_DIGIT, *_SMALL, *_TENS, "hundred", "thousand", "million", "point", "and", "minus", "a"})
"""Every word that can stand inside a spoken number (halves and quarters apart)."""

_LITERAL = re.compile(r"[+-]?\d{1,9}(?:\.\d{1,6})?(?![\d.,])", re.ASCII)
_SPACED_DIGITS = re.compile(r"\d(?:(?: \d)+|(?:-\d){2,})(?![\d.,-])", re.ASCII)  # 1 3 4 2, or as cast: 1-3-4-2
EXAMPLE = "say a number and its unit, such as one one eight p s i, or twelve point six volts"


def hear_number(text: str) -> str:
    """The number in `text` as digits, with the unit's symbol when one was said: "118 psi", "12.6 V", "105".

    Takes words ("one eighteen", "a hundred and five", "two and a half seconds") and digits ("118 psi").
    Raises NumberError, in one sentence, for anything else.
    """
    if len(text) > 120:
        raise NumberError(f"That is too long for a number; {EXAMPLE}.")
    plain = text.strip().rstrip(".!?").strip()
    number, rest = _split_digits(plain) or _split_words(plain)
    symbol = _symbol(rest, plain)
    return f"{number}{symbol}" if symbol.startswith(":") else f"{number} {symbol}".rstrip()


def say_number(number: str) -> str:
    """The number written `number` (digits, perhaps a sign and a point) in words: "one hundred and eighteen".

    Raises NumberError when `number` is not one plain number of at most nine digits before the point.
    """
    sign, whole, part = _plain(number)
    words = [*(["minus"] if sign == "-" else []), _whole_words(int(whole))]
    return " ".join([*words, *(["point", *_digit_words(part)] if part else [])])


def say_digits(number: str) -> str:
    """The number digit by digit, for a read-back that cannot be misheard: "one two point six"."""
    sign, whole, part = _plain(number)
    words = [*(["minus"] if sign == "-" else []), *_digit_words(whole)]
    return " ".join([*words, *(["point", *_digit_words(part)] if part else [])])


def say_ordinal(value: int) -> str:
    """The ordinal of a whole number: 1 "first", 22 "twenty-second", 100 "one hundredth"."""
    words = _whole_words(value)
    cut = max(words.rfind("-"), words.rfind(" ")) + 1
    last = words[cut:]
    irregular = {
        "one": "first", "two": "second", "three": "third", "five": "fifth",
        "eight": "eighth", "nine": "ninth", "twelve": "twelfth",
    }  # fmt: skip
    ending = irregular.get(last) or (last[:-1] + "ieth" if last.endswith("y") else last + "th")
    return words[:cut] + ending


# -- words to digits -----------------------------------------------------------------------------------------


def _split_digits(text: str) -> tuple[str, str] | None:
    """(number, rest) when `text` starts with figures, else None."""
    if not re.match(r"[+-]?[\d.]", text, re.ASCII):
        return None
    match = _SPACED_DIGITS.match(text) or _LITERAL.match(text)
    if match is None:
        if re.match(r"[+-]?\d+,\d", text, re.ASCII):
            raise NumberError(f"{text[:20]!r} has a comma; write the decimal with a point, as in 12.6.")
        raise _refusal(text)
    rest, number = text[match.end():].strip(), _joined(match.group())
    whole = number.removeprefix("-").split(".")[0]
    if re.match(r"[\d+*/^.,-]", rest) or (whole[0] == "0" and len(whole) > 1) or len(whole) > 9:
        raise _refusal(text)
    return number, rest


def _joined(digits: str) -> str:
    """One number of its digits; only a sign at its head is one."""
    inside = digits[1:].replace(" ", "").replace("-", "")
    return digits[:1].removeprefix("+") + inside


def _split_words(text: str) -> tuple[str, str]:
    """(number, rest): the longest run of words at the start that is one number."""
    words = text.lower().replace("-", " ").replace(",", " ").split()
    for end in range(len(words), 0, -1):
        number = _number(tuple(words[:end]))
        if number is not None:
            rest = words[end:]
            if rest and rest[0] in NUMBER_WORDS - {"a", "o"}:
                break
            return number, " ".join(text.replace("-", " ").replace(",", " ").split()[end:])
    raise _refusal(text)


def _number(words: tuple[str, ...]) -> str | None:
    """The digits of exactly these words, or None when they are not one number."""
    if words[0] in ("minus", "negative"):
        found = _number(words[1:]) if len(words) > 1 and words[1] not in ("minus", "negative", "plus") else None
        return None if found is None else f"-{found}"
    if words[0] == "plus":
        return _number(words[1:]) if len(words) > 1 and words[1] not in ("minus", "negative", "plus") else None
    for tail, decimals in _PART.items():
        if words[-len(tail):] == tail:
            return _with_part(words[: -len(tail)], decimals)
    if "point" in words:
        mark = words.index("point")
        whole, part = _whole(words[:mark]) if mark else "0", _decimals(words[mark + 1:])
        return None if whole is None or part is None else f"{whole}.{part}"
    return _whole(words)


def _with_part(before: tuple[str, ...], decimals: str) -> str | None:
    """`before` and a half: the words before "half", "quarter" or "three quarters"."""
    if before in ((), ("a",), ("one",)):
        return f"0.{decimals}"
    rest = before[:-1] if before[-1] in ("a", "one") else before
    if not rest or rest[-1] != "and":
        return None
    whole = _whole(rest[:-1]) if len(rest) > 1 else None
    return None if whole is None else f"{whole}.{decimals}"


def _whole(words: tuple[str, ...]) -> str | None:
    """The digits of a whole number said as a cardinal, digit by digit, or in pairs; None when none fits."""
    if not words:
        return None
    cardinal = _cardinal(words)
    if cardinal is not None:
        return str(cardinal)
    digits = _digits(words) or _pairs(words)
    return None if digits is None or digits[0] == "0" or len(digits) > 9 else digits


def _cardinal(words: tuple[str, ...]) -> int | None:
    """"two thousand three hundred and five", "a hundred", "fifteen hundred"; None when it is none."""
    total = 0
    for name, scale in _SCALES:
        if words.count(name) > 1:
            return None
        if name in words:
            mark = words.index(name)
            head = 1 if words[:mark] in ((), ("a",)) else _below_thousand(words[:mark])
            if not head or head >= 1000:
                return None
            total, words = total + head * scale, words[mark + 1:]
            if not words:
                return total
    if total and words[0] == "and":
        words = words[1:]
        if "hundred" in words:
            return None
    rest = _below_thousand(words) if words else None
    if rest is None or (total and not 0 < rest < 1000):
        return None
    return total + rest


def _below_thousand(words: tuple[str, ...]) -> int | None:
    """A cardinal without thousands; up to "ninety-nine hundred and ninety-nine"."""
    if "hundred" not in words:
        return _below_hundred(words)
    mark = words.index("hundred")
    head = 1 if words[:mark] in ((), ("a",)) else _below_hundred(words[:mark])
    rest = words[mark + 1:]
    if not head or head in range(20, 100, 10):
        return None
    if not rest:
        return head * 100
    tail = _below_hundred(rest[1:] if rest[0] == "and" else rest)
    return None if not tail else head * 100 + tail


def _below_hundred(words: Sequence[str]) -> int | None:
    """"five", "seventeen", "forty", "forty two"."""
    if len(words) == 1:
        return _SMALL.get(words[0], _TENS.get(words[0]))
    if len(words) == 2 and words[0] in _TENS and 0 < _SMALL.get(words[1], 0) < 10:
        return _TENS[words[0]] + _SMALL[words[1]]
    return None


def _digits(words: tuple[str, ...]) -> str | None:
    """"one one eight": digit by digit. "oh" is a zero only after a first digit."""
    found = [_DIGIT.get(word) for word in words]
    if None in found or words[0] in ("oh", "o"):
        return None
    return "".join(digit for digit in found if digit is not None)


def _pairs(words: tuple[str, ...]) -> str | None:
    """"one eighteen", "twelve fifty", "two oh five", "nineteen eighty seven": two chunks, the second of two digits."""
    for cut in range(1, len(words)):
        head, tail = _below_hundred(words[:cut]), words[cut:]
        if not head or head in range(30, 100, 10):  # "fifty eighteen" is more likely a correction than 5018
            continue
        low = _below_hundred(tail)
        if low is not None and low >= 10:
            return f"{head}{low}"
        if len(tail) == 2 and tail[0] in ("oh", "o") and _DIGIT.get(tail[1], "0") != "0":
            return f"{head}0{_DIGIT[tail[1]]}"
    return None


def _decimals(words: tuple[str, ...]) -> str | None:
    """Digits after "point": each by itself, or one pair ("point sixty five")."""
    if not words:
        return None
    found = [_DIGIT.get(word) for word in words]
    if None not in found:
        return "".join(d for d in found if d is not None) if len(found) <= 6 else None
    pair = _below_hundred(words)
    return f"{pair}" if pair is not None and pair >= 10 else None


def _refusal(text: str) -> NumberError:
    shown = text.strip()[:40]
    words = shown.lower().split()
    if words[:1] == ["zero"] or re.match(r"[+-]?0 ?\d", shown, re.ASCII):
        return NumberError(f"{shown!r} starts with a zero; say zero point five, or five alone.")
    return NumberError(f"{shown!r} is not one number; {EXAMPLE}.")


# -- units, from words to symbols ----------------------------------------------------------------------------


@cache
def _symbols() -> dict[str, str]:
    """What people say or write for a unit, and its symbol; case kept first, then folded."""
    table = {"degrees c": "degC", "degrees f": "degF"}
    for kind in units.KINDS.values():
        for unit in kind.units:
            for name in (unit.symbol, unit.spoken, *unit.words):
                table.setdefault(name, unit.symbol)
    for name, symbol in list(table.items()):
        table.setdefault(name.lower(), symbol)
        if name.isalpha() and len(name) <= 3:
            table.setdefault(" ".join(name.lower()), symbol)
    return table


def _symbol(words: str, text: str) -> str:
    """The symbol of the unit called `words` ("" for none). Raises NumberError when there is no such unit."""
    name = " ".join(words.split())
    if not name:
        return ""
    table = _symbols()
    for attempt in (name, name.lower(), name.lower().removesuffix("s")):
        if attempt in table:
            return table[attempt]
    raise NumberError(f"{name[:30]!r} in {text[:40]!r} is not a unit; {EXAMPLE}.")


# -- digits to words -----------------------------------------------------------------------------------------


def _plain(number: str) -> tuple[str, str, str]:
    """(sign, whole, decimals) of a plain number. Raises NumberError."""
    match = re.fullmatch(r"([+-]?)(\d{1,9})(?:\.(\d{1,12}))?", number.strip(), re.ASCII)
    if match is None:
        raise NumberError(f"{number[:20]!r} is not a plain number; write it as in 118 or 12.6.")
    return match.group(1), match.group(2), match.group(3) or ""


def _digit_words(digits: str) -> list[str]:
    return [UNITS_OF_TEN[int(digit)] for digit in digits]


def _whole_words(value: int) -> str:
    """A whole number below a thousand million in words, in the British way: with "and" and with hyphens."""
    if value < 100:
        return _two_digits(value)
    if value < 1000:
        rest = f" and {_two_digits(value % 100)}" if value % 100 else ""
        return f"{UNITS_OF_TEN[value // 100]} hundred{rest}"
    name, scale = _SCALES[0] if value >= 10**6 else _SCALES[1]
    head, tail = f"{_whole_words(value // scale)} {name}", value % scale
    if not tail:
        return head
    return f"{head} and {_whole_words(tail)}" if tail < 100 else f"{head} {_whole_words(tail)}"


def _two_digits(value: int) -> str:
    if value < 20:
        return (*UNITS_OF_TEN, *TEENS)[value]
    ten = TENS[value // 10 - 2]
    return ten if value % 10 == 0 else f"{ten}-{UNITS_OF_TEN[value % 10]}"
