"""Judges of a battery: at rest, by its acid, under load, while cranking; and of the drop along a path."""

from __future__ import annotations

from collections.abc import Sequence

from firststart.judge.bands import ABOVE, BELOW, INSIDE, NEAR, air_band, half_step, needed, place
from firststart.judge.model import Context, Judge, Limit, Reading, Verdict
from firststart.judge.wording import amount, listed, per_cent, span
from firststart.physics.battery import (
    CELLS,
    charge_by_voltage,
    corrected_density,
    freezing_caution,
    load_floor,
    scaled,
)
from firststart.units import Measured

VOLTAGE, DENSITY = "voltage", "relative density"
CELL_READING, BEST_CELL, ACID_TEMPERATURE = "battery.density", "battery.density-best", "acid-temperature"
_SPANS = {"6": (4.5, 7.2), "12": (9.0, 14.6), "24": (21.0, 29.2)}  # V that only such a battery shows, dead ones aside


def system_of(context: Context, volts: float | None) -> tuple[str | None, tuple[str, ...]]:
    """(6, 12, 24 or None, what was assumed), from the profile, else from the reading itself."""
    word = context.profile.word("battery")
    if word in CELLS:
        return word, ()
    fits = [name for name, (low, high) in _SPANS.items() if volts is not None and low <= volts <= high]
    return (fits[0], (f"taken as a {fits[0]} volt battery",)) if fits else (None, ())


def _volts(si: float) -> str:
    return amount(si, "V", VOLTAGE, 2)


def _verdict(
    word: str, say: str, limit: tuple[str, Limit], bounds: tuple[float | None, float | None], details: Sequence[str]
) -> Verdict:
    name, found = limit
    low, high = bounds
    notes = (*details, *((found.note,) if found.note else ()))
    return Verdict(word, say, low, high, "V", VOLTAGE, name, found.source, found.mark, notes)


def _no_system(limit: tuple[str, Limit], shown: Measured) -> Verdict:
    say = f"{shown} tells little: say first if the battery is 6, 12 or 24 volts."
    return _verdict("unsure", say, limit, (None, None), ())


_REST_SAY = {
    "full": "{} at rest: full.",
    "usable": "{} at rest: usable, charge it when you can.",
    "low": "{} at rest: low. Charge it before any cranking.",
    "dead": "{} at rest: flat. Charge it, then test it under load.",
}


def judge_rest(reading: Reading | None, context: Context) -> Verdict:
    """A rested battery by its voltage. Raises InputError, RangeError."""
    taken = needed(reading, "battery-rest", VOLTAGE, "12.6 V")
    limits, shown = context.limits, taken.value
    system, assumed = system_of(context, shown.si)
    if system is None:
        return _no_system(("battery.rest.usable", limits["battery.rest.usable"]), shown)
    names = ("battery.rest.empty", "battery.rest.usable", "battery.rest.full", "battery.rest.too-high")
    edges = [scaled(limits[n].si(), system) for n in names]
    half = half_step(reading, limits["battery.resolution"])
    charge = charge_by_voltage(shown.si, system, limits["battery.charge.voltage"].value)
    details = (f"about {per_cent(charge)} charged", *assumed, *_freezing(charge, context))
    if place(shown.si, None, edges[3], half) != INSIDE:
        say = f"{shown} is too high for a rested battery. Take the charger off and let it rest."
        return _verdict("unsure", say, (names[3], limits[names[3]]), (None, edges[3]), details)
    for name, edge in zip(names[:3], edges[:3], strict=True):
        if place(shown.si, edge, None, half) == NEAR:
            say = f"{shown} is too near {_volts(edge)} to say. Test it under load."
            return _verdict("unsure", say, (name, limits[name]), (edge, None), details)
    rank = sum(shown.si > edge for edge in edges[:3])
    word = ("dead", "low", "usable", "full")[rank]
    low, high = (None if rank == 0 else edges[rank - 1]), edges[rank]
    name = names[max(0, rank - 1)]
    return _verdict(word, _REST_SAY[word].format(shown), (name, limits[name]), (low, high), details)


def _freezing(charge: float, context: Context) -> tuple[str, ...]:
    air = context.profile.si("air-temperature")
    caution = "" if air is None else freezing_caution(charge, air, context.limits["battery.freezing"].si())
    return (caution,) if caution else ()


