"""Petrol: its age, the water a blend holds, air made flammable by a spill, air and oil it wants.

Cubic metres, seconds, kilograms, kelvin; shares by volume unless told.
"""

from __future__ import annotations

from dataclasses import dataclass

from firststart.errors import InputError
from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

PETROL = 740.0  # kg/m3, usual petrol (from memory)
ETHANOL = 789.0  # kg/m3 (from memory)
LFL = 0.014  # lower flammable limit of petrol vapour: NIOSH guide (from memory), AARST SGM-SF LEL chart
MOLAR_MASS = (65.0, 100.0)  # kg/kmol, light vapour to whole petrol
GAS_CONSTANT = 8.314462618  # J/(mol K)
DAY = 86400.0
BLENDS = ("e0", "e10", "premix", "unknown")


@dataclass(frozen=True)
class Life:
    """How long a petrol keeps, in days, shortest and longest published, each good to half as much again."""

    shortest: float
    longest: float
    source: str

    @property
    def surely_fresh(self) -> float:
        """Days in which no petrol of the kind has gone stale."""
        return self.shortest * 0.5

    @property
    def surely_stale(self) -> float:
        """Days after which every petrol of the kind has."""
        return self.longest * 1.5


LIVES = {
    "e0": Life(180, 365, "eboots.co.uk and airsportuk.com: about 6 months opened, 12 months sealed"),
    "e10": Life(60, 90, "greatgrady.com note 12232: E10 60 to 90 days untreated"),
    "premix": Life(30, 30, "anycalculator.com two-stroke mix page: 30 days"),
}
WATER = {0.0: 0.0, 0.10: 0.00398, 0.15: 0.00842}  # share of water held at 60 degF: University of Nebraska


def age_word(age: float, life: Life) -> str:
    """fresh, doubtful or stale for `age` in s. Raises RangeError."""
    days = within(age, "age", 0, None, "s") / DAY
    if days < life.surely_fresh:
        return "fresh"
    return "stale" if days > life.surely_stale else "doubtful"


def age_verdict(age: float, blend: str = "unknown") -> tuple[str, tuple[tuple[str, str], ...]]:
    """(fresh, doubtful or stale; each kind with its own word). Raises InputError, RangeError.

    An unknown blend is fresh or stale only when both e0 and e10 are.
    """
    if blend not in BLENDS:
        raise InputError(f"blend is {blend!r}, but must be one of {', '.join(BLENDS)}.")
    names = ("e0", "e10") if blend == "unknown" else (blend,)
    words = {name: age_word(age, LIVES[name]) for name in names}
    distinct = set(words.values())
    word = distinct.pop() if len(distinct) == 1 else "doubtful"
    return word, tuple(words.items())


def water_held(volume: float, ethanol: float) -> float:
    """Water in m3 that `volume` of blend holds before it separates, at about 60 degF. Raises RangeError.

    Straight between the published 0, 10 and 15 %; less in the cold.
    """
    within(ethanol, "ethanol", 0, 0.15)
    low, high = (0.0, 0.10) if ethanol <= 0.10 else (0.10, 0.15)
    share = WATER[low] + (WATER[high] - WATER[low]) * (ethanol - low) / (high - low)
    return within(volume, "volume", 0, None, "m3") * share


def separates(volume: float, ethanol: float, water: float) -> bool:
    """Does this much water make the blend separate? Raises RangeError."""
    return within(water, "water", 0, None, "m3") > water_held(volume, ethanol)


def flammable_air(spill: float, limit: float = LFL, molar_mass: float = 65.0, kelvin: float = 293.15) -> float:
    """Air in m3 brought to the lower flammable limit by `spill` m3 of petrol, all evaporated. Raises RangeError."""
    moles = within(spill, "spill", 0, None, "m3") * PETROL / (above(molar_mass, "molar-mass", 0) / 1000)
    vapour = moles * GAS_CONSTANT * above(kelvin, "temperature", 0, "K") / 101325
    return vapour / within(limit, "limit", 0.001, 0.1)


def air_fuel_ratio(carbon: float, hydrogen: float, oxygen: float = 0.0) -> float:
    """Stoichiometric air to fuel by mass of CxHyOz, air with 20.95 % oxygen of 28.965 kg/kmol. Raises RangeError."""
    above(carbon, "carbon", 0)
    within(hydrogen, "hydrogen", 0, None)
    moles = carbon + hydrogen / 4 - within(oxygen, "oxygen", 0, 2 * carbon + hydrogen / 2) / 2
    return moles / 0.2095 * 28.965 / (12.011 * carbon + 1.008 * hydrogen + 15.999 * oxygen)


