"""What every play needs beside the library: the hidden conditions, and what repairs put right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from firststart.errors import DataError, Problem
from firststart.procedure.reader import read
from firststart.rehearsal.conditions import Conditions, load_conditions


@dataclass(frozen=True)
class Kit:
    """Conditions by name, and repair -> conditions that it puts right."""

    conditions: Conditions
    repairs: Mapping[str, tuple[str, ...]]


def load_kit(folder: Path) -> Kit:
    """The kit in a folder of scenarios. Raises DataError with every problem and its line."""
    conditions = load_conditions(folder / "conditions")
    return Kit(conditions, _repairs(folder / "scoring" / "repairs.yaml", conditions))


def _repairs(path: Path, conditions: Conditions) -> dict[str, tuple[str, ...]]:
    document = read(path.read_text(encoding="utf-8"), path.name)
    problems: list[Problem] = []
    found: dict[str, tuple[str, ...]] = {}
    for repair, names in document.data.items():
        wanted = names if isinstance(names, list) else [names]
        for index, name in enumerate(wanted):
            if name not in conditions.by_name:
                problems.append(document.problem((repair, index), f"there is no condition called {name!r}"))
        found[repair] = tuple(str(n) for n in wanted)
    if problems:
        raise DataError(problems)
    return found