_ACID_SAY = {
    "full": "{}: full.",
    "usable": "{}: fair, charge it when you can.",
    "low": "{}: low. Charge it before any cranking.",
    "dead": "{}: too low. Charge it and test again; replace it if it stays.",
}
_ACID = ("battery.density.replace", "battery.density.fair", "battery.density.good", "battery.density.too-high")


def judge_density(reading: Reading | None, context: Context) -> Verdict:
    """One cell's hydrometer reading, corrected to 80 degF. Raises InputError, RangeError."""
    taken = needed(reading, "battery-density", DENSITY, "1.25 SG")
    limits, shown = context.limits, taken.value
    (cold, hot), assumed = air_band(context, limits["battery.load.unknown-air"], ACID_TEMPERATURE)
    ends = corrected_density(shown.si, cold), corrected_density(shown.si, hot)
    value = sum(ends) / 2
    half = half_step(reading, limits["battery.density-resolution"]) + (ends[1] - ends[0]) / 2
    edges = [float(limits[n].value) for n in _ACID]
    name = next((n for n, e in zip(_ACID, edges, strict=True) if place(value, e, None, half) == NEAR), "")
    rank = sum(value > e for e in edges)
    details = (f"{value:.3f} at 27 degrees", *assumed)
    if rank == 4 or name:
        say = f"{shown} is too high for a sound cell." if rank == 4 else f"{shown} is too near the edge to say."
        return _acid("unsure", say, name or _ACID[3], context, (None, None), details)
    word = ("dead", "low", "usable", "full")[rank]
    bounds = (None if rank == 0 else edges[rank - 1], edges[rank])
    return _acid(word, _ACID_SAY[word].format(shown), _ACID[max(0, rank - 1)], context, bounds, details)


def _acid(
    word: str, say: str, name: str, context: Context, bounds: tuple[float | None, float | None], details: Sequence[str]
) -> Verdict:
    limit = context.limits[name]
    return Verdict(word, say, *bounds, "SG", DENSITY, name, limit.source, limit.mark, tuple(details))


def judge_cells(_reading: Reading | None, context: Context) -> Verdict:
    """How far the cells' densities part, by two manuals that disagree. Raises RangeError."""
    cells = context.series(CELL_READING) or _two_cells(context)
    strict, loose = context.limits["battery.cells.strict"], context.limits["battery.cells.loose"]
    if len(cells) < 2:
        return _acid("unsure", "There are no two cells to compare.", "battery.cells.strict", context, (None, None), ())
    values = {c: v.si for c, v in cells.items()}
    spread = max(values.values()) - min(values.values())
    half = half_step(None, context.limits["battery.density-resolution"]) * 2
    lowest = [c for c, v in values.items() if v == min(values.values())]
    placed = place(spread, float(strict.value), float(loose.value), half)
    word = {BELOW: "even", ABOVE: "uneven"}.get(placed, "unsure")
    say = {
        "even": f"The cells lie within {spread:.3f}: even.",
        "uneven": f"{_cell(lowest, len(cells))} is {spread:.3f} under the best: the battery is worn out.",
        "unsure": f"The cells part by {spread:.3f}: one manual condemns that, another does not.",
    }[word]
    details = tuple(f"{limit.source}: no more than {limit.value}" for limit in (strict, loose))
    return _acid(word, say, "battery.cells.strict", context, (None, float(loose.value)), details)


def _two_cells(context: Context) -> dict[int, Measured]:
    """The weakest cell and the strongest, where no cell has a number."""
    pair = (context.readings.get((name, None)) for name in (CELL_READING, BEST_CELL))
    return dict(enumerate((v for v in pair if v is not None), 1))


def _cell(lowest: Sequence[int], of: int) -> str:
    return "The weakest cell" if of == 2 else f"Cell {listed(lowest)}"


def load_floors(context: Context, system: str) -> tuple[dict[str, tuple[float, float]], tuple[str, ...]]:
    """({maker: (least, most) floor in V over the possible temperatures}, what was assumed)."""
    limits = context.limits
    (cold, hot), assumed = air_band(context, limits["battery.load.unknown-air"])
    floors = {
        maker: (
            load_floor(cold, system, limit.value),
            load_floor(hot, system, limit.value),
        )
        for maker, limit in limits.under("battery.load.floor").items()
    }
    return floors, assumed