def blend_ratio(ethanol: float) -> float:
    """Stoichiometric air to fuel by mass of petrol (CH1.87) with a share `ethanol` by volume. Raises RangeError."""
    within(ethanol, "ethanol", 0, 1)
    mass = ethanol * ETHANOL / (ethanol * ETHANOL + (1 - ethanol) * PETROL)
    return mass * air_fuel_ratio(2, 6, 1) + (1 - mass) * air_fuel_ratio(1, 1.87)


def premix_oil(fuel: float, ratio: float) -> float:
    """Two-stroke oil in m3 for `fuel` m3 at `ratio` to one. Raises RangeError."""
    return within(fuel, "fuel", 0, None, "m3") / within(ratio, "ratio", 8, 200)


def _age(values: Values) -> tuple[Answer, ...]:
    word, details = age_verdict(values["age"], values["blend"])
    return (Answer("verdict", word, "published lives are good to half as much again"),
            *(Answer(name, found) for name, found in details))  # fmt: skip


def _water(values: Values) -> tuple[Answer, ...]:
    held = water_held(values["volume"], values["ethanol"])
    caution = "it separates: drain it all, the lower layer does not burn" if values["water"] > held else "none"
    return (
        Answer("holds", from_si(held, "ml", "volume"), "near 16 degC; less in the cold"),
        Answer("caution", caution, "a spoon of water at the bottom of a tank is enough"),
    )


def _spill(values: Values) -> tuple[Answer, ...]:
    most = flammable_air(values["spill"], values["limit"], MOLAR_MASS[0])
    least = flammable_air(values["spill"], values["limit"], MOLAR_MASS[1])
    return (
        Answer("air", from_si(most, "l", "volume"), "made flammable, light vapour"),
        Answer("air-least", from_si(least, "l", "volume"), "made flammable, heavy vapour; it lies low"),
    )


def _premix(values: Values) -> tuple[Answer, ...]:
    return (Answer("oil", from_si(premix_oil(values["fuel"], values["ratio"]), "ml", "volume")),)


def _mixture(values: Values) -> tuple[Answer, ...]:
    return (Answer("air-fuel-ratio", from_si(blend_ratio(values["ethanol"]), ":1", "ratio"), "by mass"),)


_ETHANOL = Given("ethanol", "percent", "%", 0, 15, "10 %", "ethanol by volume")

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "fuel-age", "Is the petrol still good", "fresh under half the shortest life, stale over 1.5 x the longest",
        "; ".join(f"{name}: {life.source}" for name, life in LIVES.items()), "read",
        (Given("age", "time", "d", 0, 45000, meaning="time since it was bought"),
         Given("blend", "count", "", 0, 0, "unknown", "kind of petrol", BLENDS)),
        _age,
    ),
    Subject(
        "fuel-water", "Water a blend holds before it separates", "0.398 % at 10 % ethanol, 0.842 % at 15 %, linear",
        "University of Nebraska, 3.06 teaspoons a US gallon", "read",
        (Given("volume", "volume", "l", 0, 1000, meaning="fuel in the tank"), _ETHANOL,
         Given("water", "volume", "ml", 0, 1e5, "0 ml", "water that got in")),
        _water,
    ),
    Subject(
        "fuel-spill", "Air made flammable by a spill", "V = m R T / (M p LFL)", "ideal gas; LFL 1.4 %, NIOSH guide",
        "computed",
        (Given("spill", "volume", "ml", 0, 20000, meaning="petrol spilt"),
         Given("limit", "concentration", "vol%", 0.7, 7.6, "1.4 vol%", "lower flammable limit")),
        _spill,
    ),
    Subject(
        "premix", "Oil for a two-stroke mix", "oil = fuel / ratio", "two-stroke mixing chart", "read",
        (Given("fuel", "volume", "l", 0, 200, "1 l", "petrol"),
         Given("ratio", "ratio", ":1", 8, 200, meaning="petrol to oil")),
        _premix,
    ),
    Subject(
        "mixture", "Air a blend wants", "mean by mass of CH1.87 and C2H6O", "stoichiometry, air with 20.95 % oxygen",
        "computed", (_ETHANOL,), _mixture,
    ),
)  # fmt: skip
