"""Facts of the trade that the procedures must agree with, each where its work is done and marked as what it is."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest

from firststart.procedure.library import Library
from firststart.procedure.model import Procedure

MARK = "common practice, no source"


@dataclass(frozen=True)
class Fact:
    """A fact, the procedures that must tell it, and what one step of each says of it beside the mark."""

    fact: str
    told_by: tuple[str, ...]
    words: tuple[str, ...]


FACTS = (
    Fact(
        "petrol left in contact with air can begin to spoil in about thirty days",
        ("fuel-out", "after-run", "leak-check"), ("contact with air", "begin to spoil", "about thirty days"),
    ),
    Fact(
        "in the worst case it turns to a varnish that blocks jets",
        ("fuel-out", "after-run"), ("worst case", "varnish that blocks jets"),
    ),
    Fact(
        "metal on the magnet can end the project before it starts",
        ("oil-out",), ("magnet", "can end the project before it starts"),
    ),
    Fact("a clean magnet lets it go on", ("oil-out",), ("clean magnet lets it go on",)),
    Fact(
        "low but even compression says that rings and seats seal and that valve timing is about right",
        ("compression",), ("even", "rings and seats seal", "valve timing is about right"),
    ),
    Fact(
        "none on a cylinder says that there is nothing to gain from starting it",
        ("compression",), ("none on a cylinder", "nothing to gain"),
    ),
    Fact(
        "compression read again once the starter can spin the engine comes out better than by hand or kick",
        ("compression-recheck",), ("starter speed", "comes out better", "by hand or kick"),
    ),
    Fact(
        "an engine needs air, spark and fuel, and each unproven one is a guess later",
        ("no-fire",), ("air, spark and fuel", "unproven", "guess later"),
    ),
    Fact(
        "a timing rotor forced on past its locating pin turns free on the shaft however tight its bolt",
        ("keyed-rotor",), ("forced on past its pin", "turns (free )?on the shaft", "however tight its bolt"),
    ),
    Fact(
        "a failed tank coating comes off in flakes that block the system",
        ("drained-tank",), ("coating", "comes off in flakes", "block"),
    ),
    Fact(
        "a solvent soak takes days and may suffice for a first run only",
        ("drained-tank",), ("soak takes days", "suffice for a first run only"),
    ),
    Fact("a caustic bath takes the paint with it", ("drained-tank",), ("caustic", "the paint with (it|them)")),
    Fact(
        "a fuel tap hard with age leaks or sticks and wants its soft parts renewed",
        ("fuel-tap",), ("hard with age leaks or sticks", "soft parts renewed"),
    ),
    Fact(
        "a clean-looking carburettor that stood off the engine still wants opening and new seals",
        ("carburettor-opened",), ("clean-looking", "stood off the engine", "opening and new seals"),
    ),
    Fact(
        "a first start can need long cranking in total, so the seconds are counted and the rests kept",
        ("first-crank",), ("long cranking in total", "seconds are counted", "rests (are )?kept"),
    ),
)  # fmt: skip
AGREED = [(fact, name) for fact in FACTS for name in fact.told_by]


def tells(procedure: Procedure, words: tuple[str, ...]) -> list[str]:
    """The steps that say all of `words` and carry the mark."""
    texts = {name: " ".join((s.cmd, s.info, s.why, *(n.text for n in s.note))) for name, s in procedure.steps.items()}
    return [
        name for name, text in texts.items()
        if MARK in text and all(re.search(w, " ".join(text.split()), re.IGNORECASE) for w in words)
    ]  # fmt: skip


@pytest.mark.parametrize(("fact", "procedure"), AGREED, ids=[f"{n}: {f.fact[:40]}" for f, n in AGREED])
def test_the_procedure_tells_the_fact_and_marks_it(library: Library, fact: Fact, procedure: str) -> None:
    """One step of the procedure says the fact in its own words and says that it is common practice."""
    assert tells(library.procedures[procedure], fact.words)


def test_a_fact_that_nobody_tells_is_missed(library: Library) -> None:
    """The planted fault: a wrong figure, or the fact without its mark, is not taken for agreement."""
    spoilt = library.procedures["fuel-out"]
    unmarked = spoilt.model_copy(
        update={"steps": {n: s.model_copy(update={"info": s.info.replace(MARK, "")}) for n, s in spoilt.steps.items()}}
    )

    assert not tells(spoilt, ("about ninety days",))
    assert not tells(unmarked, FACTS[0].words)


def test_the_results_of_compression_agree_with_the_facts(library: Library) -> None:
    """What is said at the end of the compression test is the trade's judgement of it."""
    results = library.procedures["compression"].results

    assert "Rings and seats seal, and valve timing is about right" in results["low-even"].say
    assert "nothing to gain from starting it" in results["none-there"].say
    assert "compression-recheck" in results["low-even"].postreq
