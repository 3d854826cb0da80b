"""What is known of one engine. Every field may be unknown: None is a value.

Words are enumerated in `WORDS`, numbers in `NUMBERS` (kind, unit, permitted range in that unit).
Both are closed lists: procedures, defaults and the diagnosis book may name these fields and no others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict

from firststart.errors import InputError, OutOfScope, RangeError
from firststart.physics.firingorder import LEAST, MOST, order_of
from firststart.units import Measured, from_si, in_range

UNKNOWN = "unknown"
KNOWN = "known"  # of a number, where only that it is known matters

WORDS: dict[str, tuple[str, ...]] = {
    "kind": ("motorcycle", "car", "tractor", "mower", "generator", "pump", "outboard", "inboard", "snowmobile"),
    "fuel": ("petrol", "diesel"),
    "cycle": ("four-stroke", "two-stroke"),
    "cooling": ("air", "water", "raw-water"),
    "starting": ("electric", "kick", "recoil", "hand"),
    "ignition": ("points", "transistor", "cdi", "magneto", "ecu", "none"),
    "feed": ("gravity", "pump", "injection"),
    "battery": ("none", "6", "12", "24"),
    "earth": ("negative", "positive"),
    "lubrication": ("wet-sump", "dry-sump", "premix", "injected-oil"),
    "gearbox": ("neutral", "none"),
    "storage": ("heated", "dry", "damp", "outdoors"),
    "climate": ("dry", "mild", "humid", "coast"),
    "manual": ("at-hand", "none"),
    "starter-class": (),  # open list: names from starters.yaml
    "compression-rule": (),  # open list: names from the compression limits
}

NUMBERS: dict[str, tuple[str, str, float, float]] = {
    "cylinders": ("count", "", 1, 8),
    "firing-order": ("count", "", LEAST, MOST),
    "displacement": ("volume", "ml", 20, 20000),
    "bore": ("length", "mm", 20, 250),
    "stroke": ("length", "mm", 20, 300),
    "rod": ("length", "mm", 40, 600),
    "ratio": ("ratio", ":1", 4, 25),
    "intake-closes": ("angle", "deg", 0, 110),
    "manual-compression": ("pressure", "psi", 30, 700),
    "plug-gap": ("length", "mm", 0.2, 2),
    "timing": ("angle", "deg", 0, 60),
    "flywheel": ("length", "mm", 40, 600),
    "oil-capacity": ("volume", "ml", 50, 40000),
    "years": ("time", "year", 0, 120),
    "altitude": ("length", "m", -400, 5500),
    "air-temperature": ("temperature", "degC", -40, 55),
    "cca": ("current", "A", 20, 2000),
    "capacity": ("charge", "Ah", 1, 300),
    "premix-ratio": ("ratio", ":1", 10, 100),
}

FIELDS = (*WORDS, *NUMBERS)
AIRCRAFT = "Aircraft engines are out of scope: a licensed aircraft mechanic must do this work."
_REFUSED = (
    "aircraft", "aeroplane", "airplane", "helicopter", "ultralight", "paramotor", "gyroplane", "flugzeug",
    "hubschrauber", "ultraleichtflugzeug",
)  # fmt: skip


class EngineProfile(BaseModel):
    """The known facts of one engine. `words` by field name, `numbers` as measured values by field name."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid")

    words: dict[str, str] = {}
    numbers: dict[str, Measured] = {}
    assumed: tuple[str, ...] = ()  # fields that come from defaults of the kind, not from the person

    def word(self, field: str) -> str | None:
        """The word of an enumerated field, None when unknown."""
        _check_field(field, WORDS)
        value = self.words.get(field)
        return None if value in (None, UNKNOWN) else value

    def si(self, field: str) -> float | None:
        """The SI value of a number, None when unknown."""
        _check_field(field, NUMBERS)
        value = self.numbers.get(field)
        return None if value is None else value.si

    @property
    def told(self) -> dict[str, str]:
        """What a machine is compiled for: the words, and `KNOWN` for every number that the person told.

        One cylinder or two have one firing order, which nobody needs to be asked.
        """
        numbers = {n: KNOWN for n in self.numbers if n not in self.assumed}
        alone = {"firing-order": KNOWN} if (self.cylinders or 3) < 3 else {}
        return {**self.words, **numbers, **alone}

    @property
    def firing_order(self) -> tuple[int, ...] | None:
        """The cylinders in the order in which they fire; None when it is not known, or fits another number of them."""
        told, count = self.numbers.get("firing-order"), self.cylinders
        if told is not None and count in (None, len(order_of(told.si))):
            return order_of(told.si)
        return tuple(range(1, count + 1)) if count in (1, 2) else None

    @property
    def cylinders(self) -> int | None:
        """How many cylinders it has; None when that is not known."""
        value = self.si("cylinders")
        return None if value is None else round(value)

    @property
    def cylinder_volume(self) -> float | None:
        """Swept volume of one cylinder in m3: from bore and stroke, else displacement by cylinders."""
        bore, stroke = self.si("bore"), self.si("stroke")
        if bore is not None and stroke is not None:
            return 3.141592653589793 / 4 * bore * bore * stroke
        whole, count = self.si("displacement"), self.cylinders
        return None if whole is None or count is None else whole / count

    def with_word(self, field: str, value: str) -> EngineProfile:
        """A copy with one enumerated field set. Raises InputError, OutOfScope."""
        check_word(field, value)
        return self._replace(field, words={**self.words, field: value})

    def with_number(self, field: str, value: Measured) -> EngineProfile:
        """A copy with one number set. Raises InputError, RangeError."""
        check_number(field, value)
        return self._replace(field, numbers={**self.numbers, field: value})

    def without(self, field: str) -> EngineProfile:
        """A copy in which `field` is unknown."""
        words = {k: v for k, v in self.words.items() if k != field}
        numbers = {k: v for k, v in self.numbers.items() if k != field}
        return self._replace(field, words=words, numbers=numbers)

    def with_defaults(self, words: Mapping[str, str], numbers: Mapping[str, Measured]) -> EngineProfile:
        """A copy where unknown fields take the kind's defaults, remembered in `assumed`."""
        new_words = {k: v for k, v in words.items() if k not in self.words}
        new_numbers = {k: v for k, v in numbers.items() if k not in self.numbers}
        assumed = (*self.assumed, *new_words, *new_numbers)
        return EngineProfile(
            words={**self.words, **new_words}, numbers={**self.numbers, **new_numbers}, assumed=assumed
        )

    def _replace(self, field: str, **change: Any) -> EngineProfile:
        kept = tuple(f for f in self.assumed if f != field)
        return self.model_copy(update={**change, "assumed": kept})


