"""The smallest bad book for each rule that looks at the book as a whole: one change, one problem, at its line."""

from __future__ import annotations

import pytest
from test_diagnosis_book import book

from firststart.diagnosis.bookcheck import check_book, figures

GOOD = """\
title: two suspects
mark: invented
words: {proves: 1.0, half: 0.5}
slip: 0.01
outside: {chance: 0.03, say: something else, specialist: Ask someone.}
fields: {ignition: [points, cdi], fuel: [petrol, diesel]}
ageing: {}
zones: {spark: {say: the spark, specialist: Ask someone.}}
access: {}
suspects:
  points:
    {say: dirty points, zone: spark, base: 0.3, stops: 0.9, applies: {ignition: [points]},
     fix: {do: Clean the points., minutes: 8}}
  coil:
    {say: a dead coil, zone: spark, base: 0.2, stops: 0.9, applies: {},
     fix: {do: Fit a good coil., minutes: 20}}
checks:
  spark:
    {say: the spark, do: Watch the gap., minutes: 5, observes: spark, needs: {}, applies: {},
     ok when: [good], bad when: [none], looks bad anyway: 0.03,
     bad if: {coil: 0.95, points: 0.5}}
  look:
    {say: the points, do: Look at the points., minutes: 4, observes: points, needs: {}, applies: {},
     ok when: [clean], bad when: [dark], looks bad anyway: 0.03,
     bad if: {points: 0.85}}
  meter:
    {say: the coil by meter, do: Measure the coil., minutes: 6, observes: coil, needs: {}, applies: {},
     ok when: [pass], bad when: [fail], looks bad anyway: 0.03,
     bad if: {coil: 0.9}}
"""
COPIED = """\
  glance:
    {say: the points again, do: Look at the points., minutes: 4, observes: glance, needs: {}, applies: {},
     ok when: [clean], bad when: [dark], looks bad anyway: 0.03,
     bad if: {points: 0.85}}
"""
LOOK, COIL = "points, needs: {}, applies: {}", "coil, needs: {}, applies: {}"
SEEN_ALIKE = GOOD.replace("{coil: 0.95, points: 0.5}", "{coil: 0.9, points: 0.9}")
SEEN_ALIKE = SEEN_ALIKE.replace("{coil: 0.9}", "{coil: 0.8, points: 0.8}")
RULES = {
    "fault detection coverage": (GOOD.replace("coil: 0.95", "coil: 0.4").replace("{coil: 0.9}", "{coil: 0.4}"), 14,
                                 "coil: no check makes it out (fault detection coverage)"),
    "ambiguity group": (SEEN_ALIKE.replace("{points: 0.85}", "{points: 0.7, coil: 0.7}"), 14,
                        "coil: every check sees it exactly as points (an ambiguity group)"),
    "copied check": (GOOD + COPIED, 30, "glance: tells nothing that look does not tell as soon and as surely"),
    "dominated check": (GOOD + COPIED.replace("0.85", "0.6").replace("minutes: 4", "minutes: 9"), 30,
                        "glance: tells nothing that look does not tell as soon and as surely"),
    "empty check": (GOOD + COPIED.replace("0.85", "0.02"), 30, "glance: hardly changes with what is there"),
    "ring of needs": (GOOD.replace(LOOK, "points, needs: {meter: [fail]}, applies: {}")
                      .replace(COIL, "coil, needs: {look: [dark]}, applies: {}"), 22,
                      "look: needs go in a ring: look needs meter needs look"),
    "unreachable check": (GOOD.replace(LOOK, "points, needs: {meter: [fail]}, applies: {fuel: [petrol]}")
                          .replace(COIL, "coil, needs: {}, applies: {fuel: [diesel]}"), 22,
                          "look: needs meter, which no engine has that has this check"),
    "check without suspects": (GOOD.replace(LOOK, "points, needs: {}, applies: {ignition: [cdi]}"), 22,
                               "look: no engine that has this check has any of its suspects"),
    "priors too small": (GOOD.replace("base: 0.3", "base: 0.03"), 1, "the priors add up to 0.23"),
    "instruction too long": (GOOD.replace("Look at the points.", "Look " * 21 + "once."), 22,
                             "look: 'do' has 22 words"),
    "repair too long": (GOOD.replace("Clean the points.", "Clean " * 21 + "once."), 11, "points: its fix has 22 words"),
}
KIND = {"any engine": {"ignition": "points"}}


def test_the_good_book_has_no_problem() -> None:
    """So each problem below comes from its one change."""
    assert () == check_book(book(GOOD), KIND)


@pytest.mark.parametrize(("text", "line", "said"), RULES.values(), ids=RULES)
def test_each_rule_names_its_breach_with_file_and_line(text: str, line: int, said: str) -> None:
    """A planted breach is told once, at the line of the suspect or check that it is about."""
    told = [(p.file, p.line) for p in check_book(book(text), KIND) if said in p.message]

    assert [("no-start.yaml", line)] == told, [str(p) for p in check_book(book(text), KIND)]


@pytest.mark.external
def test_the_figures_are_those_of_the_matrix_worked_by_hand() -> None:
    """IEEE Std 1522 (formulas from memory): coverage and isolation by weight, masked pairs by columns.

    The rows see (points and coil), points, coil: all is detected, two groups of one, nothing is masked. Without the
    meter the coil's column lies inside that of the points: mend the points, then look again.
    """
    whole, part = figures(book(GOOD), {}), figures(book(GOOD[: GOOD.index("  meter:")]), {})

    assert (1.0, 2, (1.0, 1.0, 1.0), ()) == (
        whole.detection_coverage, len(whole.ambiguity_groups), whole.isolation, whole.masked)  # fmt: skip
    assert (("coil", "points"),) == part.masked
