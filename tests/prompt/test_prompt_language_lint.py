"""Which texts a language must have, and what can be wrong with those it has."""

from __future__ import annotations

import ast
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import firststart
from firststart.procedure.catalogue import data_folder
from firststart.procedure.library import Library
from firststart.prompt.language_file import Catalogue, Entry, read_po
from firststart.prompt.language_gather import (
    BY_HAND,
    SPOKEN,
    Message,
    code_messages,
    common_messages,
    gathered,
    messages_in,
    messages_of,
    template_of,
)
from firststart.prompt.language_lint import coverage, lint_language

PACKAGE = Path(firststart.__file__).parent
SOURCES = {file: (PACKAGE / file).read_text(encoding="utf-8") for file in SPOKEN}
SHIPPED = sorted((data_folder("procedures") / "languages").glob("*.po"))


def shipped(path: Path) -> Catalogue:
    return read_po(path.read_text(encoding="utf-8"), path.name)


def needed(library: Library, catalogue: Catalogue) -> tuple[Message, ...]:
    covers = [n for n in catalogue.field("X-Covers") if n in library.procedures]
    return (*common_messages(library), *code_messages(SOURCES), *messages_of(library, covers))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_a_shipped_language_is_whole_where_it_says_so(path: Path, library: Library) -> None:
    """No text of a covered procedure or of the code is left out, no placeholder lost, no sentence too long.

    After a change of an English text: `firststart verify --language de` names what is to be translated anew, and
    `firststart verify --language de --template` prints the catalogue with its place prepared.
    """
    catalogue = shipped(path)

    assert not lint_language(catalogue, needed(library, catalogue), library)


def test_the_card_is_covered_in_german(library: Library) -> None:
    """The six procedures of the card and what they need are among those that the German catalogue covers."""
    card = {
        "fire-readiness", "hand-turn-over", "oil-out", "oil-in", "pre-lube", "top-end-oil", "compression",
        "spark-proof", "leak-check", "first-crank", "place", "ignition-dead", "stop-controls", "clear-to-crank",
        "no-vapour", "bilge", "make-safe", "power-on", "first-run", "shut-down", "engine-profile",
    }  # fmt: skip

    assert card <= set(shipped(data_folder("procedures") / "languages" / "de.po").field("X-Covers"))


GAUGE = "Screw the gauge into cylinder {cylinder}."
PLANTED: list[tuple[str, Callable[[Entry], Entry], str]] = [
    (GAUGE, lambda e: replace(e, forms=("Schraub es ein.",)), "{cylinder} must stand"),
    (GAUGE, lambda e: replace(e, forms=("Schraub {zylinder} ein.",)),
     "{zylinder} is not in the English text"),
    ("Turn the key off.", lambda e: replace(e, forms=("",)), "not translated"),
    ("Turn the key off.", lambda e: replace(e, forms=("Dreh " * 21 + "zu.",)), "a sentence of 22 words; at most 20"),
    ("Turn the key off.", lambda e: replace(e, forms=("Dreh den Schlüssel auf Aus",)), "it ends otherwise"),
    ("Turn the key off.", lambda e: replace(e, fuzzy=True), "a guess (fuzzy)"),
    ("key off", lambda e: replace(e, forms=("Schlüssel auf die Stellung Aus",)), "at most 24 characters"),
    ("No fuel was smelt.", lambda e: replace(e, forms=("Der Motor ist sicher.",)), "never say 'sicher'"),
    ("smell of fuel", lambda e: replace(e, forms=("reine Luft",)), "is also an answer for"),
    ("smell of fuel", lambda e: replace(e, forms=("warum",)), "'warum' always means why"),
    ("{value}. Right?", lambda e: replace(e, forms=("{value} {unit}. Richtig?",)), "{unit} is not in the English text"),
]  # fmt: skip


@pytest.mark.parametrize(("msgid", "change", "problem"), PLANTED, ids=[p for _, _, p in PLANTED])
def test_each_planted_fault_is_found(
    msgid: str, change: Callable[[Entry], Entry], problem: str, library: Library
) -> None:
    """Every rule has a fault that proves it."""
    catalogue = shipped(data_folder("procedures") / "languages" / "de.po")
    spoilt = {**catalogue.entries, ("", msgid): change(catalogue.entries["", msgid])}
    found = lint_language(replace(catalogue, entries=spoilt), needed(library, catalogue), library)

    assert found
    assert any(problem in p.message for p in found)