def check_word(field: str, value: str) -> None:
    """Raise InputError when `value` is not a word of `field`; OutOfScope for an aircraft engine."""
    _check_field(field, WORDS)
    if field == "kind" and value.strip().lower() in _REFUSED:
        raise OutOfScope(AIRCRAFT)
    allowed = WORDS[field]
    if allowed and value != UNKNOWN and value not in allowed:
        raise InputError(f"{field} is {value!r}, but must be one of {', '.join(allowed)} or unknown.")


def of_aircraft(text: str) -> bool:
    """Does a person speak of an aircraft?"""
    words = text.lower().split()
    return any(word.strip(".,!?") in _REFUSED for word in words)


def check_number(field: str, value: Measured) -> None:
    """Raise InputError or RangeError when `value` cannot be the number `field`."""
    _check_field(field, NUMBERS)
    kind, unit, low, high = NUMBERS[field]
    if value.kind != kind:
        raise InputError(f"{field} is given as {value}, but must be a {kind}.")
    in_range(from_si(value.si, unit, kind).value, field, low, high, unit)


def check_together(profile: EngineProfile, field: str, value: Measured) -> None:
    """Raise RangeError for a number that no engine can have beside what `profile` tells already.

    For what a person tells now. A profile of the record is taken as it is: nothing that was kept becomes unreadable.
    """
    number = from_si(value.si, NUMBERS[field][1], value.kind).value
    if field == "cylinders" and number != round(number):
        raise RangeError(field, number, *NUMBERS[field][2:], "", "a whole number")
    if field == "firing-order" and profile.cylinders not in (None, len(order_of(number))):
        raise InputError(f"{number:.0f} is not the order of {profile.cylinders} cylinders; give each of them once.")
    stroke, rod = profile.numbers.get("stroke"), profile.numbers.get("rod")
    if field == "rod" and stroke is not None and value.si <= stroke.si / 2:
        least = from_si(stroke.si / 2, "mm", "length").value
        raise RangeError(field, number, least, None, "mm", f"over half the stroke of {stroke}", strict=True)
    if field == "stroke" and rod is not None and value.si >= rod.si * 2:
        most = from_si(rod.si * 2, "mm", "length").value
        raise RangeError(field, number, None, most, "mm", f"less than twice the rod of {rod}")


def _check_field(field: str, fields: Mapping[str, object]) -> None:
    if field not in fields:
        raise InputError(f"An engine profile has no field {field!r} of that sort; use one of {', '.join(fields)}.")


def applies(conditions: Mapping[str, Iterable[str]], words: Mapping[str, str], *, unknown: bool) -> bool:
    """Do `conditions` (field -> accepted words) all hold for the profile words?

    An unknown field counts as `unknown`: True where leaving work out would be the risk, False where
    a special path is to be taken only when its reason is known. The word "unknown" may be listed.
    """
    for field, accepted in conditions.items():
        value = words.get(field, UNKNOWN)
        allowed = tuple(accepted)
        if value == UNKNOWN:
            if not unknown and UNKNOWN not in allowed:
                return False
        elif value not in allowed:
            return False
    return True
