"""A language as a catalogue: the file formats, sentences found whole and by their pattern, and what stays English."""

from __future__ import annotations

import gettext
import io
from functools import cache
from pathlib import Path

import polib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.errors import DataError
from firststart.procedure.catalogue import data_folder
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.interpret import prompt_in, words_from
from firststart.prompt.language import Language, english
from firststart.prompt.language_file import Catalogue, Entry, mo_bytes, read_po, write_po
from firststart.prompt.prompt import Prompt

SHIPPED = data_folder("procedures") / "languages" / "de.po"
HEAD = {
    "Language": "de", "Content-Type": "text/plain; charset=UTF-8",
    "Plural-Forms": "nplurals=2; plural=(n != 1);", "X-Decimal": ",",
    "X-Small-Words": "ein, eine",
}  # fmt: skip
SMALL = {
    "Next is {title}. Shall we begin?": "Nun {title}. Los?",
    "Fire readiness": "Feuerbereitschaft",
    "the place check": "die Platzprüfung",
    "{say} no longer holds.": "{say} gilt nicht mehr.",
    "{shown} is low. Expected {band}.": "{shown} ist niedrig. Erwartet {band}.",
    "Holding now: {fresh}.": "Es gilt: {fresh}.",
    "Say {offered} or {offered_2}.": "Sag {offered} oder {offered_2}.",
    "chain or gears": "Kette oder Räder",
    "old belt": "alter Riemen",
    "don't know": "weiß nicht",
    "It rests for {wait}.": "Er ruht {wait}.",
    "I did not understand {text}.": "Ich habe {text} nicht verstanden.",
    "Carry on with {job}?": "Mit {job} weiter?",
    "Stopped.": "Gestoppt.",
    "yes": "ja | jawohl",
    "Put {amount:oil} into cylinder {cylinder}.": "Gib {amount:oil} in Zylinder {cylinder}.",
    "the amount the manual gives": "die Menge laut Handbuch",
}


def catalogue(texts: dict[str, str]) -> Catalogue:
    entries = {("", m): Entry(m, (t,)) for m, t in texts.items()}
    extra = (
        Entry("{n} second", ("{n} Sekunde", "{n} Sekunden"), plural="{n} seconds"),
        Entry("{n} minute", ("{n} Minute", "{n} Minuten"), plural="{n} minutes"),
        Entry("to", ("bis",), "value"), Entry("and", ("und",), "value"), Entry("about", ("etwa",), "value"),
        Entry("volts", ("Volt",), "unit"), Entry("stop", ("stopp | halt",), "always"), Entry("no", ("nein",), "always"),
    )  # fmt: skip
    return Catalogue({**entries, **{e.key: e for e in extra}}, HEAD, "small.po")


@cache
def small() -> Language:
    return Language("de", catalogue(SMALL))


@pytest.mark.parametrize(
    ("said", "here"),
    [
        ("Stopped.", "Gestoppt."),
        ("Next is fire readiness. Shall we begin?", "Nun Feuerbereitschaft. Los?"),
        ("The place check no longer holds.", "Die Platzprüfung gilt nicht mehr."),
        ("118 psi is low. Expected 120 to 150 psi.", "118 psi ist niedrig. Erwartet 120 bis 150 psi."),
        ("8.1 bar is low. Expected about 9 bar.", "8.1 bar ist niedrig. Erwartet etwa 9 bar."),
        ("It rests for 1 minute.", "Er ruht 1 Minute."),
        ("It rests for 2 minutes 30 seconds.", "Er ruht 2 Minuten 30 Sekunden."),
        ("Holding now: the place check, fire readiness.", "Es gilt: die Platzprüfung, Feuerbereitschaft."),
        ("Say chain or gears, old belt or don't know.", "Sag Kette oder Räder, alter Riemen oder weiß nicht."),
        ("I did not understand 'mumble'.", "Ich habe 'mumble' nicht verstanden."),
        ("Carry on with green twin?", "Mit green twin weiter?"),
        ("Put 7 ml into cylinder 2.", "Gib 7 ml in Zylinder 2."),
        ("Put the amount the manual gives into cylinder 1.", "Gib die Menge laut Handbuch in Zylinder 1."),
        ("Stopped. It rests for 3 seconds. Stopped.", "Gestoppt. Er ruht 3 Sekunden. Gestoppt."),
        ("  Stopped.\n\nFire readiness", "  Gestoppt.\n\nFeuerbereitschaft"),
        ("yes", "ja"),
    ],
)
def test_sentences_are_translated_whole(said: str, here: str) -> None:
    """As they stand, by pattern with their fields translated in turn, one after another, and line by line."""
    assert small().text(said) == here


