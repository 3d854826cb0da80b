"""Did a play end as its scenario says it must?"""

from __future__ import annotations

from firststart.rehearsal.play import Played
from firststart.rehearsal.scenario import Scenario

ZERO_C = 273.15


def missed(scenario: Scenario, played: Played) -> tuple[str, ...]:
    """Every expectation of `then` that did not come true, in words; empty when all did."""
    then = scenario.then
    lacks: list[str] = []
    if then.runs is not None and then.runs != played.runs:
        lacks.append(f"runs should be {str(then.runs).lower()}, but is {str(played.runs).lower()} ({played.ended})")
    lacks += [f"{name} should have been put right" for name in then.found if name not in played.found]
    lacks += [f"{name} should have been refused at least once" for name in then.refused if name not in played.refused]
    if then.cranked is not None and played.cranked > then.cranked:
        lacks.append(f"{played.cranked:.0f} seconds were cranked, but at most {then.cranked:g} are allowed")
    if then.hottest is not None and played.hottest - ZERO_C > then.hottest:
        celsius = played.hottest - ZERO_C
        lacks.append(f"the winding came to {celsius:.0f} degrees, but at most {then.hottest:g} are allowed")
    if then.stopped is not None and then.stopped != played.stopped:
        lacks.append(f"stopped should be {str(then.stopped).lower()}")
    return tuple(lacks)
