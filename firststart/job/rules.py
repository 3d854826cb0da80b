"""What decisions need beside the situation: the library, compiled tables, judges and the starter's permit."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime
from functools import cached_property

from firststart.engine.profile import NUMBERS, UNKNOWN, EngineProfile
from firststart.errors import InputError, UnknownName
from firststart.job.facts import Judgement
from firststart.job.fold import seconds_of
from firststart.job.holds import fresh_holds
from firststart.job.plan import Item, left
from firststart.job.situation import Situation
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.machine.compile import compile_table, fields_read, profile_key
from firststart.machine.runtime import Runtime
from firststart.machine.table import PERMIT, Table
from firststart.procedure.library import Library
from firststart.starter.duty import DutyClass
from firststart.starter.permit import Permit, permit
from firststart.units import Measured, parse

NORMAL_AIR_K = 303.15  # with the air's temperature unknown the winding is taken to start warm (30 degC)
MAX_CRANK_S = 30.0
_ROUNDING_S = 1e-3


class Rules:
    """The library made ready to decide with. Holds caches only; every answer depends on its arguments alone."""

    def __init__(
        self,
        library: Library,
        judges: Mapping[str, Judge] | None = None,
        judge_words: Mapping[str, tuple[str, ...]] | None = None,
    ) -> None:
        self.library = library
        self._own_judges, self._known_words = judges, judge_words
        self.runtime = Runtime()
        self._tables: dict[tuple[object, ...], Table] = {}
        self._defaults: dict[str, tuple[dict[str, str], dict[str, Measured]]] = {}
        self._fields: dict[str, tuple[str, ...]] = {}
        self._filled: tuple[EngineProfile, EngineProfile] | None = None
        self._of_profile: tuple[EngineProfile, dict[str, Table]] | None = None
        self._permit: tuple[tuple[object, ...], Permit] | None = None
        self._fresh: tuple[tuple[object, ...], frozenset[str]] | None = None
        self._plan: tuple[tuple[object, ...], tuple[Item, ...]] | None = None

    @cached_property
    def judges(self) -> Mapping[str, Judge]:
        """Every judge by name; all the calculators come with them, so they are fetched when first needed."""
        if self._own_judges is not None:
            return self._own_judges
        from firststart.judge.registry import JUDGES

        return JUDGES

    @cached_property
    def judge_words(self) -> Mapping[str, tuple[str, ...]]:
        """The verdicts of each judge; where they are known already the judges need not be fetched."""
        if self._known_words is not None:
            return self._known_words
        return {name: judge.words for name, judge in self.judges.items()}

    def profile(self, profile: EngineProfile) -> EngineProfile:
        """The profile with the defaults of its kind filled in where the person knows nothing."""
        if self._filled is None or self._filled[0] is not profile:
            self._filled = (profile, self._with_defaults(profile))
        return self._filled[1]

    def _with_defaults(self, profile: EngineProfile) -> EngineProfile:
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
        if self._of_profile is None or self._of_profile[0] is not situation.profile:
            self._of_profile = (situation.profile, {})
        known = self._of_profile[1]
        if procedure not in known:
            known[procedure] = self._table(procedure, self.profile(situation.profile))
        return known[procedure]

    def _table(self, procedure: str, profile: EngineProfile) -> Table:
        model = self.library.procedure(procedure)
        if procedure not in self._fields:
            self._fields[procedure] = tuple(sorted(fields_read(model, self.library.safety)))
        told = profile.told
        key = profile_key(model, self._fields[procedure], told, profile.cylinders)
        if key not in self._tables:
            self._tables[key] = compile_table(
                model, self.library.safety, self.judge_words, told, profile.cylinders
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
        """The duty class of this engine's starter; one that the library no longer has counts as not named."""
        profile = self.profile(situation.profile)
        named = profile.word("starter-class")
        if named is not None and named not in self.library.duties.by_name:
            profile = profile.without("starter-class")
        return self.library.duties.choose(profile)

    def check_open_word(self, field: str, word: str) -> None:
        """Raise InputError for a word of an open field that nothing knows: it would stop all work later."""
        known: Collection[str] | None = None
        if field == "starter-class":
            known = self.library.duties.by_name
        elif field == "compression-rule":
            known = self.library.limits.under("compression.rule")
        if known is not None and word not in known and word != UNKNOWN:
            raise InputError(f"{field} is {word!r}, but must be one of {', '.join(known)} or unknown.")

    def starts_by_motor(self, situation: Situation) -> bool:
        """Does an electric motor turn this engine, for all we know?"""
        return self.words(situation).get("starting", "electric") in ("electric", "unknown")

    def permit(self, situation: Situation, now: datetime, wanted_s: float | None = None) -> Permit:
        """May the starter turn at the effective time `now`, for how long, and if not, how long to wait.

        An engine that no motor turns needs no rest, but one that was owed when its profile was changed stays owed.
        The newest answer is kept: the same question is put several times at one moment.
        """
        asked = (
            situation.cranks, situation.other_cranks, situation.rest_until, situation.profile, now, wanted_s,
        )  # fmt: skip
        if self._permit is None or self._permit[0] != asked:
            self._permit = (asked, self._permit_at(situation, now, wanted_s))
        return self._permit[1]

    def _permit_at(self, situation: Situation, now: datetime, wanted_s: float | None) -> Permit:
        air = self.profile(situation.profile).si("air-temperature")
        cranks = situation.all_cranks() if self.starts_by_motor(situation) else ()
        at = seconds_of(now)
        ahead = max((c.start + c.seconds - at for c in cranks), default=0.0)  # of another job, by another clock
        air = air if air is not None else NORMAL_AIR_K
        given = permit(cranks, self.duty(situation), at + max(ahead, 0.0), air, wanted_s)
        if ahead > _ROUNDING_S:
            given = _withheld(given, given.wait_s + ahead)
        owed = (situation.rest_until - now).total_seconds() if situation.rest_until is not None else 0.0
        if owed <= 0:
            return given
        return given if given.wait_s >= owed else _withheld(given, owed)

    def truths(self, situation: Situation, now: datetime) -> frozenset[str]:
        """What guards may rely on at the effective time `now`: fresh hold points, and the permit."""
        holds = self.fresh(situation, now)
        return holds | {PERMIT} if self.permit(situation, now).allowed else holds

    def fresh(self, situation: Situation, now: datetime) -> frozenset[str]:
        """The hold points that are fresh at the effective time `now`; the newest answer is kept, as for the permit."""
        asked = (
            situation.holds, situation.place, situation.place_doubted, situation.withheld_s, situation.uncounted_s, now,
        )  # fmt: skip
        if self._fresh is None or self._fresh[0] != asked:
            self._fresh = (asked, fresh_holds(self.library.safety, situation, now))
        return self._fresh[1]

    def plan(self, situation: Situation, now: datetime) -> tuple[Item, ...]:
        """What is left of the main work, in order; the newest answer is kept."""
        fresh = self.fresh(situation, now)
        asked = (situation.profile, situation.ended, situation.runs, fresh)
        if self._plan is None or self._plan[0] != asked:
            self._plan = (asked, left(self.library, situation, self.words(situation), fresh))
        return self._plan[1]


def _withheld(given: Permit, wait: float) -> Permit:
    """The permit while the starter has to rest for `wait` seconds, for a reason that cranks alone do not show."""
    reason = f"Let the starter rest for {math.ceil(wait)} seconds."
    return replace(given, allowed=False, seconds=0.0, wait_s=wait, reason=reason, rule=given.rule or "duty")