@pytest.mark.parametrize(
    "said",
    [
        "Nobody has translated this.",
        "Next is something nobody knows. Shall we begin?",
        "Holding now: the place check, what nobody knows.",
        "Stopped. Nobody has translated this.",
        "It rests for a while.",
    ],
)
def test_what_is_not_known_whole_stays_english(said: str) -> None:
    """Nothing is half translated: one unknown part leaves the sentence as it was."""
    assert small().text(said) == said


@given(st.text(max_size=60))
def test_no_text_breaks_a_language(text: str) -> None:
    """Whatever is said, something is said, with as many lines."""
    assert small().text(text).count("\n") == text.count("\n")


@pytest.mark.parametrize(
    ("text", "spoken"),
    [
        ("12.6 V bei 20 °C", "12,6 Volt bei 20 °C"),
        ("Lies 118 psi.", "Lies 118 psi."),
        ("Nicht 4V/m.", "Nicht 4V/m."),
        ("Um 10 Uhr.", "Um 10 Uhr."),
    ],
)
def test_units_and_decimals_are_made_for_the_ear(text: str, spoken: str) -> None:
    """A unit after a number is named, a point between digits becomes the mark of the language."""
    assert small().spoken(text) == spoken


def test_english_needs_no_catalogue() -> None:
    """The language that everything is written in changes nothing, not even a prompt."""
    prompt = Prompt("Do it.", "do it", Expectation("action", (Option("done", ("done",)),)))

    assert english().text("Do {it}. 12.6 V") == "Do {it}. 12.6 V"
    assert prompt_in(english(), prompt) is prompt


def test_answers_are_offered_in_the_language_and_understood_in_both() -> None:
    """The first phrase is the one of the language; English stays understood behind it."""
    expects = Expectation("choice", (Option("yes", ("yes", "surely")),))
    made = prompt_in(small(), Prompt("Stopped.", "stopped", expects))

    assert made.expects.options[0].phrases == ("ja", "jawohl", "yes", "surely")
    assert [words_from(small(), w, expects) for w in ("Jawohl", "yes", "HALT", "nein", "egal")] == [
        "yes", "yes", "stop", "no", "egal",
    ]  # fmt: skip


def test_an_answer_is_understood_without_its_article() -> None:
    """Who types "Motorrad" means "ein Motorrad"; a word that two answers share is neither."""
    words = {"motorbike": "ein Motorrad", "a wheel": "ein Rad", "wheels": "eine Rad"}
    here = Language("de", catalogue({**SMALL, **words}))
    expects = Expectation("choice", tuple(Option(w, (w,)) for w in words))

    heard = [words_from(here, w, expects) for w in ("Motorrad", "ein motorrad", "Rad")]

    assert ["motorbike", "motorbike", "Rad"] == heard


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("12.6 volt", "12.6 V"), ("12.6 Volt", "12.6 V"), ("12.6 V", "12.6 V"), ("12,6 Volt", "12,6 Volt"), ("4", "4")],
)
def test_units_are_understood_by_their_names(typed: str, meant: str) -> None:
    """A unit's name becomes its symbol; a decimal comma is left for the parser to refuse."""
    assert words_from(small(), typed, Expectation("measure", quantity="voltage", unit="V")) == meant


# the files ----------------------------------------------------------------------------------------------------


@pytest.mark.external
def test_the_shipped_catalogue_is_read_as_polib_reads_it() -> None:
    """Message by message the same: context, text, plural, translation, flags (polib, a general-purpose library)."""
    ours = read_po(SHIPPED.read_text(encoding="utf-8"), "de.po")
    theirs = polib.pofile(str(SHIPPED), wrapwidth=0)
    plain = {
        (e.msgctxt or "", e.msgid): (tuple(e.msgstr_plural.values()) or (e.msgstr,), e.msgid_plural, "fuzzy" in e.flags)
        for e in theirs
    }

    assert {k: (e.forms, e.plural, e.fuzzy) for k, e in ours.entries.items()} == plain
    assert dict(ours.header) == theirs.metadata


