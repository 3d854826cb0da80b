"""No figure without its source: limits, starters, kinds of engine, and every figure on the screen."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from firststart.physics.subject import MARKS
from firststart.procedure.catalogue import data_folder
from firststart.procedure.library import Library

FOLDER = data_folder("procedures")
COUNT = (
    "half|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty|sixty|hundred"
)
UNIT = (
    r"(?i:seconds?|minutes?|hours?|days?|weeks?|months?|(?:centi|milli|kilo)?metres?|inch(?:es)?|(?:milli|kilo)?volts?|"
    r"amps?|(?:kilo|meg)?ohms?|(?:milli)?bar|psi|kilopascals?|degrees?|(?:milli)?litres?|per cent|(?:kilo)?grams?)|"
    r"mm|cm|ml|kg|Nm|V|A"
)
FIGURE = re.compile(
    rf"\b(?i:\d[\d.,/]*|tenths|hundredths|{COUNT})(?: (?:to|or) (?i:\d[\d.,]*|{COUNT}))?"
    rf"[ -](?:of an? )?(?:{UNIT})\b"
)
STANDARD = r"\b(?:ISO|IEC|SAE|DIN|ANSI|NFPA|API|ASTM|CFR|TM|FM|IPCC|OSHA|NIOSH|EN|JIS) ?[\dA-Z-]"
BRACKET = r"\([^)]*(?:[A-Z]\w+|source|computed)[^)]*\)"
WORDS = "common practice, no source|from memory|secondary copy|stands beside it in the limits"
SOURCE = re.compile(rf"{WORDS}|{STANDARD}|{BRACKET}")
NO_FIGURE_OF_THE_TRADE = {  # step: why its number needs no source
    ("engine-profile", "altitude"): "how near an estimate must be, not a fact of engines",
}  # fmt: skip


def sourced(entry: Any, path: str) -> Iterator[tuple[str, str]]:
    """Every entry of a data file that holds a value or a class, with what it lacks of a source and a mark."""
    if not isinstance(entry, dict):
        return
    if {"source", "mark", "value", "word", "number"} & set(entry):
        for key in ("source", "mark"):
            if not str(entry.get(key, "")).strip():
                yield path, key
        if "mark" in entry and entry["mark"] not in MARKS:
            yield path, f"mark {entry['mark']!r}"
        return
    for name, inner in entry.items():
        yield from sourced(inner, f"{path}.{name}")


def lacking(path: Path) -> list[tuple[str, str]]:
    return list(sourced(yaml.safe_load(path.read_text(encoding="utf-8")), path.stem))


FILES = [FOLDER / "starters.yaml", *sorted(FOLDER.glob("limits/*.yaml")), *sorted(FOLDER.glob("engines/*.yaml"))]


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_every_entry_has_a_source_and_a_mark(path: Path) -> None:
    """No limit, duty class, model constant or default stands without where it comes from and how it was read."""
    assert not lacking(path)


def test_a_class_of_starters_is_looked_at_whole() -> None:
    """Every class of starters.yaml is itself an entry with a source, so the check above did see it."""
    classes = yaml.safe_load((FOLDER / "starters.yaml").read_text(encoding="utf-8"))["classes"]

    assert not [name for name, body in classes.items() if "source" not in body or "mark" not in body]
    assert len(classes) > 5


@pytest.mark.parametrize(
    ("entry", "found"),
    [
        ({"a": {"value": 1, "source": "a page"}}, [("x.a", "mark")]),
        ({"a": {"value": 1, "mark": "read"}}, [("x.a", "source")]),
        ({"a": {"word": "b", "source": "a page", "mark": "heard"}}, [("x.a", "mark 'heard'")]),
        ({"a": {"value": 1, "source": "a page", "mark": "read"}}, []),
    ],
)
def test_an_entry_without_source_or_mark_is_found(entry: Any, found: list[tuple[str, str]]) -> None:
    """The planted faults that prove the check."""
    assert found == list(sourced(entry, "x"))


def test_every_figure_on_the_screen_has_its_source_or_mark(library: Library) -> None:
    """A number with a unit in an `info` names a page, a standard, "from memory", or says that it has no source."""
    bare = {
        (p.id, name): FIGURE.findall(step.info)
        for p in library.procedures.values()
        for name, step in p.steps.items()
        if FIGURE.search(step.info) and not SOURCE.search(step.info) and (p.id, name) not in NO_FIGURE_OF_THE_TRADE
    }

    assert not bare


def test_figures_are_found_and_sources_are_told_from_asides(library: Library) -> None:
    """The check sees many figures, catches a planted one, and does not take any bracket for a source."""
    seen = [s for p in library.procedures.values() for s in p.steps.values() if FIGURE.search(s.info)]

    assert len(seen) > 35
    assert FIGURE.search("Wait ten minutes.")
    assert FIGURE.search("Between 0.3 and 0.4 mm here.")
    assert not FIGURE.search("A four-stroke with two plugs.")
    assert not SOURCE.search("Wait ten minutes (or longer).")
    assert SOURCE.search("Wait ten minutes (common practice, no source).")
    assert SOURCE.search("At most fifteen metres (29 CFR 1910.157(d)).")


def test_no_excuse_is_out_of_date(library: Library) -> None:
    """Each step that is let off still has a figure in its text."""
    found = [at for at in NO_FIGURE_OF_THE_TRADE if FIGURE.search(library.procedures[at[0]].steps[at[1]].info)]

    assert found == list(NO_FIGURE_OF_THE_TRADE)
