"""How much oil may go into a cylinder: scaled to its size, never enough to lock the engine."""

from __future__ import annotations

from dataclasses import dataclass

from firststart.engine.profile import EngineProfile
from firststart.errors import InputError
from firststart.judge.model import Context, Judge, Limits, Reading, Verdict
from firststart.judge.wording import amount, rounded_down
from firststart.physics.compression import clearance_volume
from firststart.units import Measured, from_si, measured

STORAGE, WET = "storage", "wet"
_MOST_CYLINDERS = 8  # of any profile; the smallest possible cylinder of a known displacement


@dataclass(frozen=True)
class CylinderOil:
    """The volume to pour into each cylinder, `clearance` the room above the piston (m3), and what was assumed."""

    volume: Measured
    clearance: float
    assumed: tuple[str, ...]

    @property
    def text(self) -> str:
        """The amount as it is said, in millilitres."""
        return str(self.volume)


def smallest_swept(profile: EngineProfile, limits: Limits) -> tuple[float, tuple[str, ...]]:
    """(swept volume in m3 that one cylinder has at least, what was assumed for it)."""
    known = profile.cylinder_volume
    whole, count = profile.si("displacement"), profile.cylinders
    if known is not None:  # bore and stroke, and the size on the plate, may disagree: the smaller one errs dry
        return (known if whole is None or count is None else min(known, whole / count)), ()
    kind = profile.word("kind") or "any"
    table = limits.under("oil.cylinder.smallest")
    least = (table[kind] if kind in table else table["any"]).si()
    if whole is None:
        return least, ("the cylinder's size is unknown",)
    return max(min(least, whole), whole / _MOST_CYLINDERS), ("the number of cylinders is unknown",)


def highest_ratio(profile: EngineProfile, limits: Limits) -> tuple[float, tuple[str, ...]]:
    """(compression ratio that the engine has at most, what was assumed for it)."""
    known = profile.si("ratio")
    if known is not None:
        return known, ()
    fuel = profile.word("fuel") or "petrol"
    return limits[f"oil.cylinder.ratio-unknown.{fuel}"].si(), ("the compression ratio is unknown",)


def cylinder_oil(context: Context, use: str = STORAGE) -> CylinderOil:
    """The oil for each cylinder, for `use` STORAGE (freeing, storing) or WET (the wet test).

    A share of the swept volume, capped by a quarter of the clearance volume and by the limits `oil.cylinder.most`
    and `.most-unknown`; what is unknown is taken at its worst, so the amount errs small.
    """
    limits = context.limits
    swept, assumed = smallest_swept(context.profile, limits)
    ratio, more = highest_ratio(context.profile, limits)
    room = clearance_volume(swept, ratio)
    caps = [
        swept * float(limits[f"oil.cylinder.{use}-share"].value),
        room * float(limits["oil.cylinder.clearance-share"].value),
        limits["oil.cylinder.most"].si(),
    ]
    if assumed:
        caps.append(limits["oil.cylinder.most-unknown"].si())
    shown = rounded_down(from_si(min(caps), "ml", "volume").value)
    return CylinderOil(measured(shown, "ml", "volume"), room, (*assumed, *more))


def judge_poured(reading: Reading | None, context: Context) -> Verdict:
    """Is the oil already poured into one cylinder little enough to crank on? Raises InputError.

    "too-much" from a quarter of the clearance volume up, taken at its smallest when the cylinder is not known.
    """
    if reading is None or reading.value.kind != "volume" or reading.value.si < 0:
        raise InputError("oil-poured judges one volume; give the oil poured in with its unit, as in 5 ml.")
    limit = context.limits["oil.cylinder.clearance-share"]
    found = cylinder_oil(context)
    most = found.clearance * float(limit.value)
    fine = reading.value.si <= most * (1 + 1e-9)
    room = amount(found.clearance, "ml", "volume")
    say = (
        f"{reading.value} is little enough."
        if fine
        else f"{reading.value} is too much. Turn it over by hand, plug out, until no more oil comes."
    )
    return Verdict(
        "fine" if fine else "too-much", say, None, most, "ml", "volume", "oil.cylinder.clearance-share", limit.source,
        limit.mark, (f"the room above the piston is {room} or more", *found.assumed),
    )  # fmt: skip


OIL_JUDGES: tuple[Judge, ...] = (Judge("oil-poured", "volume", ("fine", "too-much"), judge_poured),)
