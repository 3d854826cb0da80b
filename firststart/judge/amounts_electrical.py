"""Named amounts of battery, ignition, fuel and air for prompts: short text, and an honest phrase when unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from firststart.errors import RangeError
from firststart.judge.bands import pair
from firststart.judge.battery import load_floors
from firststart.judge.fuel import flows_needed
from firststart.judge.model import Context
from firststart.judge.wording import amount, rounded_down, span
from firststart.physics.battery import CELLS, scaled
from firststart.physics.carbonmonoxide import exhaust_flow, seconds_until
from firststart.physics.fuel import premix_oil
from firststart.physics.ignition import open_air_gap
from firststart.physics.wiring import feed_fuse


def _test_gap(context: Context) -> str:
    """The open-air gap: plug gap times ratio, kept between what testers ask and what an old coil stands."""
    limits, profile = context.limits, context.profile
    gap, ratio = profile.si("plug-gap"), profile.si("ratio")
    if gap is None or ratio is None:
        return amount(limits["ignition.test-gap.usual"].si(), "mm", "length")
    least, most = limits["ignition.test-gap.least"].si(), limits["ignition.test-gap.most"].si()
    return amount(min(most, max(least, open_air_gap(gap, ratio))), "mm", "length")


def _feed_fuse(context: Context) -> str:
    """The fuse of a temporary feed, from the measured primary or the heaviest usual load."""
    limits, system = context.limits, context.profile.word("battery")
    if system == "none":
        return "no fuse, as there is no battery,"
    load, primary = limits["wiring.feed.load"].si(), context.readings.get(("coil-primary", None))
    if system in CELLS and primary is not None and primary.si > 0:
        load = CELLS[system] * 2.1 / primary.si
    try:
        return f"a {amount(feed_fuse(load, limits['wiring.feed.area'].si()), 'A', 'current')} fuse"
    except RangeError:
        return "a 10 A fuse and the coil's ballast resistor"


def _full_voltage(context: Context) -> str:
    full, system = context.limits["battery.full-voltage"].si(), context.profile.word("battery")
    if system == "none":
        return "no battery on this engine"
    if system not in CELLS:
        return f"{amount(full, 'V', 'voltage', 2)} for a 12 volt battery"
    return amount(scaled(full, system), "V", "voltage", 2)


def _load_floor(context: Context) -> str:
    """The strictest floor at the day's temperature."""
    system = context.profile.word("battery")
    if system == "none":
        return "no battery on this engine"
    floors, _ = load_floors(context, system if system in CELLS else "12")
    text = amount(max(high for _, high in floors.values()), "V", "voltage", 1)
    return text if system in CELLS else f"{text} for a 12 volt battery"


def _fuel_flow(context: Context) -> str:
    needs = flows_needed(context)
    return "a steady stream" if needs is None else amount(needs[0]["full load"], "ml/min", "flow")


def _premix(context: Context) -> str:
    ratio = context.profile.si("premix-ratio")
    if ratio is not None:
        return f"{amount(premix_oil(1e-3, ratio), 'ml', 'volume')} per litre"
    if context.profile.word("lubrication") == "premix":
        thin, thick = pair(context.limits["fuel.premix.range"])
        most, least = premix_oil(1e-3, thin), premix_oil(1e-3, thick)
        return f"the manual's amount, usually {span(least, most, 'ml', 'volume')} per litre"
    return "the amount the manual gives, or none for a four-stroke"


def _co_minutes(context: Context) -> str:
    """Minutes until the ceiling in a closed single garage: a warning, rounded down, never a permission."""
    limits, swept = context.limits, context.profile.si("displacement")
    if swept is None:
        return "a few minutes"
    flow = exhaust_flow(swept, limits["air.co.idle-speed"].si()) * float(limits["air.co.exhaust"].value)
    seconds = seconds_until(limits["air.co.ceiling"].si(), flow, limits["air.co.room"].si())
    minutes = rounded_down((seconds or 0.0) / 60)
    return "less than a minute" if minutes < 1 else f"{minutes:g} minute{'' if minutes == 1 else 's'}"


AMOUNTS: Mapping[str, Callable[[Context], str]] = MappingProxyType(
    {
        "test-gap": _test_gap,
        "feed-fuse": _feed_fuse,
        "full-voltage": _full_voltage,
        "load-floor": _load_floor,
        "fuel-flow-needed": _fuel_flow,
        "premix-oil": _premix,
        "co-minutes": _co_minutes,
    }
)
