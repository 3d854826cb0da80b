"""Judges, amounts and the starter's permit for `firststart reckon`: what the guided work says, asked by hand.

`reckon judge-NAME` takes `reading` (and its `name` and `cylinder`), any field of a profile, and earlier readings by
their own names (`compression.dry.2=118psi`); `reckon amount-NAME` takes the same without a reading. Both answer with
the limits that ship, so that a rule, a conflict of sources or a caution can be looked at without an engine.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from firststart.engine.profile import NUMBERS, WORDS, EngineProfile, check_number, check_together
from firststart.errors import InputError, UnknownName
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.judge.registry import AMOUNTS, JUDGES
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.procedure.library import Library
from firststart.starter.crank import Crank
from firststart.starter.duty import DutyClasses
from firststart.starter.permit import permit
from firststart.units import Measured, find_unit, from_si, measured, parse

_ERRORS = re.compile(r"(?: Raises)?(?: \w+Error,?| UnknownName,?)+\.?$")  # what a caller may meet, no part of the title
PERMIT, JUDGE, AMOUNT = "starter-permit", "judge-", "amount-"
OTHERS = {  # readings that only a manual, a label or the ear gives
    "coil-temperature": ("temperature", "degC"), "acid-temperature": ("temperature", "degC"),
    "lead-length": ("length", "m"),
}  # fmt: skip


@dataclass(frozen=True)
class Known:
    """What may be told beside the reading: every reading of the procedures by name, with its kind and unit."""

    library: Library

    def readings(self) -> dict[str, tuple[str, str]]:
        found = dict(OTHERS)
        for procedure in self.library.procedures.values():
            for step in procedure.steps.values():
                if step.measure is not None and step.sets is None:
                    found.setdefault(step.measure.name, (step.measure.quantity, step.measure.unit))
        return found


def wanted(name: str) -> bool:
    """Is `name` a judge, an amount or the permit, for which the library is needed?"""
    return name == PERMIT or name.startswith((JUDGE, AMOUNT))


def names() -> tuple[str, ...]:
    """Every name that is known here: the permit, the judges and the amounts."""
    return (PERMIT, *(JUDGE + n for n in JUDGES), *(AMOUNT + n for n in AMOUNTS))


def asked(name: str, texts: Mapping[str, str], library: Library) -> tuple[str, str, tuple[Answer, ...]]:
    """(title, source with its mark, answers) for one judge or amount. Raises UnknownName, InputError."""
    if name.startswith(JUDGE) and name[len(JUDGE) :] in JUDGES:
        judge = JUDGES[name[len(JUDGE) :]]
        verdict = judge.run(*_told(judge, texts, library))
        return _title(judge.run), f"{verdict.source} ({verdict.mark})", tuple(_of_verdict(verdict))
    if name.startswith(AMOUNT) and name[len(AMOUNT) :] in AMOUNTS:
        amount = AMOUNTS[name[len(AMOUNT) :]]
        text = amount(_context(texts, library))
        return f"{name[len(AMOUNT) :]}, as a prompt says it", "the limits and calculators that it uses", (
            Answer("text", text),
        )  # fmt: skip
    raise UnknownName(f"There is no subject called {name!r}; firststart reckon --list shows all.")


def _title(function: Callable[..., object]) -> str:
    return _ERRORS.sub("", (function.__doc__ or "").strip().splitlines()[0])


def lines() -> Iterator[str]:
    """Each judge and each amount for `--list`, as the subjects stand there."""
    for name, judge in JUDGES.items():
        yield f"{JUDGE}{name}: {_title(judge.run)}"
        takes = f"reading, one {judge.of}" if judge.of else "the readings so far, by name"
        yield f"  formula: {takes}, against the limits; answers {', '.join(judge.words)}"
        yield "  source:  that of the limit that decides, told with each verdict"
    for name in AMOUNTS:
        yield f"{AMOUNT}{name}: what a prompt puts in for {{amount:{name}}}"
        yield "  formula: profile fields and readings by name"
        yield "  source:  that of the limits and calculators behind it"


def _told(judge: Judge, texts: Mapping[str, str], library: Library) -> tuple[Reading | None, Context]:
    rest = {k: v for k, v in texts.items() if k not in ("reading", "cylinder", "name")}
    context = _context(rest, library)
    if not judge.of:
        if "reading" in texts:
            example = "give them by name, as in compression.dry.1=118psi"
            raise InputError(f"{judge.name} judges the readings so far; {example}.")
        return None, context
    if "reading" not in texts:
        raise InputError(f"{judge.name} needs reading, one {judge.of} with its unit; give it as reading=...")
    cylinder = round(_told_number("cylinders", texts["cylinder"]).value) if "cylinder" in texts else None
    unit = "" if judge.of == "count" else None
    return Reading(texts.get("name", judge.name), parse(texts["reading"], judge.of, unit, "reading"), cylinder), context


def _context(texts: Mapping[str, str], library: Library) -> Context:
    profile, readings = EngineProfile(), dict[tuple[str, int | None], Measured]()
    earlier = dict[tuple[str, int | None], Measured]()
    kinds = Known(library).readings()
    for name, text in texts.items():
        bare, before = name.removeprefix("before."), name.startswith("before.")
        stem, _, last = bare.rpartition(".")
        if name in WORDS:
            profile = profile.with_word(name, text)
        elif name in NUMBERS:
            number = _told_number(name, text)
            check_together(profile, name, number)
            profile = profile.with_number(name, number)
        elif bare in kinds:
            (earlier if before else readings)[(bare, None)] = _value(bare, text, kinds[bare])
        elif last.isdigit() and stem in kinds:
            (earlier if before else readings)[(stem, int(last))] = _value(bare, text, kinds[stem])
        else:
            raise UnknownName(f"There is no profile field and no reading called {name!r}; readings are {_some(kinds)}.")
    return Context(profile, library.limits, readings, earlier)


def _told_number(field: str, text: str) -> Measured:
    """A number of the profile. Raises InputError, RangeError."""
    kind, unit = NUMBERS[field][0], NUMBERS[field][1]
    number = parse(text, kind, unit if kind in ("count", "ratio") else None, field)
    check_number(field, number)
    check_together(EngineProfile(), field, number)
    return number


def _some(kinds: Mapping[str, object]) -> str:
    return ", ".join(sorted(kinds))


def _value(name: str, text: str, kind: tuple[str, str]) -> Measured:
    quantity, unit = kind
    return parse(text, quantity, unit if find_unit(unit, quantity).symbol == "" else None, name)


def _of_verdict(verdict: Verdict) -> Iterator[Answer]:
    yield Answer("verdict", verdict.word)
    yield Answer("says", verdict.say)
    for name, bound in (("low", verdict.low), ("high", verdict.high)):
        if bound is not None and verdict.kind:
            yield Answer(name, from_si(bound, verdict.unit, verdict.kind))
    if verdict.limit:
        yield Answer("limit", verdict.limit)
    for number, detail in enumerate(verdict.details, 1):
        yield Answer(f"detail-{number}", detail)


def permit_subject(duties: DutyClasses) -> Subject:
    """May the starter turn now, for how long, how many more tries: by duty, winding heat and tries, always all."""

    def run(values: Values) -> tuple[Answer, ...]:
        duty = duties[values["class"]]
        step, cranks = values["crank"] + values["rest"], round(values["cranks"])
        past = [Crank(i * step, values["crank"]) for i in range(cranks)] if values["crank"] > 0 else []
        now = (past[-1].start + values["crank"] if past else 0.0) + values["since"]
        found = permit(past, duty, now, values["air"], duty.crank_s)
        limit = duty.heat.insulation
        return (
            Answer("now", from_si(found.seconds, "s", "time"), found.reason),
            Answer("wait", from_si(found.wait_s, "s", "time"), "until a full crank is allowed"),
            Answer("tries-left", measured(float(found.tries_left), "", "count"), "full cranks before the long rest"),
            Answer("winding", from_si(found.winding_k, "degC", "temperature"), "computed"),
            Answer("limit", from_si(found.limit_k, "degC", "temperature"), f"class {limit} by winding resistance"),
            Answer("duty-factor", from_si(duty.duty_factor, "%", "percent"), "of full cranks and full rests"),
            Answer("class", f"{duty.crank_s:g} s, then {duty.rest_s:g} s of rest", f"{duty.source} ({duty.mark})"),
        )

    return Subject(
        PERMIT,
        "What the starter may do now, after so many cranks",
        "rest owed = seconds cranked x rest / crank of its class; two thermal masses, exact; the strictest rule counts",
        "duty classes of starters.yaml, each with its source; IEC 60085 classes by the lower resistance-method limit",
        "read",
        (
            Given("class", "count", "", 0, 0, "car", "duty class of the starter", tuple(duties.by_name)),
            Given("crank", "time", "s", 0, 60, "10 s", "seconds of each crank"),
            Given("cranks", "count", "", 0, 20, "1", "how many cranks so far", whole=True),
            Given("rest", "time", "s", 0, 3600, "60 s", "rest between them"),
            Given("since", "time", "s", 0, 36000, "0 s", "time since the last one ended"),
            Given("air", "temperature", "degC", -40, 60, "30 degC", "air around the starter"),
        ),
        run,
    )

