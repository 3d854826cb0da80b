"""From the file's shape to the book's values: words to numbers, names to things, all problems gathered."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from types import MappingProxyType

from firststart.diagnosis.bookfile import BookPart, CheckPart, FixPart, Level, RowPart, SuspectPart
from firststart.diagnosis.model import Access, Check, Fix, Policy, Row, Suspect, Zone
from firststart.errors import Problem

Path = tuple[str | int, ...]
NOT_DONE = ("not done", "could not", "not sure", "skipped", "unknown")
"""Words that are never evidence; a check may not use them as outcomes."""
HAZARDS = ("cranking", "ignition voltage", "open fuel", "running engine", "hot parts", "battery work", "hand turning")
"""The hazard classes a check may name."""


class Resolver:
    """Holds the file's parts and gathers problems while it makes the values."""

    def __init__(self, part: BookPart, place: Callable[[Path], int], file: str) -> None:
        self.part, self.place, self.file = part, place, file
        self.problems: list[Problem] = []

    def complain(self, path: Path, message: str) -> None:
        """Keep a problem with the place of the data it is about."""
        self.problems.append(Problem(self.file, self.place(path), message))

    def known(self, path: Path, name: str, names: Iterable[str], kind: str) -> bool:
        """True when `name` is one of `names`; else a problem that offers the nearest."""
        choices = list(names)
        if name in choices:
            return True
        near = get_close_matches(name, choices, 1)
        self.complain(path, f"there is no {kind} called {name!r}" + (f"; do you mean {near[0]!r}?" if near else "."))
        return False

    def level(self, path: Path, value: Level, cap: bool = True) -> float:
        """A word of the scale or a number as a chance; `cap` keeps the slip even for a proof."""
        words = self.part.words
        if isinstance(value, str):
            if not self.known(path, value, words, "word of the scale"):
                return 0.5
            number = words[value]
        else:
            number = float(value)
        if not 0.0 <= number <= 1.0:
            self.complain(path, f"{number:g} is not a chance; use a word of the scale or a number from 0 to 1.")
            return 0.5
        return min(number, 1.0 - self.part.slip) if cap else number

    def fields(self, path: Path, rule: Mapping[str, tuple[str, ...]]) -> Mapping[str, tuple[str, ...]]:
        """A condition on the engine, each field and word looked up; one that is not known is a problem."""
        for name, words in rule.items():
            if self.known((*path, name), name, self.part.fields, "profile field"):
                for word in words:
                    self.known((*path, name), word, self.part.fields[name], f"word for {name}")
        return MappingProxyType(dict(rule))

    def policy(self) -> Policy:
        """The numbers by which the next check is chosen."""
        p = self.part.policy
        return Policy(p.ruled_out, p.found, p.trial, p.costly, p.close, p.try_minutes, p.enough)

    def climate(self) -> dict[str, dict[str, float]]:
        """The factor of each climate on each kind of ageing."""
        for kind, factors in self.part.climate.items():
            self.known(("climate", kind), kind, self.part.ageing, "kind of ageing")
            self.fields(("climate",), {"climate": tuple(factors)})
        return self.part.climate

    def zones(self) -> dict[str, Zone]:
        """The zones by name."""
        return {key: Zone(key, z.say, z.specialist) for key, z in self.part.zones.items()}

    def accesses(self) -> dict[str, Access]:
        """What has to be opened or taken off, by name."""
        return {key: Access(key, a.say, a.minutes, a.closes) for key, a in self.part.access.items()}

    def suspects(self) -> dict[str, Suspect]:
        """Every suspect by id."""
        return {key: self.suspect(key, part) for key, part in self.part.suspects.items()}

    def suspect(self, key: str, part: SuspectPart) -> Suspect:
        """One suspect with its chances as numbers."""
        at: Path = ("suspects", key)
        self.known((*at, "zone"), part.zone, self.part.zones, "zone")
        if part.ages is not None:
            self.known((*at, "ages"), part.ages, self.part.ageing, "kind of ageing")
        elif part.per_year > 0:
            self.complain((*at, "per year"), f"{key} has a hazard per year; say what it ages by.")
        for name, factors in part.eased.items():
            self.fields((*at, "eased"), {name: tuple(factors)})
        return Suspect(
            key, part.say, part.zone, part.base, part.per_year, part.ages, MappingProxyType(part.eased),
            self.fields((*at, "applies"), part.applies), self.level((*at, "stops"), part.stops),
            self.fix(at, part.fix), part.mark or self.part.mark, self.place(at),
        )

    def fix(self, at: Path, part: FixPart | None) -> Fix:
        """How a suspect is mended."""
        if part is None:
            self.complain(at, f"{at[-1]} has no fix; say how it is put right and how many minutes that takes.")
            return Fix("", 1.0, None, 1.0, False, False, False)
        path = (*at, "fix")
        if part.minutes is None:
            self.complain(path, f"the fix of {at[-1]} has no minutes.")
        if not part.do and not part.procedure:
            self.complain(path, f"the fix of {at[-1]} says neither what to do nor which procedure does it.")
        return Fix(
            part.do, part.minutes or 1.0, part.procedure, self.level((*path, "works"), part.works),
            part.hazardous, part.irreversible, part.parts,
        )

    def checks(self) -> dict[str, Check]:
        """Every check by id."""
        return {key: self.check(key, part) for key, part in self.part.checks.items()}

    def check(self, key: str, part: CheckPart) -> Check:
        """One check with its rows and minutes."""
        at: Path = ("checks", key)
        if part.minutes is None:
            self.complain(at, f"{key} has no minutes.")
        for name in part.access:
            self.known((*at, "access"), name, self.part.access, "access")
        for name in part.hazard:
            self.known((*at, "hazard"), name, HAZARDS, "hazard class")
        rows = self.rows(at, key, part)
        self.words(at, part, rows)
        return Check(
            key, part.say, part.do, part.minutes or 1.0, part.access, self.needs(at, part),
            self.fields((*at, "applies"), part.applies), part.hazard, part.undoes, part.procedure, part.observes,
            part.first, part.ok_when, rows, part.mark or self.part.mark, self.place(at),
        )

    def needs(self, at: Path, part: CheckPart) -> Mapping[str, tuple[str, ...]]:
        """What must have been found first, each name and word looked up; one that is not known is a problem."""
        for name, words in part.needs.items():
            path = (*at, "needs", name)
            if not self.known(path, name, self.part.checks, "check"):
                continue
            other = self.part.checks[name]
            outcomes = [*other.ok_when, *other.bad_when, *(w for r in other.rows.values() for w in r.bad_when)]
            for word in words:
                self.known(path, word, outcomes, f"outcome of {name}")
        return MappingProxyType(dict(part.needs))

    def rows(self, at: Path, key: str, part: CheckPart) -> tuple[Row, ...]:
        """The rows of a check, worst outcome first."""
        single = bool(part.bad_when or part.bad_if)
        if single == bool(part.rows):
            self.complain(at, f"{key} needs either 'bad when' with 'bad if', or 'rows', and not both.")
            return ()
        if single:
            whole = RowPart.model_validate({
                "bad when": part.bad_when, "graded": part.graded, "looks bad anyway": part.leak, "bad if": part.bad_if,
            })
            return (self.row(at, key, key, whole),)
        return tuple(self.row((*at, "rows", name), f"{key}.{name}", key, row) for name, row in part.rows.items())

    def row(self, at: Path, key: str, check: str, part: RowPart) -> Row:
        """One row: which suspects make it bad, and how surely."""
        bad_if = {}
        for suspect, level in part.bad_if.items():
            if self.known((*at, "bad if", suspect), suspect, self.part.suspects, "suspect"):
                bad_if[suspect] = self.level((*at, "bad if", suspect), level)
        if not bad_if:
            self.complain(at, f"{key} has no suspect that makes it bad, so it tells nothing.")
        if part.leak is None:
            self.complain(at, f"{key} does not say how often it 'looks bad anyway'.")
        leak = self.level((*at, "looks bad anyway"), part.leak if part.leak is not None else 0.03)
        if not 0.0 < leak < 1.0:
            self.complain(at, f"{key} never 'looks bad anyway'; every row needs a chance above 0 and below 1.")
        graded = {w: self.level((*at, "graded", w), v) for w, v in part.graded.items()}
        return Row(
            key, check, part.bad_when, MappingProxyType(graded), leak, MappingProxyType(bad_if),
            self.fields((*at, "applies"), part.applies), self.place(at),
        )

    def words(self, at: Path, part: CheckPart, rows: tuple[Row, ...]) -> None:
        """Look at the words of a check: one that is given twice, or that means not done, is a problem."""
        seen: set[str] = set()
        groups = [("ok when", part.ok_when), *((r.id, (*r.bad_when, *r.graded)) for r in rows)]
        for where, words in groups:
            for word in words:
                if word in seen:
                    self.complain(at, f"the outcome {word!r} is given twice, the second time in {where}.")
                if word in NOT_DONE:
                    self.complain(at, f"{word!r} means that the check was not done, so it cannot be an outcome.")
                seen.add(word)
        if not part.ok_when:
            self.complain(at, f"{at[-1]} has no word for a good outcome.")