def judge_load(reading: Reading | None, context: Context) -> Verdict:
    """The voltage at the end of the load test, by every maker's floor at this temperature. Raises InputError."""
    return _under_load(needed(reading, "battery-load", VOLTAGE, "10.1 V"), context, "under load")


def judge_crank(reading: Reading | None, context: Context) -> Verdict:
    """The voltage at the posts while cranking, by the same floors. Raises InputError."""
    return _under_load(needed(reading, "crank-voltage", VOLTAGE, "10.1 V"), context, "while cranking")


def _under_load(taken: Reading, context: Context, when: str) -> Verdict:
    limits, shown = context.limits, taken.value
    system, assumed = system_of(context, shown.si)
    name = "battery.crank.floor" if when == "while cranking" else "battery.load.floor.amanti"
    if system is None:
        return _no_system((name, limits[name]), shown)
    floors, weather = load_floors(context, system)
    low, high = min(f for f, _ in floors.values()), max(f for _, f in floors.values())
    placed = place(shown.si, low, high, half_step(taken, limits["battery.resolution"]))
    word = {BELOW: "sags", ABOVE: "holds"}.get(placed, "unsure")
    say = {
        "holds": f"{shown} {when}: it holds.",
        "sags": f"{shown} {when}: it sags below {_volts(low)}.",
        "unsure": f"{shown} {when} is too near the floor of {span(low, high, 'V', VOLTAGE)} to say.",
    }[word]
    details = [f"{maker}: {span(a, b, 'V', VOLTAGE)}" for maker, (a, b) in floors.items()]
    return _verdict(word, say, (name, limits[name]), (high, None), (*details, *assumed, *weather))


def judge_drop(reading: Reading | None, context: Context) -> Verdict:
    """The drop along a path by every maker's limit for it.

    The path is what the data's wiring.path says of the reading's name, else the last part of that name.
    inside when the strictest is kept, high when the loosest is broken, unsure between. Raises InputError.
    """
    taken = needed(reading, "voltage-drop", VOLTAGE, "0.2 V")
    alias = context.limits.by_name.get(f"wiring.path.{taken.name}")
    path = taken.name.rsplit(".", 1)[-1] if alias is None else str(alias.value)
    table = context.limits.under(f"wiring.drop.{path}")
    prefix = f"wiring.drop.{path}" if table else "wiring.drop.any"
    table = table or context.limits.under("wiring.drop.any")
    values = {maker: limit.si() for maker, limit in table.items()}
    strictest, loosest = min(values, key=lambda m: values[m]), max(values, key=lambda m: values[m])
    half = half_step(reading, context.limits["wiring.resolution"])
    placed = place(taken.value.si, values[strictest], values[loosest], half)
    word = {BELOW: "inside", ABOVE: "high"}.get(placed, "unsure")
    name = f"{prefix}.{strictest if word == 'inside' else loosest}"
    drop = amount(taken.value.si, "V", VOLTAGE, 2)
    say = {
        "inside": f"{drop} lost: inside every maker's limit.",
        "high": f"{drop} lost: too much. Clean and tighten this path.",
        "unsure": f"{drop} lost: makers disagree from {_volts(values[strictest])} to {_volts(values[loosest])}.",
    }[word]
    if word == "unsure" and strictest == loosest:
        say = f"{drop} lost: too near the limit of {_volts(values[loosest])} to say."
    details = tuple(f"{maker}, {path}: {_volts(v)}" for maker, v in values.items())
    return _verdict(word, say, (name, context.limits[name]), (None, values[loosest]), details)


JUDGES: tuple[Judge, ...] = (
    Judge("battery-rest", VOLTAGE, ("full", "usable", "low", "dead", "unsure"), judge_rest),
    Judge("battery-density", DENSITY, ("full", "usable", "low", "dead", "unsure"), judge_density),
    Judge("battery-cells", "", ("even", "uneven", "unsure"), judge_cells),
    Judge("battery-load", VOLTAGE, ("holds", "sags", "unsure"), judge_load),
    Judge("crank-voltage", VOLTAGE, ("holds", "sags", "unsure"), judge_crank),
    Judge("voltage-drop", VOLTAGE, ("inside", "high", "unsure"), judge_drop),
)
