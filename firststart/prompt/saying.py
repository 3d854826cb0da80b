"""How single things are said: a figure, a year, a unit in the singular, a code, a fraction with a whole.

The trade's common practice (no source). `spoken` finds these things in a text; this file knows their words.
"""

from __future__ import annotations

import re
from functools import cache

from firststart import units
from firststart.prompt.numbers import say_digits, say_number

ABBREVIATIONS = {
    "btdc": "before top dead centre", "atdc": "after top dead centre", "tdc": "top dead centre",
    "bdc": "bottom dead centre", "bbdc": "before bottom dead centre", "abdc": "after bottom dead centre",
    "ppe": "protective gear", "ok": "okay", "co2": "carbon dioxide", "co": "carbon monoxide",
    "e.g.": "for example", "eg.": "for example", "i.e.": "that is", "etc.": "and so on", "etc": "and so on",
    "approx.": "about", "approx": "about", "vs.": "against", "vs": "against", "max.": "maximum",
    "max": "maximum", "min.": "minimum", "min": "minimum", "temp.": "temperature", "temp": "temperature",
    "cyl.": "cylinder", "cyl": "cylinder", "qty": "quantity", "qty.": "quantity", "incl.": "including",
    "w/o": "without", "w/": "with", "and/or": "or", "fig.": "figure", "dia.": "diameter", "wt": "weight",
    "hrs": "hours", "hr": "hour", "secs": "seconds", "sec": "second", "mins": "minutes", "std": "standard",
    "ph": "p h", "kpa": "kilopascals", "psi": "p s i", "rpm": "r p m", "mm": "millimetres", "cm": "centimetres",
    "ml": "millilitres", "cc": "c c", "kg": "kilograms", "ft": "feet", "nm": "newton metres", "mv": "millivolts",
    "kv": "kilovolts", "ah": "amp hours", "hz": "hertz", "thru": "through",
}  # fmt: skip
"""Abbreviations and bare unit symbols, lower case, and what is said for them."""

CAPITALS = frozenset({
    "DANGER", "WARNING", "CAUTION", "NOTICE", "STOP", "GO", "NOT", "NO", "YES", "ON", "OFF", "AND", "OR", "NEVER",
    "ALWAYS", "DO", "OUT", "IN", "UP", "DOWN", "ALL", "NOW", "DOT", "OPEN", "SHUT", "HOT", "COLD", "KEY", "FUEL",
    "OIL", "ONE", "TWO", "ONLY", "BOTH", "EACH", "RUN", "WAIT", "PASS", "FAIL", "LEFT",
})  # fmt: skip
"""Ordinary words that people write in capitals; every other short word in capitals is spelled."""

_MASS_WORDS = ("p s i", "bar", "thou", "kelvin", "r p m", "per cent", "horsepower", "to one", "specific gravity")


def figure(number: str, sign: str | None = "") -> str:
    """One number in words; a lost zero ("007") or a very long one is said digit by digit."""
    whole = number.split(".")[0]
    minus = "minus " if sign in ("-", "−") else "plus " if sign == "+" else ""
    if number.startswith("."):
        return f"{minus}zero point {one_by_one(number[1:])}"
    if len(whole) > 9 or len(number) - len(whole) > 7 or (len(whole) > 1 and whole[0] == "0"):
        return minus + one_by_one(number)
    return minus + say_number(number)


def year_words(year: int) -> str:
    """1987 "nineteen eighty-seven", 1905 "nineteen oh five", 2000 "two thousand"."""
    if 2000 <= year < 2010:
        return say_number(str(year))
    high, low = divmod(year, 100)
    tail = "hundred" if low == 0 else f"oh {say_number(str(low))}" if low < 10 else say_number(str(low))
    return f"{say_number(str(high))} {tail}"


def one_of(plural: str) -> str:
    """The singular of a unit's spoken form: "millilitres per minute" gives "millilitre per minute"."""
    if not plural or plural.startswith(_MASS_WORDS):
        return plural
    head, *rest = re.split(r" (?=(?:per|of|celsius|fahrenheit|by|d|a)\b)", plural, maxsplit=1)
    irregular = {"feet": "foot", "inches": "inch", "henries": "henry"}
    *lead, last = head.split()
    last = next((last.removesuffix(p) + s for p, s in irregular.items() if last.endswith(p)), last.removesuffix("s"))
    return " ".join([*lead, last, *rest])


def mixed(whole: str | None, part: str) -> str:
    """A whole number, if there is one, and a fraction in words: "two and a half"."""
    return f"{say_number(whole)} and {re.sub('^one ', 'a ', part)}" if whole else part


def code_part(part: str) -> str:
    """The letters or the figures of a code such as BPR6ES: letters one by one, short numbers as numbers."""
    if part.isdigit():
        return say_number(part) if len(part) <= 2 and part[0] != "0" else one_by_one(part)
    return " ".join(part.lower()) if part.isupper() or len(part) <= 2 else part.lower()


def one_by_one(figures: str) -> str:
    """Any number of figures and points, one by one: "zero zero seven"."""
    return " ".join("point" if figure == "." else say_digits(figure) for figure in figures)


@cache
def unit_table() -> dict[str, str]:
    """Every written unit (case kept) and its spoken plural, from the closed list of `units`."""
    table: dict[str, str] = {}
    for kind in units.KINDS.values():
        for unit in kind.units:
            for name in (unit.symbol, *unit.words):
                if name and not re.search(r"[a-z]{4,} | [a-z]{4,}", name):
                    table.setdefault(name, unit.spoken)
    words = {name for name, said in table.items() if len(name) > 3 and name.isalpha() and name.islower()}
    table |= {"RPM": "r p m", "PSI": "p s i", "V DC": "volts d c", "V AC": "volts a c", "VDC": "volts d c"}
    table |= {"°C": "degrees celsius", "°F": "degrees fahrenheit", "lbf·ft": "foot pounds", "N·m": "newton metres"}
    table |= {"hr": "hours", "hrs": "hours", "secs": "seconds", "mins": "minutes", "Hz": "hertz", "lb": "pounds"}
    return {name: said for name, said in table.items() if name not in words and name != "sg"}
