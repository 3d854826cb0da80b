"""Text for the eye turned into words for the ear, with nothing left for a synthesiser to guess.

`spoken` works through the text once, from left to right: at each place the first rule that fits says its
words. Figures, units, symbols and abbreviations become words; what is ambiguous ("12,6") or unknown ("§")
stays as it is, so that `problems` can name it to the author. Speaking twice changes nothing.

How a thing is said is the trade's common practice (no source): "p s i" and "r p m" as letters, "twelve point
six volts" with the digits after the point one by one, years in pairs, ratios with "to one".
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

from firststart.prompt.numbers import NUMBER_WORDS, say_number, say_ordinal
from firststart.prompt.saying import ABBREVIATIONS, CAPITALS, code_part, figure, mixed, one_of, unit_table, year_words

_SYMBOLS = {
    "%": "per cent", "&": "and", "+": "plus", "=": "equals", "±": "plus or minus", "×": "times", "÷": "divided by",
    "<": "less than", ">": "more than", "≤": "at most", "≥": "at least", "≈": "about", "~": "about", "°": "degrees",
    "Ω": "ohms", "@": "at", "→": "then", "½": "one half", "¼": "one quarter", "¾": "three quarters",
    "²": "squared", "³": "cubed", "µ": "micro", "μ": "micro", "√": "root of", "#": "number", "€": "euros",
    "£": "pounds", "$": "dollars", "✓": "yes",
}  # fmt: skip
_SILENT = "\"“”„«»*_`^|\\{}\u00ad\u200b\u200d\ufeff•"
_PAUSES = {"(": ",", ")": ",", "[": ",", "]": ",", "–": ",", "—": ",", "-": ",", "…": ".", "/": ","}

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip
_YEAR_BEFORE = frozenset({
    "in", "since", "from", "until", "till", "of", "year", "before", "after", "about", "circa", "made", "built",
    "dated", "by", "to", "and",
})  # fmt: skip
_FRACTIONS = {2: ("half", "halves"), 4: ("quarter", "quarters")}
_MOST_PASSES = 6

_Rule = tuple[re.Pattern[str], Callable[[re.Match[str], "_Place"], str | None]]


class _Place:
    """Where the scan stands: the words already said, and what still follows."""

    def __init__(self, said: list[str], after: str) -> None:
        self.said, self.after = said, after

    @property
    def before(self) -> str:
        """The last word said, folded; "" at the start or after punctuation."""
        return self.said[-1].lower() if self.said else ""


def spoken(text: str) -> str:
    """`text` as words: "12.6 V at 20 °C" gives "twelve point six volts at twenty degrees celsius".

    Total and idempotent. What it cannot say for certain stays in the text; `problems` finds it.
    """
    for _ in range(_MOST_PASSES):
        before, text = text, _once(text)
        if text == before:
            break
    return text


def _once(text: str) -> str:
    """One pass of the rules. What a first pass leaves standing beside words may become clear in a second."""
    said: list[str] = []
    at = 0
    while at < len(text):
        for pattern, say in _rules():
            match = pattern.match(text, at)
            words = say(match, _Place(said, text[match.end():])) if match else None
            if match and words is not None:
                said.extend(words.split())
                at = match.end()
                break
        else:
            said.append(text[at])
            at += 1
    return _join(said)


def problems(text: str) -> list[str]:
    """What a synthesiser would have to guess in `text` taken as it stands, one clear phrase each; [] when nothing.

    Meant for `problems(spoken(text))`: what is named there the author must write out in words.
    """
    found: list[str] = []
    for token in text.split():
        core = token.strip(".,;:?!'")
        if any(c.isdigit() for c in core):
            found.append(f"{core!r} has figures that can be read in more than one way")
        elif odd := sorted({c for c in core if not (c.isalpha() or c in "'’-.,;:?!")}):
            found.append(f"{core!r} has {' '.join(odd)}, which has no sure spoken form")
        elif len(core) > 1 and core.isupper():
            found.append(f"{core!r} is in capitals; write how it is said")
        elif len(core) > 1 and core.isascii() and core.isalpha() and not re.search("[aeiouy]", core, re.IGNORECASE):
            found.append(f"{core!r} looks like an abbreviation; write it out")
    return found


def word_count(text: str) -> int:
    """How many words `text` has when it is spoken; letters said one by one ("p s i") count as one word."""
    said = spoken(text)
    letters = sum(run.group().count(" ") for run in re.finditer(r"(?<![\w'’-])(?:[a-z] )+[a-z](?![\w'’-])", said))
    return sum(1 for _ in re.finditer(r"[^\W\d_][\w'’-]*|\d+", said)) - letters


# -- joining -------------------------------------------------------------------------------------------------


def _join(said: list[str]) -> str:
    """Words with single spaces, punctuation on the word before it, and no pause after a pause."""
    out: list[str] = []
    for item in said:
        if item not in (",", ".", ";", ":", "?", "!"):
            out.append(item)
        elif not out:
            continue
        elif out[-1][-1] in ",;:.?!":
            if out[-1][-1] in ",;:" and item in ".?!":
                out[-1] = out[-1][:-1] + item
        else:
            out[-1] += item
    return " ".join(out).rstrip(",;:")


# -- the rules, in order -------------------------------------------------------------------------------------


def _number(match: re.Match[str], place: _Place) -> str | None:
    """A plain number with or without a unit, a range, a fraction; the unit's words follow the value."""
    first, second = match["first"].replace(",", ""), (match["second"] or "").replace(",", "")
    unit, said = match["unit"] or "", [figure(first, match["sign"])]
    if second and float(second) <= float(first):
        return None
    if second:
        said.append(f"to {figure(second)}")
    if unit == "in" and not _is_inch(first + second, place.after):
        return None
    if not unit and not second and _is_year(first, place):
        return year_words(int(first))
    return " ".join([*said, _unit_words(unit, second or first, _attributive(place))]).strip()


