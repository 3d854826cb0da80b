"""What decisions need beside the situation: the library, compiled tables, judges and the starter's permit."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from firststart.engine.profile import NUMBERS, EngineProfile
from firststart.errors import UnknownName
from firststart.job.facts import Judgement
from firststart.job.fold import seconds_of
from firststart.job.holds import fresh_holds
from firststart.job.situation import Situation
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.judge.registry import JUDGES
from firststart.machine.compile import compile_table, profile_key
from firststart.machine.runtime import Runtime
from firststart.machine.table import PERMIT, Table
from firststart.procedure.library import Library
from firststart.starter.duty import DutyClass
from firststart.starter.permit import Permit, permit
from firststart.units import Measured, parse

NORMAL_AIR_K = 303.15  # with the air's temperature unknown the winding is taken to start warm (30 degC)
MAX_CRANK_S = 30.0


class Rules:
    """The library made ready to decide with. Holds caches only; every answer depends on its arguments alone."""

    def __init__(self, library: Library, judges: Mapping[str, Judge] = JUDGES) -> None:
        self.library = library
        self.judges = dict(judges)
        self.judge_words = {name: judge.words for name, judge in self.judges.items()}
        self.runtime = Runtime()
        self._tables: dict[tuple[object, ...], Table] = {}
        self._defaults: dict[str, tuple[dict[str, str], dict[str, Measured]]] = {}

    def profile(self, profile: EngineProfile) -> EngineProfile:
        """The profile with the defaults of its kind filled in where the person knows nothing."""
        kind = profile.word("kind")
        if kind is None or kind not in self.library.engines:
            return profile
        if kind not in self._defaults:
            defaults = self.library.engines[kind]
            numbers = {k: parse(t, NUMBERS[k][0], NUMBERS[k][1] or None, k) for k, t in defaults.numbers.items()}
            self._defaults[kind] = (dict(defaults.words), numbers)
        return profile.with_defaults(*self._defaults[kind])

    def words(self, situation: Situation) -> dict[str, str]:
        """The profile words that conditions are tested against, defaults included."""
        return self.profile(situation.profile).words

    def table(self, procedure: str, situation: Situation) -> Table:
        """The compiled machine of a procedure for this job's engine. Raises UnknownName."""
        model = self.library.procedure(procedure)
        profile = self.profile(situation.profile)
        key = profile_key(model, self.library.safety, profile.words, profile.cylinders)
        if key not in self._tables:
            self._tables[key] = compile_table(
                model, self.library.safety, self.judge_words, profile.words, profile.cylinders
            )
        return self._tables[key]

    def context(self, situation: Situation) -> Context:
        """What judges and amounts may look at."""
        return Context(
            profile=self.profile(situation.profile),
            limits=self.library.limits,
            readings={k: r.value for k, r in situation.readings.items()},
            earlier={k: r.value for k, r in situation.earlier.items()},
        )

    def judge(self, name: str, reading: Reading | None, situation: Situation) -> Judgement:
        """The judgement of a reading, or of the readings so far. Raises UnknownName."""
        if name not in self.judges:
            raise UnknownName(f"There is no judge called {name!r}.")
        verdict: Verdict = self.judges[name].run(reading, self.context(situation))
        return Judgement(
            judge=name,
            word=verdict.word,
            say=verdict.say,
            low=verdict.low,
            high=verdict.high,
            unit=verdict.unit,
            limit=verdict.limit,
            source=verdict.source,
            mark=verdict.mark,
            details=verdict.details,
        )

    def duty(self, situation: Situation) -> DutyClass:
        """The duty class of this engine's starter."""
        return self.library.duties.choose(self.profile(situation.profile))

    def starts_by_motor(self, situation: Situation) -> bool:
        """Does an electric motor turn this engine, for all we know?"""
        return self.words(situation).get("starting", "electric") in ("electric", "unknown")

    def permit(self, situation: Situation, now: datetime, wanted_s: float | None = None) -> Permit:
        """May the starter turn at the effective time `now`, for how long, and if not, how long to wait."""
        air = self.profile(situation.profile).si("air-temperature")
        return permit(
            situation.all_cranks(),
            self.duty(situation),
            seconds_of(now),
            air if air is not None else NORMAL_AIR_K,
            wanted_s,
        )

    def truths(self, situation: Situation, now: datetime) -> frozenset[str]:
        """What guards may rely on at the effective time `now`: fresh hold points, and the permit."""
        holds = fresh_holds(self.library.safety, situation, now)
        if not self.starts_by_motor(situation) or self.permit(situation, now).allowed:
            return holds | {PERMIT}
        return holds
