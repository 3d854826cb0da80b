"""Named amounts of battery, ignition, fuel and air for prompts: short text, and an honest phrase when unknown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from firststart.errors import RangeError
from firststart.judge.bands import pair
from firststart.judge.battery import load_floors
from firststart.judge.fuel import flows_needed
from firststart.judge.model import Context
from firststart.judge.wording import amount, per_cent, rounded_down, span
from firststart.physics.battery import CELLS, DENSITY, charge_by_density, load_test_current, scaled, self_discharge
from firststart.physics.carbonmonoxide import exhaust_flow, seconds_until
from firststart.physics.coil import coil_energy
from firststart.physics.fuel import premix_oil
from firststart.physics.ignition import ATMOSPHERE, open_air_gap, uniform_field
from firststart.physics.windingheat import fusing_current
from firststart.physics.wiring import awg_area, cable_resistance, feed_fuse

T20 = 293.15  # K
COPPER_MELTS = 1083 + 273.15  # K


def test_gap(context: Context) -> float:
    """The open-air gap in m: plug gap times ratio, kept between what testers ask and what an old coil stands."""
    limits, profile = context.limits, context.profile
    gap, ratio = profile.si("plug-gap"), profile.si("ratio")
    if gap is None or ratio is None:
        return limits["ignition.test-gap.usual"].si()
    least, most = limits["ignition.test-gap.least"].si(), limits["ignition.test-gap.most"].si()
    return min(most, max(least, open_air_gap(gap, ratio)))


def _test_gap(context: Context) -> str:
    return amount(test_gap(context), "mm", "length")


def _test_voltage(context: Context) -> str:
    """What that gap asks of the coil in a uniform field: between the points of a tester it is less."""
    return amount(uniform_field(ATMOSPHERE, T20, test_gap(context)), "kV", "voltage", 0)


def _coil_energy(context: Context) -> str:
    """What the coil stores at the battery's voltage and, with it, while the starter drags that down."""
    limits, system = context.limits, context.profile.word("battery")
    primary = context.readings.get(("coil-primary", None))
    if system not in CELLS or primary is None or primary.si < limits["ignition.coil.least-primary"].si():
        return "less by a third"
    henry, share = limits["ignition.coil.inductance"].si(), limits["battery.crank.floor"].si()
    whole = coil_energy(henry, scaled(12.0, system) / primary.si)
    sagged = coil_energy(henry, scaled(share, system) / primary.si)
    return f"{amount(sagged, 'mJ', 'energy', 0)} instead of {amount(whole, 'mJ', 'energy', 0)}"


def _feed_lead(context: Context) -> str:
    """The copper of a temporary feed, in square millimetres and as the thinnest even wire gauge that has as much."""
    area = context.limits["wiring.feed.area"].si()
    gauge = next(n for n in range(20, -1, -2) if awg_area(n) >= area)
    return f"{amount(area, 'mm2', 'area')}, or {gauge} gauge"


def _feed_drop(context: Context) -> str:
    """What the lead of a temporary feed loses by itself, there and back."""
    limits = context.limits
    ohm = 2 * cable_resistance(limits["wiring.feed.area"].si(), limits["wiring.feed.length"].si())
    return amount(ohm * limits["wiring.feed.load"].si(), "V", "voltage", 1)


def _wire_melts(context: Context) -> str:
    """The current that melts a thin wire in five seconds: a battery gives several times as much."""
    limits = context.limits
    current = fusing_current(limits["wiring.thin"].si(), T20, COPPER_MELTS, limits["wiring.thin.time"].si())
    return amount(current, "A", "current")


def _load_current(context: Context) -> str:
    """The current of the load test: half the cold cranking amps, else three times the amp hours."""
    cca, capacity = context.profile.si("cca"), context.profile.si("capacity")
    if cca is None and capacity is None:
        return "half of its cold cranking amps"
    try:
        return amount(load_test_current(cca, capacity), "A", "current")
    except RangeError:
        return "half of its cold cranking amps"


def _charge_current(context: Context) -> str:
    capacity = context.profile.si("capacity")
    if capacity is None:
        return "a tenth of its amp hours as amps"
    return amount(capacity / 3600 * float(context.limits["battery.charge.rate"].value), "A", "current", 1)


def _charge_left(context: Context) -> str:
    """What standing has left of a full battery, at the day's temperature or a mild one."""
    years = context.profile.si("years")
    if years is None:
        return "loses some charge every day"
    air = context.profile.si("air-temperature")
    kelvin = T20 if air is None else air
    left = DENSITY[-1][1] - self_discharge(min(years, 3.15e9) / 86400, kelvin)
    share = charge_by_density(left) if left >= DENSITY[0][1] else 0.0
    return f"is down to {per_cent(share)}" if share > 0 else "is quite flat"


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
    if context.profile.word("fuel") == "diesel":
        return "more time than a petrol engine takes, but its other fumes harm as well"
    if swept is None:
        return "a few minutes"
    flow = exhaust_flow(swept, limits["air.co.idle-speed"].si()) * float(limits["air.co.exhaust"].value)
    seconds = seconds_until(limits["air.co.ceiling"].si(), flow, limits["air.co.room"].si())
    minutes = rounded_down((seconds or 0.0) / 60)
    return "less than a minute" if minutes < 1 else f"{minutes:g} minute{'' if minutes == 1 else 's'}"


AMOUNTS: Mapping[str, Callable[[Context], str]] = MappingProxyType(
    {
        "test-gap": _test_gap,
        "test-voltage": _test_voltage,
        "coil-energy": _coil_energy,
        "feed-lead": _feed_lead,
        "feed-drop": _feed_drop,
        "wire-melts": _wire_melts,
        "load-current": _load_current,
        "charge-current": _charge_current,
        "charge-left": _charge_left,
        "feed-fuse": _feed_fuse,
        "full-voltage": _full_voltage,
        "load-floor": _load_floor,
        "fuel-flow-needed": _fuel_flow,
        "premix-oil": _premix,
        "co-minutes": _co_minutes,
    }
)