def _bare_number(match: re.Match[str], place: _Place) -> str:
    number = match["first"].replace(",", "")
    return year_words(int(number)) if _is_year(number, place) else figure(number, match["sign"])


def _is_inch(number: str, after: str) -> bool:
    """Whether "in" after a number is the unit and not the preposition ("2 in turn")."""
    return "." in number or not re.match(r"\s+[^\W_]", after)


def _is_year(number: str, place: _Place) -> bool:
    return bool(re.fullmatch(r"1[89][0-9]{2}|20[0-9]{2}", number)) and place.before in _YEAR_BEFORE


def _attributive(place: _Place) -> bool:
    """Whether number and unit stand before a noun, as in "a 12 V battery": then the unit is singular."""
    return place.before in ("a", "an") and bool(re.match(r"\s+[^\W\d_]", place.after))


def _unit_words(symbol: str, number: str, singular: bool) -> str:
    if not symbol:
        return ""
    plural = unit_table()[symbol]
    return one_of(plural) if singular or re.fullmatch(r"1(\.0+)?", number) else plural


def _fraction(match: re.Match[str], place: _Place) -> str | None:
    """"3/8", "1 1/2 in": halves, quarters, and the rest as ordinals."""
    whole, top, bottom, unit = match["whole"], int(match["top"]), int(match["bottom"]), match["unit"] or ""
    if bottom not in (2, 3, 4, 8, 16, 32, 64) or not 0 < top < bottom:
        return None
    one, many = _FRACTIONS.get(bottom, (say_ordinal(bottom), say_ordinal(bottom) + "s"))
    said = f"{say_number(str(top))} {one if top == 1 else many}"
    said = mixed(whole, said)
    return said + _fraction_unit(unit, bool(whole), place)


def _fraction_unit(unit: str, mixed: bool, place: _Place) -> str:
    if not unit:
        return ""
    plural = unit_table()[unit]
    if mixed:
        return f" {one_of(plural) if _attributive(place) else plural}"
    return f" {one_of(plural)}"


def _sign_fraction(match: re.Match[str], place: _Place) -> str:
    said = mixed(match["whole"], _SYMBOLS[match["part"]])
    return said + _fraction_unit(match["unit"] or "", bool(match["whole"]), place)


def _ratio(match: re.Match[str], _: _Place) -> str:
    return f"{figure(match['a'])} to {figure(match['b'])}"


def _time(match: re.Match[str], _: _Place) -> str:
    hour, minute = int(match["h"]), int(match["m"])
    if minute == 0:
        return f"{say_number(str(hour))} hundred hours"
    return f"{say_number(str(hour))} {'oh ' if minute < 10 else ''}{say_number(str(minute))}"


def _date(match: re.Match[str], _: _Place) -> str | None:
    year, month, day = int(match["y"]), int(match["mo"]), int(match["d"])
    if not (1 <= month <= 12 and 1 <= day <= 31 and year >= 1000):
        return None
    return f"{say_ordinal(day)} of {_MONTHS[month - 1]} {year_words(year)}"


def _ordinal(match: re.Match[str], _: _Place) -> str:
    return say_ordinal(int(match["n"]))


def _oil_grade(match: re.Match[str], _: _Place) -> str:
    return f"{say_number(match['cold'])} w {say_number(match['hot'])}"


def _code(match: re.Match[str], _: _Place) -> str | None:
    """A name of letters and figures ("E10", "BPR6ES"): letters one by one, short numbers as numbers."""
    token = match.group()
    if not any(c.isalpha() for c in token) or not any(c.isdigit() for c in token):
        return None
    if token.lower() in ABBREVIATIONS:
        return ABBREVIATIONS[token.lower()]
    parts = re.findall(r"[A-Za-z]+|\d+", token)
    return " ".join(code_part(part) for part in parts)


def _hyphen_unit(match: re.Match[str], _: _Place) -> str:
    """"12-volt battery", "10-second crank"."""
    return f"{figure(match['n'])} {match['word']}"


def _number_sign(match: re.Match[str], _: _Place) -> str:
    return f"number {figure(match['n'])}"


