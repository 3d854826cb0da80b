"""Scenarios: an engine, what is secretly wrong with it, who works on it, and what must hold at the end.

The words of a scenario file are Gherkin's: given, when, then. Reading is strict: every unknown key, word,
unit and condition is a problem with its line.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr

from firststart.engine.profile import FIELDS, NUMBERS, WORDS, EngineProfile, check_number, check_word
from firststart.errors import DataError, FirststartError, Problem, UnknownName
from firststart.procedure.catalogue import text_of
from firststart.procedure.reader import Document, read
from firststart.procedure.validate import model_of
from firststart.rehearsal.conditions import Conditions
from firststart.units import parse


def _texts(value: Any) -> Any:
    return {k: str(v) for k, v in value.items()} if isinstance(value, dict) else value


def _listed(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


Texts = Annotated[dict[str, str], BeforeValidator(_texts)]
Names = Annotated[tuple[str, ...], BeforeValidator(_listed)]


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)


class Hidden(_Strict):
    """One hidden condition: its name, the cylinder it sits in (where it has one), and how bad it is, 0 to 1."""

    condition: str
    cylinder: int | None = Field(default=None, ge=1, le=8)
    severity: float | None = Field(default=None, ge=0, le=1)


class Given(_Strict):
    """What is so. `profile` is the truth; the fields of `unknown` the person does not know."""

    engine: str = Field(min_length=2, max_length=40)
    profile: Texts
    unknown: Names = ()
    hidden: tuple[Hidden, ...] = ()
    prepared: bool = False  # all work before the first crank is done and was told to be right
    lacking: Names = ()  # names of measures that the person has no instrument for


class When(_Strict):
    """Who works, what they want, and how long they keep at it."""

    person: Literal["patient", "hurried", "mistaken"] = "patient"
    goal: Literal["runs", "plan"] = "runs"
    hours: float = Field(default=60, gt=0, le=1000)
    stop_after: tuple[float, ...] = Field(default=(), alias="stop after")  # minutes of work at which "stop" is called


class Then(_Strict):
    """What must hold at the end. None: not looked at."""

    runs: bool | None = None
    found: Names = ()  # hidden conditions that must have been put right
    refused: Names = ()  # hold points, or "permit", that must have been refused at least once
    cranked: float | None = Field(default=None, alias="cranked at most", gt=0)  # seconds in all
    hottest: float | None = Field(default=None, alias="hottest at most")  # winding, degC
    stopped: bool | None = None
    transcript: Literal["whole", "outline"] = "outline"  # what its golden twin keeps


class Scenario(_Strict):
    """One scenario, read and checked."""

    title: str = Field(min_length=5, max_length=80)
    story: str = ""
    given: Given
    when: When = When()
    then: Then = Then()
    _name: str = PrivateAttr("")

    @property
    def name(self) -> str:
        """The file's name without its ending; empty for a scenario that came from no file."""
        return self._name

    @property
    def truth(self) -> EngineProfile:
        """The profile as it really is."""
        return profile_of(self.given.profile)

    @property
    def told(self) -> EngineProfile:
        """The profile as the person knows it."""
        known = {k: v for k, v in self.given.profile.items() if k not in self.given.unknown}
        return profile_of(known)


def profile_of(texts: dict[str, str]) -> EngineProfile:
    """A profile from words and numbers as text. Raises InputError, OutOfScope."""
    profile = EngineProfile()
    for field, text in texts.items():
        if field in NUMBERS:
            kind, unit, _, _ = NUMBERS[field]
            profile = profile.with_number(field, parse(text.removesuffix(":1"), kind, unit or None, field))
        else:
            profile = profile.with_word(field, text)
    return profile


def read_scenario(text: str, file: str, conditions: Conditions) -> Scenario:
    """A scenario from its text. Raises DataError with every problem and its line."""
    document = read(text, file)
    problems: list[Problem] = []
    scenario = model_of(Scenario, document, (), document.data, problems)
    if scenario is not None:
        _check(scenario, document, conditions, problems)
    if scenario is None or problems:
        raise DataError(problems)
    scenario._name = Path(file).stem
    return scenario


def _check(scenario: Scenario, document: Document, conditions: Conditions, problems: list[Problem]) -> None:
    for field, text in scenario.given.profile.items():
        message = _profile_problem(field, text)
        if message:
            problems.append(document.problem(("given", "profile", field), message))
    for index, field in enumerate(scenario.given.unknown):
        if field not in FIELDS:
            message = f"there is no profile field {field!r}; remove it"
            problems.append(document.problem(("given", "unknown", index), message))
    if problems:
        return
    for index, hidden in enumerate(scenario.given.hidden):
        for message in conditions.problems(hidden.condition, hidden.cylinder, scenario.truth):
            problems.append(document.problem(("given", "hidden", index), message))
    there = {h.condition for h in scenario.given.hidden}
    for index, name in enumerate(scenario.then.found):
        if name not in there:
            problems.append(document.problem(("then", "found", index), f"{name!r} is not among the hidden conditions"))


def _profile_problem(field: str, text: str) -> str:
    try:
        if field in NUMBERS:
            kind, unit, _, _ = NUMBERS[field]
            check_number(field, parse(text.removesuffix(":1"), kind, unit or None, field))
        elif field in WORDS:
            check_word(field, text)
        else:
            return f"there is no profile field {field!r}; use one of {', '.join(FIELDS)}"
    except FirststartError as error:
        return str(error)
    return ""


def load_scenario(path: Path, conditions: Conditions) -> Scenario:
    """The scenario in a file. Raises DataError; UnknownName when there is no such file."""
    if not path.is_file():
        raise UnknownName(f"There is no scenario {path.stem!r}; see firststart rehearse --help for the list.")
    return read_scenario(text_of(path, path.name), path.name, conditions)


def scenario_names(folder: Path) -> tuple[str, ...]:
    """The names of the scenarios in `folder`, in order."""
    return tuple(sorted(p.stem for p in folder.glob("*.yaml")))
