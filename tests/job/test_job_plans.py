"""The plans of ten invented engines, word for word, and the rules that every plan keeps."""

from __future__ import annotations

import pytest
from plan_texts import ENGINES, PLANS, plan_text, told

from firststart.job.plan import Item, plan
from firststart.job.rules import Rules
from firststart.procedure.library import established_by
from firststart.procedure.needs import needs_of

BEFORE = (  # common practice, no source: the first of each pair comes before the second, where a plan has both
    ("fire-readiness", "bilge"),
    ("place", "survey"),
    ("hand-turn-over", "compression"),
    ("oil-out", "oil-in"),
    ("oil-in", "compression"),
    ("pre-lube", "compression"),
    ("valve-clearance", "compression"),
    ("fused-feed", "power-on"),
    ("power-on", "stop-controls"),
    ("stop-controls", "voltage-drops"),
    ("stop-controls", "spark-proof"),
    ("diesel-stop", "voltage-drops"),
    ("runaway-plan", "first-crank"),
    ("keyed-rotor", "points"),
    ("points", "condenser"),
    ("points", "timing"),
    ("coil-by-meter", "spark-proof"),
    ("plugs", "spark-proof"),
    ("fuel-out", "drained-tank"),
    ("drained-tank", "fuel-tap"),
    ("fuel-tap", "fuel-pump"),
    ("fuel-tap", "carburettor-off"),
    ("carburettor-off", "carburettor-opened"),
    ("carburettor-opened", "jets"),
    ("jets", "float"),
    ("float", "refit-carburettor"),
    ("refit-carburettor", "fuel-flow"),
    ("fuel-flow", "leak-check"),
    ("diesel-bleed", "leak-check"),
    ("leak-check", "first-crank"),
    ("oil-pressure", "first-crank"),
    ("spark-proof", "first-crank"),
    ("first-crank", "first-run"),
    ("first-run", "shut-down"),
    ("shut-down", "after-run"),
)


def items_of(rules: Rules, name: str) -> tuple[Item, ...]:
    situation, clock = told(rules, name)
    return plan(rules.library, situation, rules.words(situation), situation.effective(clock.now()))


@pytest.mark.parametrize("name", ENGINES)
def test_the_plan_is_the_one_that_was_read(rules: Rules, name: str) -> None:
    """Each plan equals its golden text; `python tests/job/plan_texts.py` writes them anew, and then they are read."""
    assert (PLANS / f"{name}.txt").read_text(encoding="utf-8") == plan_text(rules, name)


def test_there_are_ten_engines_of_different_kinds() -> None:
    """Ten plans and no text of an engine that is gone; nearly every kind of machine is among them."""
    kinds = {facts["kind"] for _, facts in ENGINES.values()}

    assert sorted(ENGINES) == sorted(p.stem for p in PLANS.glob("*.txt"))
    assert [len(ENGINES), len(kinds)] == [10, 7]


@pytest.mark.parametrize("name", ENGINES)
def test_the_order_is_the_trades(rules: Rules, name: str) -> None:
    """No piece of work comes before the one that the trade does first."""
    place = {item.procedure: n for n, item in enumerate(items_of(rules, name))}
    turned = [(a, b) for a, b in BEFORE if a in place and b in place and place[a] > place[b]]

    assert not turned


def test_every_rule_of_the_order_meets_some_plan(rules: Rules) -> None:
    """Each pair of the table stands in at least one of the plans, so no rule is idle."""
    plans = [{item.procedure for item in items_of(rules, name)} for name in ENGINES]

    idle = [pair for pair in BEFORE if not any(set(pair) <= found for found in plans)]

    assert not idle


@pytest.mark.parametrize("name", ENGINES)
def test_every_hold_point_is_met_before_it_is_needed(rules: Rules, name: str) -> None:
    """Whatever a piece of work needs is established earlier in the plan, or is a question of the last moment."""
    situation, _ = told(rules, name)
    words, met, late = rules.words(situation), set[str](), []
    for item in items_of(rules, name):
        procedure = rules.library.procedures[item.procedure]
        needs = needs_of(procedure, rules.library, words)
        quick = {h for h in needs if rules.library.safety.hold_points[h].quick}
        late += [(item.procedure, h) for h in needs if h not in met | quick]
        met |= established_by(procedure)

    assert not late
