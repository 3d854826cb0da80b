"""Random engines from a seed: kind, size, years, storage and climate, and hidden conditions that these make likely.

The rates stand in `scenarios/conditions`; how storage speeds them up stands here. Neither is taken from the book of
suspects. Figures invented, of the size the trade knows (common practice, no source).
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping, Sequence

from firststart.rehearsal.conditions import Condition, Conditions
from firststart.rehearsal.engine import VirtualEngine
from firststart.rehearsal.scenario import Given, Hidden, Scenario, When, profile_of

_FOUR = {"fuel": "petrol", "cycle": "four-stroke", "lubrication": "wet-sump"}
_TWO = {"fuel": "petrol", "cycle": "two-stroke"}
_BATTERY = {"starting": "electric", "battery": "12", "earth": "negative"}
_N, _D = {"gearbox": "neutral"}, {"gearbox": "none"}
_PULLED = {"starting": "recoil", "battery": "none"}
SORTS: tuple[Mapping[str, str], ...] = (
    {"kind": "motorcycle", **_N, **_FOUR, **_BATTERY, "ignition": "points", "feed": "gravity", "cooling": "air"},
    {"kind": "motorcycle", **_N, **_FOUR, **_BATTERY, "ignition": "cdi", "feed": "gravity", "cooling": "air"},
    {"kind": "motorcycle", **_N, **_FOUR, **_BATTERY, "ignition": "ecu", "feed": "injection", "cooling": "water"},
    {"kind": "motorcycle", **_N, **_TWO, "starting": "kick", "battery": "none", "ignition": "cdi", "feed": "gravity",
     "cooling": "air", "lubrication": "premix", "premix-ratio": "40:1"},
    {"kind": "car", **_N, **_FOUR, **_BATTERY, "ignition": "points", "feed": "pump", "cooling": "water"},
    {"kind": "car", **_N, **_FOUR, **_BATTERY, "ignition": "ecu", "feed": "injection", "cooling": "water"},
    {"kind": "tractor", **_N, **_FOUR, **_BATTERY, "ignition": "points", "feed": "gravity", "cooling": "water"},
    {"kind": "tractor", **_N, **_FOUR, "fuel": "diesel", **_BATTERY, "cooling": "water"},
    {"kind": "mower", **_D, **_FOUR, **_PULLED, "ignition": "magneto", "feed": "gravity", "cooling": "air"},
    {"kind": "generator", **_D, **_FOUR, **_PULLED, "ignition": "transistor", "feed": "gravity", "cooling": "air"},
    {"kind": "pump", **_D, **_FOUR, **_PULLED, "ignition": "magneto", "feed": "gravity", "cooling": "air"},
    {"kind": "outboard", **_N, **_TWO, **_PULLED, "ignition": "cdi", "feed": "pump", "cooling": "raw-water",
     "lubrication": "premix", "premix-ratio": "50:1"},
    {"kind": "inboard", **_N, **_FOUR, **_BATTERY, "ignition": "points", "feed": "pump", "cooling": "raw-water"},
    {"kind": "snowmobile", **_TWO, **_PULLED, "ignition": "cdi", "feed": "pump", "cooling": "air",
     "lubrication": "injected-oil"},
)  # fmt: skip
SIZES = {  # cylinders, and millilitres of one
    "motorcycle": ((1, 2, 2, 4), (125, 350)), "car": ((4, 4, 6), (270, 500)), "tractor": ((3, 4), (500, 900)),
    "mower": ((1,), (125, 220)), "generator": ((1,), (150, 400)), "pump": ((1,), (120, 250)),
    "outboard": ((1, 2, 3), (100, 270)), "inboard": ((4, 4, 6), (400, 700)), "snowmobile": ((2,), (180, 350)),
}  # fmt: skip
SPEEDS: Mapping[str, Mapping[str, float]] = {  # how fast each wear goes, by storage
    "rust": {"heated": 0.25, "dry": 0.6, "damp": 1.2, "outdoors": 1.8},
    "contacts": {"heated": 0.4, "dry": 0.7, "damp": 1.2, "outdoors": 1.6},
    "animals": {"heated": 0.3, "dry": 1.1, "damp": 1.0, "outdoors": 1.4},
    "rubber": {"heated": 1.1, "dry": 1.0, "damp": 0.9, "outdoors": 1.4},
    "insulation": {"heated": 0.5, "dry": 0.7, "damp": 1.2, "outdoors": 1.4},
}
COUNTS = (0.5, 0.28, 0.15, 0.07)  # chances of one, two, three and four hidden conditions
TEMPER_CHANCES = {"patient": 0.6, "hurried": 0.25, "mistaken": 0.15}
HARDLY_KNOWN = ("altitude", "displacement", "years", "storage", "ignition", "air-temperature")
_TRIES, _MAY_START = 12, 2  # an engine that starts more often than this in as many tries is not a no-start


def draw(seed: int, conditions: Conditions, faults: int | None = None, prepared: bool = True) -> Scenario:
    """A random engine. `faults` 1 to 4 hidden conditions (0: a sound engine; None: as the rates have it).

    With faults it does not start: at least one of them stops it. The same seed gives the same engine.
    """
    rng = random.Random(f"draw {seed}")
    while True:
        scenario = _one(rng, seed, conditions, faults, prepared)
        if scenario is not None:
            return scenario


def _one(rng: random.Random, seed: int, conditions: Conditions, faults: int | None, prepared: bool) -> Scenario | None:
    profile = _profile(rng)
    count = rng.choices((1, 2, 3, 4), COUNTS)[0] if faults is None else faults
    hidden = _hidden(rng, profile, conditions, count)
    if hidden is None or (hidden and not _stops(profile, hidden, conditions, seed)):
        return None
    unknown = tuple(f for f in HARDLY_KNOWN if f in profile and rng.random() < 0.15)
    given = Given(engine=f"engine {seed}", profile=profile, unknown=unknown, hidden=hidden, prepared=prepared)
    person = rng.choices(tuple(TEMPER_CHANCES), tuple(TEMPER_CHANCES.values()))[0]
    when = When.model_validate({"person": person, "hours": 40})
    return Scenario(title=f"Random engine {seed}", given=given, when=when)


def draw_having(seed: int, conditions: Conditions, name: str | None, tries: int = 400) -> Scenario | None:
    """A random prepared engine that has this one condition and does not start for it; a sound one for None.

    None when no engine drawn in so many tries fits.
    """
    rng = random.Random(f"having {name} {seed}")
    for _ in range(tries):
        profile = _profile(rng)
        hidden: tuple[Hidden, ...] = ()
        if name is not None:
            body = profile_of(profile)
            if name not in conditions.fitting(body):
                continue
            hidden = (_placed(rng, name, conditions[name], body.cylinders or 1),)
            if not _stops(profile, hidden, conditions, seed):
                continue
        return Scenario(title=f"Engine {seed}", given=Given(engine=f"engine {seed}", profile=profile, hidden=hidden,
                                                            prepared=True))  # fmt: skip
    return None


def _profile(rng: random.Random) -> dict[str, str]:
    sort = dict(rng.choice(SORTS))
    counts, (low, high) = SIZES[sort["kind"]]
    cylinders = rng.choice(counts)
    each = rng.uniform(low, high)
    winter = sort["kind"] == "snowmobile"
    celsius = rng.gauss(-8, 5) if winter else min(max(rng.gauss(15, 7), -5), 35)
    return {
        **sort,
        "cylinders": str(cylinders),
        "displacement": f"{round(cylinders * each / 10) * 10} ml",
        "years": f"{min(max(math.exp(rng.gauss(1.5, 0.9)), 0.5), 45):.1f} years",
        "storage": rng.choices(("heated", "dry", "damp", "outdoors"), (0.12, 0.38, 0.3, 0.2))[0],
        "air-temperature": f"{celsius:.0f} degC",
        "altitude": f"{max(0, round(rng.gauss(150, 250) / 10) * 10)} m",
    }


def chance(condition: Condition, years: float, storage: str) -> float:
    """How likely an engine that stood so long and so has this condition."""
    speed = SPEEDS.get(condition.wears, {}).get(storage, 1.0)
    return 1 - (1 - condition.once) * math.exp(-condition.yearly * speed * years)


def _hidden(
    rng: random.Random, texts: dict[str, str], conditions: Conditions, count: int
) -> tuple[Hidden, ...] | None:
    """`count` different conditions, the likelier the more often; None when there are not so many."""
    profile = profile_of(texts)
    years = float(texts["years"].split()[0])
    fitting = {
        n: c for n, c in conditions.fitting(profile).items() if n != "leads-crossed" or (profile.cylinders or 1) > 1
    }
    names = list(fitting)
    weights = [chance(fitting[n], years, texts["storage"]) for n in names]
    found: list[Hidden] = []
    while len(found) < count:
        if not any(weights):
            return None
        at = rng.choices(range(len(names)), weights)[0]
        weights[at] = 0.0
        found.append(_placed(rng, names[at], fitting[names[at]], profile.cylinders or 1))
    return tuple(found)


def _placed(rng: random.Random, name: str, condition: Condition, cylinders: int) -> Hidden:
    cylinder = rng.randint(1, cylinders) if condition.each else None
    return Hidden(condition=name, cylinder=cylinder, severity=round(rng.betavariate(3, 2), 2))


def _stops(texts: dict[str, str], hidden: Sequence[Hidden], conditions: Conditions, seed: int) -> bool:
    """Is this engine a no-start?"""
    engine = VirtualEngine.of(profile_of(texts), tuple(hidden), conditions, {}, seed, prepared=True)
    starts = sum(engine.try_to_start()[1].runs for _ in range(_TRIES))
    return starts <= _MAY_START
