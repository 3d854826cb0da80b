"""The limits of compression, leak-down and oil as data: sources, marks, units, and none that nothing uses."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from judge_bench import LIMITS, LIMITS_FOLDER, bench

from firststart.judge.model import Limit
from firststart.judge.rules import read_rule, rules
from firststart.judge.wording import amount, listed, rounded_down, span
from firststart.physics.subject import MARKS
from firststart.units import find_unit, measured

FILES = ("compression", "leakdown", "oil")
OWN = {
    name: Limit(**body)
    for file in FILES
    for name, body in yaml.safe_load((LIMITS_FOLDER / f"{file}.yaml").read_text(encoding="utf-8")).items()
}


@pytest.mark.parametrize("name", OWN)
def test_every_limit_has_a_source_a_mark_and_a_real_unit(name: str) -> None:
    """A limit without a source or mark does not load; a unit must be one that the tool knows."""
    limit = OWN[name]

    assert len(limit.source) >= 10
    assert limit.mark in MARKS
    if limit.kind:
        assert find_unit(limit.unit, limit.kind).symbol == limit.unit


def test_a_limit_with_neither_source_nor_mark_is_refused() -> None:
    """The planted fault that proves the check."""
    with pytest.raises(ValueError, match="source"):
        Limit(value=1)  # type: ignore[call-arg]
    with pytest.raises(ValueError, match="mark is 'somewhere'"):
        Limit(value=1, source="a page", mark="somewhere")


def test_every_rule_can_be_read() -> None:
    """Each acceptance rule of the data is a whole rule."""
    found = {n: read_rule(n, limit) for n, limit in LIMITS.under("compression.rule").items()}

    assert len(found) >= 8
    assert LIMITS["compression.default.rule"].value in found


def test_every_limit_is_used_by_some_code() -> None:
    """A limit that no judge looks up is dead data."""
    root = Path(__file__).parents[2]
    text = "\n".join(f.read_text(encoding="utf-8") for f in (root / "firststart").rglob("*.py"))
    data = "\n".join(f.read_text(encoding="utf-8") for f in (root / "procedures" / "work").glob("*.yaml"))
    prefixes = (
        "compression.rule", "compression.default.intake-closes", "leakdown.rule", "leakdown.restrictor", "oil.grade",
        "oil.winter", "oil.index", "oil.cylinder.smallest", "oil.cylinder.ratio-unknown", "leakdown.grade",
        "oil.cylinder",
    )  # fmt: skip
    dead = [n for n in OWN if n not in text + data and not any(n.startswith(p + ".") and p in text for p in prefixes)]

    assert dead == ["oil.pressure.time", "oil.pressure.time-longest"] or dead == []


@pytest.mark.parametrize(
    ("value", "unit", "kind", "text"),
    [
        (118.4, "psi", "pressure", "118 psi"),
        (8.13, "bar", "pressure", "8.1 bar"),
        (8.0, "bar", "pressure", "8 bar"),
        (1035, "kPa", "pressure", "1035 kPa"),
        (2.5, "ml", "volume", "2.5 ml"),
        (0.0, "psi", "pressure", "0 psi"),
        (-0.01, "psi", "pressure", "0 psi"),
    ],
)
def test_values_are_worded_as_people_read_them(value: float, unit: str, kind: str, text: str) -> None:
    """No digit more than the gauge has."""
    assert text == amount(measured(value, unit, kind).si, unit, kind)


def test_bands_and_lists_read_aloud() -> None:
    """Words between the numbers, and one number when both ends are the same."""
    psi = 6894.757293168

    assert span(120 * psi, 150 * psi, "psi", "pressure") == "120 to 150 psi"
    assert span(120 * psi, 120.2 * psi, "psi", "pressure") == "120 psi"
    assert listed([1]) == "1"
    assert listed([1, 2, 4]) == "1, 2 and 4"
    assert listed([]) == "none"


@pytest.mark.parametrize(
    ("value", "shown"), [(0.083, 0.08), (0.47, 0.4), (0.5, 0.5), (1.99, 1.5), (4.99, 4.5), (14.9, 14.0), (5.0, 5.0)]
)
def test_oil_is_rounded_down_never_up(value: float, shown: float) -> None:
    """What a syringe shows, on the safe side."""
    assert shown == rounded_down(value)


def test_rules_come_in_file_order() -> None:
    """The order of the file is the order in which conflicts are told."""
    assert next(iter(rules(bench()))) == "ratio-75"
