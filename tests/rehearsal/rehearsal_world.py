"""What every test of the rehearsal needs, made once in each process; and the rewriting of golden twins.

Run as a program it writes every twin anew: `python tests/rehearsal/rehearsal_world.py [SCENARIO...]`. Read the
difference before it is kept.
"""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from firststart.rehearsal.many import World  # noqa: E402
from firststart.rehearsal.outcome import twin_text  # noqa: E402
from firststart.rehearsal.play import Played, play  # noqa: E402
from firststart.rehearsal.scenario import Scenario, load_scenario, scenario_names  # noqa: E402

PROCEDURES, SCENARIOS = ROOT / "procedures", ROOT / "scenarios"
NAMES = scenario_names(SCENARIOS)


@cache
def world() -> World:
    """The library, its rules, the hidden conditions and the advisers."""
    return World.of(PROCEDURES, SCENARIOS)


@cache
def scenario(name: str) -> Scenario:
    """One of the scenarios that ship."""
    return load_scenario(SCENARIOS / f"{name}.yaml", world().kit.conditions)


def played(what: Scenario, seed: int = 1) -> Played:
    """A play of `what`, led by the tool."""
    here = world()
    return play(here.rules, what, here.kit, seed=seed, adviser=here.makers["firststart"]())


@cache
def played_once(name: str) -> Played:
    """The first seed's play of a scenario that ships."""
    return played(scenario(name))


def twin_of(name: str) -> str:
    """What the golden twin of a scenario should hold."""
    return twin_text(scenario(name), played_once(name), world().rules.library)


if __name__ == "__main__":
    for chosen in sys.argv[1:] or NAMES:
        (SCENARIOS / f"{chosen}.out").write_text(twin_of(chosen), encoding="utf-8")
        print(chosen)