def test_a_procedure_that_is_gone_is_named(library: Library) -> None:
    """A catalogue cannot claim to cover work that nobody knows."""
    catalogue = Catalogue({}, {"X-Covers": "steam-up"}, "xx.po")

    assert [p.message for p in lint_language(catalogue, (), library)] == [
        "X-Covers names 'steam-up', but there is no such procedure"
    ]


def test_coverage_is_told_in_one_line(library: Library) -> None:
    """How many texts are translated, how many procedures whole, and how many are spoken in English."""
    catalogue = Catalogue({("", "a"): Entry("a", ("b",))}, {"Language": "xx", "X-Covers": "place"}, "xx.po")
    told = coverage(catalogue, [Message("a", "cmd", "x"), Message("c", "cmd", "x")], library)

    assert told == f"xx: 1 of 2 texts translated; 1 procedures whole, {len(library.procedures) - 1} spoken in English."


# gathering ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "texts"),
    [
        ('x = "Stopped for now."', ["Stopped for now."]),
        ('"""A docstring is no message."""', []),
        ('x = f"That was {fact.seconds:.0f} seconds of work."', ["That was {seconds} seconds of work."]),
        ('x = f"{a} and {b} are left, {a} first."', ["{a} and {b} are left, {a_2} first."]),
        ("x = f\"Say {', '.join(offered)}.\"", ["Say {offered}."]),
        ('x = f"Not {text.strip()[:3]!r} here."', ["Not {text} here."]),
        ('x = f"{say if a else b} is gone."', ["{say} is gone."]),
        ('x = "key"; y = "some_name"; z = "%d of it"', []),
        ('x = Option("go", ("go", "go now"))', ["go", "go now"]),
        ('x = Prompt(text, "stopped", expects)', ["stopped"]),
        ('DONE_PHRASES = ("done", "next")', ["done", "next"]),
        ('x = f"{low:g} to {high:g}"', []),
        ("x = \"Noted.\"", ["Noted."]),
    ],
)
def test_english_texts_are_found_in_the_code(source: str, texts: list[str]) -> None:
    """Sentences, phrases and f-strings with named fields are gathered; names, patterns and docstrings are not."""
    assert [m.text for m in messages_in(source, "x.py")] == texts


def test_fields_are_named_after_what_stands_in_them() -> None:
    """An expression gives its last name; a second one of the same name gets a number."""
    node = ast.parse("f'{a.b} {c(d)} {e[0]} {a.b} {1 + 2}'", mode="eval").body
    assert isinstance(node, ast.JoinedStr)

    assert template_of(node) == "{b} {d} {e} {b_2} {part}"


def test_every_file_that_is_gathered_says_something() -> None:
    """No file of the list is idle, and each message told by hand belongs to a file of the list."""
    idle = [f for f, which in SPOKEN.items() if which != "none" and not list(messages_in(SOURCES[f], f, which))]
    strangers = {where for _, where in BY_HAND} - set(SPOKEN) - {"prompt/prompt.py"}

    assert not idle
    assert not strangers


def test_a_catalogue_brought_up_to_date_keeps_what_is_translated(library: Library) -> None:
    """Gathering again leaves the shipped catalogue as it is, entry by entry."""
    old = shipped(data_folder("procedures") / "languages" / "de.po")
    new = gathered(needed(library, old), old)

    assert {k: e.forms for k, e in new.entries.items()} == {k: e.forms for k, e in old.entries.items()}


def test_a_new_message_has_an_empty_place(library: Library) -> None:
    """What nobody has translated yet stands in the catalogue with nothing beside it."""
    messages = [Message("Brand new.", "cmd", "work/x.yaml a.cmd"), Message("Brand new.", "why", "work/x.yaml b.why")]
    new = gathered(messages, Catalogue({}, {}))

    assert new.entries["", "Brand new."] == Entry(
        "Brand new.", comments=("cmd", "why"), places=("work/x.yaml a.cmd", "work/x.yaml b.why")
    )
