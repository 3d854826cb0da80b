"""Judges of oil: the grade against the day's cold, the pressure, and what was poured into a cylinder."""

from __future__ import annotations

from firststart.errors import InputError
from firststart.judge.cylinderoil import OIL_JUDGES
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.judge.wording import amount, doubt
from firststart.physics.guard import within
from firststart.physics.oil import dynamic, from_index
from firststart.physics.uncertainty import FAIL, PASS, at_least, decide, half_width

WINTER = "oil-winter"  # reading: the number before the W; none taken means a single grade
PRESSURE = "pressure"
_OLD = "old oil may be thicker than its grade"


def judge_grade(reading: Reading | None, context: Context) -> Verdict:
    """The grade on the can (its number, the one after the W of a multigrade) at the day's temperature.

    A multigrade is judged by the winter number, which is made for this; a single grade by its computed viscosity.
    Raises InputError.
    """
    if reading is None or reading.value.kind != "count":
        raise InputError("oil-grade judges the grade's number; give it alone, as in 30 or, of a 20W-50, 50.")
    air = context.profile.numbers.get("air-temperature")
    grades = context.limits.under("oil.grade")
    grade = f"{reading.value.value:g}"
    if grade not in grades:
        raise InputError(f"oil-grade is {grade}, but must be one of {', '.join(grades)}.")
    if air is None:
        say = "The air temperature is not known, so the oil cannot be judged."
        return Verdict("unsure", say, unit="mPas", kind="dynamic viscosity", source="SAE J300", mark="secondary copy")
    winter = context.readings.get((WINTER, None))
    if winter is None:
        return _single(grade, air.si, str(air), context)
    return _multi(f"{winter.value:g}", grade, air.si, str(air), context)


def viscosity(grade: str, index: str, kelvin: float, context: Context) -> float:
    """Dynamic viscosity in Pa s of the middle of an SAE `grade` at `kelvin`. Raises UnknownName, RangeError."""
    nu100 = context.limits[f"oil.grade.{grade}"].si()
    return dynamic(from_index(nu100, float(context.limits[f"oil.index.{index}"].value)), kelvin)


def _single(grade: str, kelvin: float, air: str, context: Context) -> Verdict:
    found = viscosity(grade, "single", kelvin, context)
    thick, most = context.limits["oil.thick"], context.limits["oil.too-thick"]
    word = "too-thick" if found > most.si() else "thick" if found > thick.si() else "fine"
    name, limit = ("oil.too-thick", most) if word == "too-thick" else ("oil.thick", thick)
    detail = f"about {amount(found, 'mPas', 'dynamic viscosity')} by Walther, for the middle of the grade"
    return Verdict(
        word, _say(word, f"SAE {grade}", air), None, limit.si(), "mPas", "dynamic viscosity", name, limit.source,
        limit.mark, (detail, _OLD),
    )  # fmt: skip


def _multi(winter: str, grade: str, kelvin: float, air: str, context: Context) -> Verdict:
    table = {k: v for k, v in context.limits.under("oil.winter").items() if k.isdigit()}
    if winter not in table:
        raise InputError(f"oil-winter is {winter}, but must be one of {', '.join(table)}.")
    least = table[winter]
    warm = least.si() + float(context.limits["oil.winter.margin"].value)  # a difference: kelvins
    word = "too-thick" if kelvin < least.si() else "thick" if kelvin < warm else "fine"
    found = viscosity(grade, "multigrade", kelvin, context)
    detail = f"about {amount(found, 'mPas', 'dynamic viscosity')} by Walther when hardly sheared"
    return Verdict(
        word, _say(word, f"{winter}W-{grade}", air), warm if word != "too-thick" else least.si(), None, "degC",
        "temperature", f"oil.winter.{winter}", least.source, least.mark, (detail, _OLD),
    )  # fmt: skip


def _say(word: str, oil: str, air: str) -> str:
    return {
        "fine": f"{oil} is thin enough at {air}.",
        "thick": f"{oil} is thick at {air}. Warm it, or crank in short tries.",
        "too-thick": f"{oil} is too thick to crank at {air}. Warm it or change it.",
    }[word]


def judge_pressure(reading: Reading | None, context: Context) -> Verdict:
    """Oil pressure at idle against the least that any source accepts. Raises InputError, RangeError."""
    if reading is None or reading.value.kind != PRESSURE:
        raise InputError("oil-pressure judges one pressure; give the gauge's reading with its unit, as in 15 psi.")
    value = within(reading.value.si, "oil-pressure", 0, None, "Pa", "a gauge pressure")
    step = context.limits["oil.pressure.resolution"].si() if reading.resolution is None else reading.resolution
    least, none = context.limits["oil.pressure.least"], context.limits["oil.pressure.none"]
    usual = context.limits["oil.pressure.idle"]
    floor = decide(value - least.si(), half_width(step))
    if at_least(none.si(), value, step).word == PASS:
        word, say = "none", f"{reading.value} is no oil pressure. Stop the engine now."
    else:
        word, say = {
            PASS: ("good", f"{reading.value} is enough at idle."),
            FAIL: ("low", f"{reading.value} is low. Stop the engine."),
        }.get(floor.word, ("unsure", f"{reading.value} is too near the least of {least.value} {least.unit} to say."))
    detail = f"usual at idle: {usual.value} {usual.unit} ({usual.source}); the manual's figure comes first"
    near = (doubt(floor, reading.value.unit, PRESSURE),) if word == "unsure" else ()
    return Verdict(
        word, say, least.si(), None, reading.value.unit, PRESSURE, "oil.pressure.least", least.source, least.mark,
        (*near, detail),
    )  # fmt: skip


JUDGES: tuple[Judge, ...] = (
    Judge("oil-grade", "count", ("fine", "thick", "too-thick", "unsure"), judge_grade),
    Judge("oil-pressure", PRESSURE, ("good", "low", "none", "unsure"), judge_pressure),
    *OIL_JUDGES,
)
