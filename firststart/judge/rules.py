"""Published acceptance rules for a set of compression readings, as data, applied with the gauge's own doubt.

Readings here are gauge pressures in Pa brought to sea level, since that is where the rules were written.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from firststart.errors import InputError
from firststart.judge.model import Context, Limit
from firststart.physics.uncertainty import FAIL, NEAR, PASS, Decision, decide
from firststart.units import measured

RELATIVE = ("ratio", "spread", "mean-drop", "difference")
PREFIX = "compression.rule"


@dataclass(frozen=True)
class Rule:
    """One rule: at most one relative part, and a floor. `spread` and `floor` in Pa."""

    name: str
    limit: Limit
    ratio: float | None = None
    spread: float | None = None
    mean_drop: float | None = None
    difference: float | None = None
    floor: float | None = None

    def required(self, readings: Mapping[int, float]) -> float:
        """The least reading in Pa that the relative part asks of each cylinder of this set."""
        highest, mean = max(readings.values()), sum(readings.values()) / len(readings)
        if self.ratio is not None:
            return self.ratio * highest
        if self.spread is not None:
            return highest - self.spread
        if self.mean_drop is not None:
            return (1 - self.mean_drop) * mean
        return (1 - self.difference) * highest if self.difference is not None else 0.0

    def slope(self) -> float:
        """How much of an error of the other readings enters `required`."""
        if self.ratio is not None:
            return self.ratio
        if self.mean_drop is not None:
            return 1 - self.mean_drop
        return 1 - self.difference if self.difference is not None else 1.0


@dataclass(frozen=True)
class Applied:
    """What a rule says of a set. `low` misses the relative part, `under` the floor, at face value.

    `clear` are cylinders low or under beyond the gauge's doubt; `word` is pass, fail or too near to say; `nearest` is
    the decision for the cylinder that lies nearest to its limit.
    """

    rule: Rule
    required: float
    low: tuple[int, ...]
    under: tuple[int, ...]
    clear: tuple[int, ...]
    word: str
    nearest: Decision

    @property
    def face(self) -> str:
        """Pass or fail taking each reading at its face value."""
        return FAIL if self.low or self.under else PASS


def read_rule(name: str, limit: Limit) -> Rule:
    """The rule of a limit's data. Raises InputError for a rule that says nothing or two things at once."""
    body = dict(limit.value) if isinstance(limit.value, Mapping) else {}
    parts = [k for k in body if k in RELATIVE]
    unknown = sorted(set(body) - {*RELATIVE, "floor"})
    if unknown or len(parts) > 1 or not body:
        raise InputError(f"{PREFIX}.{name} must hold at most one of {', '.join(RELATIVE)}, and a floor; it has {body}.")

    def pascal(key: str) -> float | None:
        return measured(float(body[key]), limit.unit, "pressure").si if key in body else None

    shares = {k.replace("-", "_"): float(body[k]) for k in parts if k != "spread"}
    return Rule(name, limit, spread=pascal("spread"), floor=pascal("floor"), **shares)


def rules(context: Context) -> dict[str, Rule]:
    """Every rule of the limits, by name, in file order."""
    return {name: read_rule(name, limit) for name, limit in context.limits.under(PREFIX).items()}


def chosen(context: Context) -> tuple[Rule, bool]:
    """(the rule to apply, does it come from the manual). Raises UnknownName for a rule that is not in the limits."""
    named = context.profile.word("compression-rule")
    name = named or str(context.limits["compression.default.rule"].value)
    return read_rule(name, context.limits[f"{PREFIX}.{name}"]), named is not None


def apply(rule: Rule, readings: Mapping[int, float], half: float) -> Applied:
    """What `rule` says of `readings`, each known to +-`half` Pa. Raises RangeError for a negative `half`.

    A mean rule fails at the limit ("20 % or more below"), the others pass at it. One part in 1e9 is given away so that
    the rounding of floats cannot decide a case that lies exactly on the limit.
    """
    required = rule.required(readings)
    edge = required * 1e-9
    relative = {c: p - required + (-edge if rule.mean_drop is not None else edge) for c, p in readings.items()}
    floor = {c: p - rule.floor * (1 - 1e-9) for c, p in readings.items()} if rule.floor is not None else {}
    guard = half * (1 + rule.slope())
    decided = {c: decide(m, guard) for c, m in relative.items()}
    floored = {c: decide(m, half) for c, m in floor.items()}
    every = (*decided.values(), *floored.values())
    clear = tuple(c for c in readings if decided[c].word == FAIL or (c in floored and floored[c].word == FAIL))
    near = any(d.word == NEAR for d in every)
    return Applied(
        rule,
        required,
        tuple(c for c, m in relative.items() if m < 0),
        tuple(c for c, m in floor.items() if m < 0),
        clear,
        FAIL if clear else NEAR if near else PASS,
        min(every, key=lambda d: abs(d.margin)),
    )
