"""Two tests or two jobs on one engine: what changed, and whether the instruments can tell.

Each reading stands for any value within half its instrument's step (from memory: JCGM 100:2008, 4.3.7). A
difference is a change only when it is larger than both halves together, the guard band of `physics.uncertainty`;
a smaller one may be no change at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from firststart.errors import InputError
from firststart.physics.uncertainty import PASS, combined, decide, half_width, standard
from firststart.report.model import Reading, Report
from firststart.report.readings import difference
from firststart.report.wording import capital, label, plural, reading_text, short_day, stamp
from firststart.units import Measured

HIGHER, LOWER, WITHIN, UNKNOWN = "higher", "lower", "no change to be seen", "not known"
Key = tuple[str, int | None]


@dataclass(frozen=True)
class Change:
    """One reading against another of the same name and cylinder. `by` is after less before, in the later unit.

    `word` is HIGHER or LOWER when the difference is beyond `doubt` (both half steps together), WITHIN when it is
    not, UNKNOWN when a step is not recorded. `standard` is the combined standard uncertainty; both None then.
    """

    name: str
    cylinder: int | None
    before: Reading
    after: Reading
    by: Measured
    word: str
    doubt: Measured | None
    standard: Measured | None
    notes: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """ "Compression dry, cylinder 2"."""
        return self.after.label if self.cylinder is None else f"{self.after.label}, cylinder {self.cylinder}"

    def say(self) -> str:
        """The change in one sentence."""
        values = f"{reading_text(self.before.value)} before, {reading_text(self.after.value)} after"
        if self.word == UNKNOWN:
            return f"{values}: by {signed(self.by)}; an instrument's step is not recorded, so no more can be said."
        assert self.doubt is not None  # known with the word
        beyond = "beyond" if self.word in (HIGHER, LOWER) else "not beyond"
        return f"{values}: {self.word}, by {signed(self.by)}, {beyond} the {reading_text(self.doubt)} of both steps."


@dataclass(frozen=True)
class Told:
    """One thing told in words that is not the same any more: an outcome, a verdict, an answer, a profile field."""

    sort: str
    what: str
    before: str
    after: str


@dataclass(frozen=True)
class Comparison:
    """What two tests or jobs on one engine have in common, and what changed between them."""

    engine: str
    before: str
    after: str
    changes: tuple[Change, ...]
    told: tuple[Told, ...]
    only_before: tuple[str, ...] = ()
    only_after: tuple[str, ...] = ()


def signed(value: Measured) -> str:
    """A difference with its sign: "+8 psi"."""
    text = reading_text(Measured(round(value.value, 6), value.unit, value.kind, value.si))
    return text if text.startswith("-") else f"+{text}"


def change(before: Reading, after: Reading) -> Change:
    """One reading against a later one. Raises InputError when they are of different kinds."""
    if before.value.kind != after.value.kind:
        kinds = f"was a {before.value.kind} and is a {after.value.kind}"
        raise InputError(f"{after.label} {kinds}: two kinds cannot be compared.")
    by = difference(after.value.si - before.value.si, after.value)
    notes = _notes(before, after)
    if before.resolution is None or after.resolution is None:
        return Change(after.name, after.cylinder, before, after, by, UNKNOWN, None, None, notes)
    steps = (before.resolution.si, after.resolution.si)
    doubt = half_width(steps[0]) + half_width(steps[1])
    spread = combined(standard(steps[0]), standard(steps[1]))
    return Change(
        after.name, after.cylinder, before, after, by, _word(by.si, doubt), difference(doubt, after.value),
        difference(spread, after.value), notes,
    )  # fmt: skip


def _word(by: float, doubt: float) -> str:
    # One step up with both steps alike meets the guard exactly, and the true value may have stood still between the
    # two: that is no change to be seen. SI values meet it only to rounding.
    if by == 0 or abs(by) <= doubt * (1 + 1e-9) or decide(abs(by), doubt).word != PASS:
        return WITHIN
    return HIGHER if by > 0 else LOWER


def _notes(before: Reading, after: Reading) -> tuple[str, ...]:
    if before.instrument == after.instrument:
        return ()
    return (f"another instrument ({before.instrument} before): two instruments may differ by more than their steps",)


def newest_changes(report: Report, earlier: Sequence[Report] = ()) -> tuple[Change, ...]:
    """The two newest readings of each name and cylinder that were made in different runs, `earlier` jobs included."""
    series: dict[Key, list[tuple[tuple[str, int], Reading]]] = {}
    for job in sorted([*earlier, report], key=lambda j: j.opened):
        for r in _valid(job.readings):
            series.setdefault((r.name, r.cylinder), []).append(((job.job, r.run), r))
    found = []
    for points in series.values():
        last = points[-1]
        before = [p for p in points if p[0] != last[0] and p[1].value.kind == last[1].value.kind]
        if before:
            found.append(change(before[-1][1], last[1]))
    return tuple(found)


def compare_runs(report: Report, first: int, second: int) -> Comparison:
    """Two runs of one job, by their numbers. Raises InputError when there is no such run, or nothing in common."""
    names = []
    for run in (first, second):
        span = next((s for s in report.spans if s.run == run), None)
        if span is None:
            raise InputError(f"Job {report.job} has no run {run}; it has {plural(len(report.spans), 'run')}.")
        names.append(f"{span.title}, {stamp(span.began)}")
    before, after = (_last(r for r in report.readings if r.run == run) for run in (first, second))
    given = [{a.observe: a.answer for a in report.answers if a.observe and a.run == run} for run in (first, second)]
    told = (*_verdicts(before, after), *_differing("answer", *given))
    return _comparison(report.engine, (names[0], names[1]), before, after, told)


def compare_jobs(before: Report, after: Report) -> Comparison:
    """Two jobs on one engine, each by its newest readings, outcomes and answers. Raises InputError for two engines."""
    if before.engine != after.engine:
        raise InputError(
            f"Job {before.job} is on {before.engine} and job {after.job} on {after.engine}; compare jobs on one engine."
        )
    one, two = (_last(_valid(r.readings)) for r in (before, after))
    profiles = [{p.label: p.value for p in r.profile if p.known == "told"} for r in (before, after)]
    outcomes: list[dict[str, str]] = [{w.title: w.stand for w in r.work if w.times} for r in (before, after)]
    answers = [{a.observe: a.answer for a in r.answers if a.observe and not a.stale} for r in (before, after)]
    told = (
        *_differing("outcome", *outcomes), *_verdicts(one, two), *_differing("answer", *answers),
        *_differing("engine", *profiles, missing=True),
    )  # fmt: skip
    names = tuple(f"job {r.job}, {short_day(r.opened)}" for r in (before, after))
    return _comparison(after.engine, (names[0], names[1]), one, two, told)


def _valid(readings: Iterable[Reading]) -> Iterable[Reading]:
    return (r for r in readings if r.counts != "corrected")


def _last(readings: Iterable[Reading]) -> dict[Key, Reading]:
    return {(r.name, r.cylinder): r for r in readings}


def _comparison(
    engine: str, names: tuple[str, str], before: dict[Key, Reading], after: dict[Key, Reading], told: tuple[Told, ...]
) -> Comparison:
    both = [k for k in after if k in before and after[k].value.kind == before[k].value.kind]
    if not both and not told and not (set(before) | set(after)):
        raise InputError(f"There is nothing to compare between {names[0]} and {names[1]}: no readings, no answers.")
    return Comparison(
        engine, *names, tuple(change(before[k], after[k]) for k in both), told,
        tuple(_named(r) for k, r in before.items() if k not in after),
        tuple(_named(r) for k, r in after.items() if k not in before),
    )  # fmt: skip


def _named(r: Reading) -> str:
    cylinder = "" if r.cylinder is None else f", cylinder {r.cylinder}"
    return f"{r.label}{cylinder}: {reading_text(r.value)}"


def _verdicts(before: dict[Key, Reading], after: dict[Key, Reading]) -> tuple[Told, ...]:
    words = [{_key_text(k): r.judged.word for k, r in side.items() if r.judged} for side in (before, after)]
    return _differing("verdict", *words)


def _key_text(key: Key) -> str:
    name, cylinder = capital(label(key[0])), key[1]
    return name if cylinder is None else f"{name}, cylinder {cylinder}"


def _differing(
    sort: str, before: dict[str, str], after: dict[str, str], *, missing: bool = False
) -> tuple[Told, ...]:
    """What both sides tell differently; with `missing`, also what only one of them tells."""
    keys = dict.fromkeys((*before, *after)) if missing else [k for k in after if k in before]
    pairs = [(k, before.get(k, "unknown"), after.get(k, "unknown")) for k in keys]
    name = label if sort == "answer" else str
    return tuple(Told(sort, capital(name(k)), one, two) for k, one, two in pairs if one != two)
