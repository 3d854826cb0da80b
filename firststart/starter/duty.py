"""Duty classes of starters: how long they may turn, how long they must rest, how they heat. Data, not code."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from firststart.engine.profile import WORDS, EngineProfile, applies
from firststart.errors import DataError, Problem, UnknownName
from firststart.physics.subject import MARKS
from firststart.physics.winding import TwoMass, heating_rate


class _Sourced(BaseModel):
    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid")

    source: str = Field(min_length=4)
    mark: str
    note: str = ""

    @field_validator("mark")
    @classmethod
    def _known_mark(cls, mark: str) -> str:
        if mark not in MARKS:
            raise ValueError(f"mark is {mark!r}, but must be one of {', '.join(MARKS)}")
        return mark


class Insulation(_Sourced):
    """A thermal class of IEC 60085: the limit by winding resistance, lower than its hot spot (degC)."""

    limit_degc: float = Field(ge=60, le=250)
    hot_spot_degc: float = Field(ge=60, le=250)

    @model_validator(mode="after")
    def _lower(self) -> Insulation:
        if self.limit_degc >= self.hot_spot_degc:
            raise ValueError("limit_degc must be below hot_spot_degc")
        return self


class Heat(_Sourced):
    """How a starter heats: current density, the two thermal masses, and its insulation class by name."""

    current_density_a_mm2: float = Field(ge=1, le=60)
    winding_s: float = Field(ge=5, le=3600)
    body_s: float = Field(ge=60, le=36000)
    mass_ratio: float = Field(gt=0, le=2)
    insulation: str

    @property
    def masses(self) -> TwoMass:
        """Winding and body as two masses that exchange heat."""
        return TwoMass(self.winding_s, self.body_s, self.mass_ratio)


class DutyClass(_Sourced):
    """One class of starter. Times in seconds, `limit_k` in kelvin by winding resistance.

    `tries` full cranks may fall within `long_rest_s`; `pause_s` is the shortest rest after any crank.
    """

    name: str
    crank_s: float = Field(ge=1, le=30)
    rest_s: float = Field(ge=5, le=3600)
    tries: int = Field(ge=1, le=10)
    long_rest_s: float = Field(ge=60, le=7200)
    pause_s: float = Field(ge=1, le=60)
    heat: Heat
    limit_k: float

    @model_validator(mode="after")
    def _sensible(self) -> DutyClass:
        if self.rest_s < self.crank_s:
            raise ValueError("rest_s must not be shorter than crank_s")
        return self

    @cached_property
    def hot_rate(self) -> float:
        """Heating in K/s with the winding at its limit: the most it can be below the limit."""
        return heating_rate(self.heat.current_density_a_mm2 * 1e6, self.limit_k)

    @cached_property
    def cold_rate(self) -> float:
        """Heating in K/s at 20 degC."""
        return heating_rate(self.heat.current_density_a_mm2 * 1e6)

    @property
    def duty_factor(self) -> float:
        """Cranking over cranking and rest, 0 to 1: the cyclic duration factor of IEC 60034-1."""
        return self.crank_s / (self.crank_s + self.rest_s)


class Choice(BaseModel):
    """Which class an engine gets when its profile names none."""

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid", populate_by_name=True)

    when: dict[str, tuple[str, ...]]
    class_name: str = Field(alias="class")

    @field_validator("when")
    @classmethod
    def _known_fields(cls, when: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
        for field, words in when.items():
            bad = [w for w in words if w not in (*WORDS.get(field, ()), "unknown")]
            if field not in WORDS or bad:
                raise ValueError(f"{field}: {', '.join(bad) or 'no such field of a profile'}")
        return when


class DutyClasses(BaseModel):
    """Every duty class by name, and the choices in order; the last choice has no condition."""

    model_config = ConfigDict(defer_build=True, frozen=True)

    by_name: dict[str, DutyClass]
    choices: tuple[Choice, ...]

    def __getitem__(self, name: str) -> DutyClass:
        try:
            return self.by_name[name]
        except KeyError:
            known = ", ".join(self.by_name)
            raise UnknownName(f"There is no starter class called {name!r}; use one of {known}.") from None

    def choose(self, profile: EngineProfile) -> DutyClass:
        """The class of an engine: the profile's own word, else the first choice that surely holds.

        Raises UnknownName when the profile names a class that does not exist.
        """
        named = profile.word("starter-class")
        if named is not None:
            return self[named]
        words = profile.words
        return self[next(c.class_name for c in self.choices if applies(c.when, words, unknown=False))]

    @classmethod
    def from_data(cls, data: Mapping[str, Any], file: str = "procedures/starters.yaml") -> DutyClasses:
        """Classes from the parsed file. Raises DataError with every problem found."""
        if not isinstance(data, Mapping):
            raise DataError([Problem(file, 1, f"the file must have the parts {', '.join(_PARTS)}")])
        problems: list[Problem] = []
        insulation = _all(data, "insulation", Insulation, file, problems)
        parts = (_all(data, "heat", Heat, file, problems), insulation)
        entries = _section(data, "classes", file, problems)
        built = {name: _class(name, entry, parts, file, problems) for name, entry in entries.items()}
        classes = {name: duty for name, duty in built.items() if duty is not None}
        choices = _choices(data.get("choose"), entries, file, problems)
        problems += [Problem(file, 1, f"{k}: no such part") for k in data if k not in _PARTS]
        if problems:
            raise DataError(problems)
        return cls(by_name=classes, choices=choices)


_M = TypeVar("_M", bound=BaseModel)
_PARTS = ("insulation", "heat", "classes", "choose")


def _section(data: Mapping[str, Any], part: str, file: str, problems: list[Problem]) -> Mapping[str, Any]:
    found = data.get(part)
    if isinstance(found, Mapping) and found:
        return found
    problems.append(Problem(file, 1, f"{part}: must be a mapping with at least one name"))
    return {}


def _made(model: type[_M], entry: Any, where: str, file: str, problems: list[Problem]) -> _M | None:
    """A checked model of `entry`, or None after noting each of its problems with its place."""
    try:
        return model.model_validate(entry)
    except ValidationError as error:
        for found in error.errors():
            place = ".".join((where, *(str(p) for p in found["loc"])))
            problems.append(Problem(file, 1, f"{place}: {found['msg']}"))
        return None


def _all(data: Mapping[str, Any], part: str, model: type[_M], file: str, problems: list[Problem]) -> dict[str, _M]:
    entries = _section(data, part, file, problems).items()
    made = {name: _made(model, entry, f"{part}.{name}", file, problems) for name, entry in entries}
    return {name: value for name, value in made.items() if value is not None}


def _class(
    name: str,
    entry: Any,
    parts: tuple[Mapping[str, Heat], Mapping[str, Insulation]],
    file: str,
    problems: list[Problem],
) -> DutyClass | None:
    heats, insulation = parts
    where = f"classes.{name}"
    heat = heats.get(str(entry.get("heat"))) if isinstance(entry, Mapping) else None
    limit = insulation.get(heat.insulation) if heat is not None else None
    if heat is None or limit is None:
        problems.append(Problem(file, 1, f"{where}.heat: must name one of {', '.join(heats)}, with a known insulation"))
        return None
    filled = {**entry, "name": name, "heat": heat, "limit_k": limit.limit_degc + 273.15}
    return _made(DutyClass, filled, where, file, problems)


def _choices(entries: Any, names: Mapping[str, Any], file: str, problems: list[Problem]) -> tuple[Choice, ...]:
    if not isinstance(entries, list) or not entries:
        problems.append(Problem(file, 1, "choose: must be a list with at least one line"))
        return ()
    read = [_made(Choice, e, f"choose[{i}]", file, problems) for i, e in enumerate(entries)]
    found = tuple(c for c in read if c is not None)
    for choice in found:
        if choice.class_name not in names:
            problems.append(Problem(file, 1, f"choose: there is no class {choice.class_name!r}"))
    if found and found[-1].when:
        problems.append(Problem(file, 1, "choose: the last line must have no condition (it is for every other engine)"))
    return found
