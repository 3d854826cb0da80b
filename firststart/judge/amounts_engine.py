"""Named amounts of the engine itself and of its fuel: forces, firing interval, what a spill or a blend does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from firststart.judge.bands import pair
from firststart.judge.expected import altitude, closing_band
from firststart.judge.model import Context
from firststart.judge.wording import amount, per_cent, span
from firststart.physics.atmosphere import pressure
from firststart.physics.compression import peak_torque
from firststart.physics.crankgeometry import crank_torque
from firststart.physics.firingorder import pairs, written
from firststart.physics.fuel import MOLAR_MASS, blend_ratio, flammable_air, water_held
from firststart.physics.fuelflow import gravity_head
from firststart.physics.timingmark import firing_interval

_E10 = 0.10


def _rods(context: Context, stroke: float) -> float:
    """The rod's length, taken at the middle of the usual range when it is unknown: it hardly moves a torque."""
    known = context.profile.si("rod")
    return stroke * sum(pair(context.limits["compression.rod-to-stroke"])) / 2 if known is None else known


def _crank_torque(context: Context) -> str:
    """What the leak-down supply does to a crank that was missed by some degrees."""
    bore, stroke = context.profile.si("bore"), context.profile.si("stroke")
    if bore is None or stroke is None:
        return "the force of a spanner swung by hand"
    supply = context.readings.get(("leak-down.supply", None))
    gauge = context.limits["leakdown.supply"].si() if supply is None else supply.si
    angle = context.limits["leakdown.torque-caution"].si()
    torque = crank_torque(gauge, angle, bore, stroke, _rods(context, stroke))
    return f"{amount(torque, 'Nm', 'torque')} at {amount(angle, 'deg', 'angle')} off the top"


def _compression_torque(context: Context) -> str:
    """The most that one cylinder's compression asks of the crank, gas alone."""
    profile = context.profile
    bore, stroke, ratio = profile.si("bore"), profile.si("stroke"), profile.si("ratio")
    if bore is None or stroke is None or ratio is None:
        return "more than most hands expect"
    closes, _ = closing_band(profile, context.limits)
    exponent = pair(context.limits["compression.exponent"])[1]
    ambient = pressure(altitude(profile)[0])
    torque, _angle = peak_torque(ambient, ratio, exponent, bore, stroke, _rods(context, stroke), closes[0])
    return f"about {amount(torque, 'Nm', 'torque')} for one cylinder"


def _firing_interval(context: Context) -> str:
    count, cycle = context.profile.cylinders, context.profile.word("cycle")
    if count is None or cycle is None:
        return "the angle that the manual gives"
    turn = amount(firing_interval(count, cycle), "deg", "angle")
    return f"{turn} on the crank" if count != 2 else f"{turn} on the crank in the mean, as many twins fire unevenly"


def _firing_order(context: Context) -> str:
    """The order that was told; else the usual ones for so many cylinders: what to look for, never what to go by."""
    told, count = context.profile.firing_order, context.profile.cylinders
    if told is not None and len(told) > 2:
        return written(told)
    found = context.limits.under("engine.firing-order").get(str(count))
    if found is None:
        return "as the manual gives it"
    if len(found.value[0]) < 4:
        return "one after the other"
    orders = " or ".join(found.value).replace("-", " ")  # spaces, as a voice says them and a language takes them
    return f"usually {orders}, by the manual"


def _firing_pairs(context: Context) -> str:
    """The cylinders that stand at their tops together, one turn of the cycle apart."""
    order, cycle = context.profile.firing_order, context.profile.word("cycle") or "four-stroke"
    found = () if order is None else pairs(order, cycle)
    return ", ".join(f"{a} and {b}" for a, b in found) or "half the firing order away"


def _water_held(_: Context) -> str:
    """What a litre of the usual blend holds before it separates, at about 16 degC."""
    return amount(water_held(1e-3, _E10), "ml", "volume")


def _spill_air(context: Context) -> str:
    """The air that a small spill makes flammable once it has evaporated."""
    spill, limit = context.limits["fuel.spill"].si(), context.limits["fuel.spill.limit"].si()
    least, most = (flammable_air(spill, limit, mass) for mass in sorted(MOLAR_MASS, reverse=True))
    air = f"{round(least * 1e3, -1):g} to {round(most * 1e3, -1):g} l"
    return f"{amount(spill, 'ml', 'volume')} of petrol make {air} of air flammable"


def _blend_leaner(_: Context) -> str:
    """By how much a mixture set for plain petrol is lean on a blend with a tenth of ethanol."""
    return per_cent(1 - blend_ratio(_E10) / blend_ratio(0.0))


def _gravity_head(context: Context) -> str:
    low, high = pair(context.limits["fuel.gravity.head"])
    return span(gravity_head(low), gravity_head(high), "kPa", "pressure")


AMOUNTS: Mapping[str, Callable[[Context], str]] = MappingProxyType(
    {
        "crank-torque": _crank_torque,
        "compression-torque": _compression_torque,
        "firing-interval": _firing_interval,
        "firing-order": _firing_order,
        "firing-pairs": _firing_pairs,
        "water-held": _water_held,
        "spill-air": _spill_air,
        "blend-leaner": _blend_leaner,
        "gravity-head": _gravity_head,
    }
)