@pytest.mark.external
def test_the_compiled_form_is_read_by_gettext_and_by_polib(tmp_path: Path) -> None:
    """What `mo_bytes` makes, Python's gettext and polib's reader both take, with contexts and plurals."""
    made = mo_bytes(catalogue(SMALL))
    standard = gettext.GNUTranslations(io.BytesIO(made))
    (tmp_path / "small.mo").write_bytes(made)
    theirs = {(e.msgctxt or "", e.msgid): e.msgstr for e in polib.mofile(str(tmp_path / "small.mo"))}

    assert standard.gettext("Stopped.") == "Gestoppt."
    assert standard.pgettext("value", "to") == "bis"
    assert [standard.ngettext("{n} second", "{n} seconds", n) for n in (1, 2)] == ["{n} Sekunde", "{n} Sekunden"]
    assert theirs["", "Stopped."] == "Gestoppt."
    assert theirs["unit", "volts"] == "Volt"


@given(st.text(min_size=1, max_size=40), st.text(max_size=40), st.text(max_size=10))
def test_a_catalogue_written_is_the_catalogue_read(msgid: str, msgstr: str, context: str) -> None:
    """Any text without odd line ends comes back from the file as it went in."""
    plain = [t.translate({n: None for n in range(32) if n not in (9, 10)}) for t in (msgid, msgstr, context)]
    plain = ["".join(c for c in t if c not in "\x7f\x85\u2028\u2029") for t in plain]
    entry = Entry(plain[0] or "x", (f"y{plain[1]}" if plain[1] else "",), plain[2])
    written = write_po(Catalogue({entry.key: entry}, HEAD, "x.po"))
    again = read_po(written, "x.po").entries[entry.key]

    assert (again.msgid, again.forms, again.context) == (entry.msgid, entry.forms, entry.context)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('msgid "a"\nmsgstr b', "x.po:2: cannot be read"),
        ('msgid "a\nmsgstr "b"', "x.po:1: cannot be read"),
        ('msgid "a"\nmsgstr "b"\n\nmsgid "a"\nmsgstr "c"', "x.po:4: 'a' stands in line 1 too"),
        ('hello\n', "x.po:1: cannot be read"),
        ('msgid "a\\q"\nmsgstr "b"', "x.po:1: cannot be read"),
    ],
)
def test_a_catalogue_that_cannot_be_read_says_where(text: str, problem: str) -> None:
    """Each fault of the file has its line."""
    with pytest.raises(DataError) as caught:
        read_po(text, "x.po")

    assert str(caught.value).startswith(problem)


def test_a_guess_counts_as_not_translated() -> None:
    """A message marked fuzzy is not spoken before somebody has looked at it."""
    text = '#, fuzzy\nmsgid "Stopped."\nmsgstr "Vielleicht gestoppt."\n'

    assert Language("de", read_po(text, "x.po")).text("Stopped.") == "Stopped."


def test_a_users_own_catalogue_goes_over_the_shipped_one() -> None:
    """Own entries win, those without a translation take nothing away, and what either covers is covered."""
    shipped = Catalogue({("", "a"): Entry("a", ("1",)), ("", "b"): Entry("b", ("2",))}, {"X-Covers": "place"}, "de.po")
    own = Catalogue({("", "a"): Entry("a", ("",)), ("", "b"): Entry("b", ("3",))}, {"X-Covers": "mine"}, "own.po")
    both = shipped.with_own(own)

    assert {k[1]: e.forms[0] for k, e in both.entries.items()} == {"a": "1", "b": "3"}
    assert both.field("X-Covers") == ("place", "mine")


@pytest.mark.parametrize("form", [" ", "...", "\u200b", "\u202e  -"])
def test_a_translation_that_says_nothing_is_refused(form: str) -> None:
    """A caution cannot be blanked out by a catalogue of one's own; an empty translation leaves the English text."""
    text = f'msgid ""\nmsgstr "Language: xx\\n"\n\nmsgid "Exhaust gas kills."\nmsgstr "{form}"\n'
    with pytest.raises(DataError, match="says nothing"):
        read_po(text, "xx.po")
    empty = read_po(text.replace(f'"{form}"', '""'), "xx.po")

    assert "Exhaust gas kills." == Language("xx", empty).text("Exhaust gas kills.")
