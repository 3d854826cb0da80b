"""Hidden conditions: what can secretly be wrong, and which physical part of the engine it changes how far.

They live in `scenarios/conditions/*.yaml`. A condition names parts of the virtual engine (see `parts.py`) and
the value each takes; nothing in it speaks of checks, suspects or likelihoods. What a check then shows is
computed from the parts.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from firststart.engine.profile import FIELDS, EngineProfile, applies
from firststart.errors import DataError, Problem, UnknownName
from firststart.procedure.reader import Document, read
from firststart.procedure.validate import model_of
from firststart.rehearsal.parts import EACH_CYLINDER, PARTS


def _words(value: Any) -> Any:
    """A mapping of field -> word or words, every word as text."""
    if not isinstance(value, dict):
        return value
    return {k: [str(w) for w in v] if isinstance(v, list) else [str(v)] for k, v in value.items()}


def _ranges(value: Any) -> Any:
    """A mapping of part -> value, or part -> [value when slight, value when bad]."""
    if not isinstance(value, dict):
        return value
    return {k: v if isinstance(v, list) else [v, v] for k, v in value.items()}


class Condition(BaseModel):
    """One thing that can be wrong. `sets` maps a part to its value when slight and when bad (severity 0 and 1).

    `once` and `yearly` are the rate at which random engines have it: at all, and for each year of standing.
    `mends` is how often the right repair really puts it right.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)

    say: str = Field(min_length=4)
    applies: Annotated[dict[str, tuple[str, ...]], BeforeValidator(_words)] = {}
    sets: Annotated[dict[str, tuple[float, float]], BeforeValidator(_ranges)] = Field(min_length=1)
    wears: Literal["rust", "contacts", "fuel", "rubber", "battery", "animals", "insulation", "use", "hands"]
    once: float = Field(ge=0, le=0.5)
    yearly: float = Field(default=0, ge=0, le=0.5)
    mends: float = Field(default=1, gt=0, le=1)

    @property
    def each(self) -> bool:
        """Does it sit in one cylinder?"""
        return any(part in EACH_CYLINDER for part in self.sets)

    def values(self, severity: float) -> dict[str, float]:
        """Part -> value at `severity` 0 to 1; a range that spans decades is crossed by equal ratios."""
        return {part: _between(low, high, severity) for part, (low, high) in self.sets.items()}


def _between(low: float, high: float, share: float) -> float:
    if low > 0 and high > 0 and max(low, high) / min(low, high) >= 8:
        return float(low * (high / low) ** share)
    return low + (high - low) * share


@dataclass(frozen=True)
class Conditions:
    """Every condition by name, in file order."""

    by_name: Mapping[str, Condition] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Condition:
        try:
            return self.by_name[name]
        except KeyError:
            near = difflib.get_close_matches(name, self.by_name, n=1)
            hint = f"; did you mean {near[0]!r}?" if near else "; see scenarios/conditions"
            raise UnknownName(f"There is no condition called {name!r}{hint}") from None

    def fitting(self, profile: EngineProfile) -> dict[str, Condition]:
        """The conditions that an engine of this profile can have."""
        return {n: c for n, c in self.by_name.items() if applies(c.applies, profile.words, unknown=False)}

    def problems(self, name: str, cylinder: int | None, profile: EngineProfile) -> Iterable[str]:
        """What is wrong with a hidden condition of this name on this engine."""
        try:
            condition = self[name]
        except UnknownName as error:
            yield str(error)
            return
        if not applies(condition.applies, profile.words, unknown=False):
            yield f"{name!r} does not apply to this engine; it needs {_shown(condition.applies)}"
        if condition.each and cylinder is None and profile.cylinders != 1:
            yield f"{name!r} sits in one cylinder; add cylinder"
        if not condition.each and cylinder is not None:
            yield f"{name!r} sits in no cylinder; remove cylinder"
        if cylinder is not None and cylinder > (profile.cylinders or 1):
            yield f"there is no cylinder {cylinder} on this engine"


def _shown(conditions: Mapping[str, tuple[str, ...]]) -> str:
    return ", ".join(f"{k} {' or '.join(v)}" for k, v in conditions.items())


def load_conditions(folder: Path) -> Conditions:
    """The conditions of every file in `folder`. Raises DataError with every problem and its line."""
    problems: list[Problem] = []
    found: dict[str, Condition] = {}
    for path in sorted(folder.glob("*.yaml")):
        document = read(path.read_text(encoding="utf-8"), path.name)
        data = document.data if isinstance(document.data, dict) else {}
        for name, entry in data.items():
            condition = model_of(Condition, document, (name,), entry, problems)
            if name in found:
                problems.append(document.problem((name,), f"the condition {name!r} stands in two files; keep one"))
            if condition is not None:
                found[name] = condition
                problems += _part_problems(name, condition, document)
    if problems:
        raise DataError(problems)
    return Conditions(found)


def _part_problems(name: str, condition: Condition, document: Document) -> Iterable[Problem]:
    for part in condition.sets:
        if part not in PARTS:
            near = difflib.get_close_matches(part, PARTS, n=1)
            hint = f"did you mean {near[0]!r}?" if near else "see parts.py"
            yield document.problem((name, "sets", part), f"the virtual engine has no part {part!r}; {hint}")
    for key in condition.applies:
        if key not in FIELDS:
            yield document.problem((name, "applies", key), f"there is no profile field {key!r}")