def _word(match: re.Match[str], place: _Place) -> str | None:
    """A word: abbreviations written out, capitals lowered or spelled, all else as it stands."""
    word = match.group()
    folded = word.lower()
    if word.endswith(".") and folded not in ABBREVIATIONS:
        return None
    if folded in ABBREVIATIONS and not (len(word) == 2 and word[0].isupper() and word[1].islower() and not place.said):
        ending = "." if word.endswith(".") and not place.after.strip() else ""
        return f"{ABBREVIATIONS[folded]} {ending}"
    if len(word) > 1 and word.isupper() and word.isalpha():
        spell = len(word) <= 4 and word.isascii() and word not in CAPITALS
        return " ".join(folded) if spell else folded
    return word


def _bare_unit(match: re.Match[str], _: _Place) -> str:
    return unit_table()[match["unit"]]


def _times(_: re.Match[str], place: _Place) -> str | None:
    """"2 x 10 s": a letter between two numbers multiplies."""
    return "times" if place.before.rpartition("-")[2] in NUMBER_WORDS - {"a", "and"} else None


def _slash(_: re.Match[str], place: _Place) -> str | None:
    """"on/off" is a choice."""
    return "or" if place.said and re.match(r"[^\W\d_]", place.after) else None


def _silent(_: re.Match[str], __: _Place) -> str:
    return ""


def _symbol(match: re.Match[str], _: _Place) -> str:
    return _SYMBOLS[match.group()]


def _pause(match: re.Match[str], _: _Place) -> str:
    return _PAUSES[match.group()]


def _same(match: re.Match[str], _: _Place) -> str:
    return match.group()


@cache
def _rules() -> tuple[_Rule, ...]:
    """The patterns are made when something is first said: a bench without a voice never needs them."""
    unit = "|".join(re.escape(name) for name in sorted(unit_table(), key=len, reverse=True))
    per = "|".join(re.escape(name) for name in unit_table() if "/" in name)
    num = r"(?:[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?|[0-9]+(?:\.[0-9]+)?|\.[0-9]+)"
    start = r"(?<![\w.,])"
    end = r"(?![\w]|[.,:/–-][0-9])"
    one_unit = rf"(?P<unit>{unit})(?![\w²³]|[/·]\w)"
    return tuple((re.compile(pattern), say) for pattern, say in (
        (r"\s+", _silent),
        (rf"{start}(?P<y>[0-9]{{4}})-(?P<mo>[0-9][0-9])-(?P<d>[0-9][0-9]){end}", _date),
        (rf"{start}(?P<cold>[0-9]{{1,2}})W-?(?P<hot>[0-9]{{2}}){end}", _oil_grade),
        (rf"{start}(?P<h>[01]?[0-9]|2[0-3]):(?P<m>[0-5][0-9]){end}", _time),
        (rf"{start}(?P<a>{num}) ?: ?(?P<b>[0-9]){end}", _ratio),
        (rf"{start}(?P<n>[0-9]{{1,4}})(?:st|nd|rd|th)\b", _ordinal),
        (rf"(?:#|\b[Nn]o\. ?)(?P<n>[0-9]+){end}", _number_sign),
        (rf"{start}(?:(?P<whole>[0-9]{{1,3}})[ -])?(?P<top>[0-9]{{1,2}})/(?P<bottom>[0-9]{{1,2}})"
         rf"(?:[ -]?{one_unit})?{end}", _fraction),
        (rf"{start}(?P<whole>[0-9]{{1,3}})? ?(?P<part>[½¼¾])(?: ?{one_unit})?", _sign_fraction),
        (rf"{start}(?P<sign>[-−+](?=[0-9.]))?(?P<first>{num})(?: ?[-–] ?(?P<second>{num}))?[ -]?{one_unit}", _number),
        (rf"{start}(?P<sign>[-−+](?=[0-9.]))?(?P<first>{num})(?: ?[-–] ?(?P<second>{num}))(?P<unit>){end}", _number),
        (rf"{start}(?P<n>[0-9]+(?:\.[0-9]+)?)-(?P<word>[a-z]{{3,}}){end}", _hyphen_unit),
        (rf"{start}(?P<sign>[-−+](?=[0-9.]))?(?P<first>{num}){end}", _bare_number),
        (rf"(?<!\w)(?P<unit>{per})(?![\w/])", _bare_unit),
        (r"[xX*](?= ?[0-9])", _times),
        (r"(?<!\w)[A-Za-z0-9]+(?:-?[A-Za-z0-9]*[0-9][A-Za-z0-9]*)?(?![\w]|[.,/]\w)", _code),
        (r"(?<!\w)[Ww]/[Oo]?(?!\w)|(?<!\w)[Aa]nd/or(?!\w)", _word),
        (r"(?<!\w)(?:[eE]\.g|[iI]\.e|[A-Za-z]+)\.(?!\w)", _word),
        (r"[^\W\d_]+(?:['’-][^\W\d_]+)*", _word),
        (r"/", _slash),
        (r"[,.;:?!]", _same),
        (r"[%&+=±×÷<>≤≥≈~°Ω@→½¼¾²³µμ√#€£$✓]", _symbol),
        ("[" + re.escape(_SILENT) + "]", _silent),
        (r"[-()\[\]–—…/]", _pause),
        (r"[^\s,.;:?!]*\d[^\s]*\d|\d", _same),
    ))  # fmt: skip

