"""Judges of an ignition: coil windings, leads, plug and points gaps, dwell."""

from __future__ import annotations

from collections.abc import Mapping

from firststart.judge.bands import ABOVE, BELOW, INSIDE, NEAR, air_band, half_step, needed, pair, place
from firststart.judge.model import Context, Judge, Limit, Reading, Verdict
from firststart.judge.wording import amount, per_cent, span
from firststart.physics.coil import dwell_seconds, dwell_share, dwell_window, lead_limit
from firststart.physics.guard import above, within
from firststart.physics.windingheat import resistance_as_at_20

RESISTANCE, LENGTH, ANGLE = "resistance", "length", "angle"
_ROUNDING = 1e-9  # m, far below any feeler gauge
COIL_TEMPERATURE, LEAD_LENGTH = "coil-temperature", "lead-length"


def _shown(si: float) -> str:
    return amount(si, "ohm", RESISTANCE, 2) if si < 1e3 else amount(si, "kohm", RESISTANCE, 1)


def _ohm_half(reading: Reading, context: Context) -> float:
    """Half a step of the ohmmeter: its own, else a tenth of an ohm, or one step in two thousand when larger."""
    if reading.resolution is not None:
        return half_step(reading, context.limits["ignition.ohm-resolution"])
    return max(half_step(None, context.limits["ignition.ohm-resolution"]), reading.value.si / 4000)


def _coil_band(winding: str, context: Context) -> tuple[str, Limit, tuple[float, float], str]:
    """(name of the limit, limit, (low, high) in ohm at 20 degC, whose band): the manual's figure, else examples."""
    manual = context.readings.get((f"manual.{winding}", None))
    if manual is not None:
        limit = context.limits[f"ignition.manual.{winding}"]
        share, figure = float(limit.value), above(manual.si, f"manual.{winding}", 0, "ohm")
        return f"ignition.manual.{winding}", limit, (figure * (1 - share), figure * (1 + share)), "the manual"
    prefix = f"ignition.{winding}.typical"
    table = context.limits.under(prefix)
    name = context.profile.word("ignition") or "any"
    name = name if name in table else "any"
    return f"{prefix}.{name}", table[name], pair(table[name]), "coils like it"


def _coil(reading: Reading | None, context: Context, winding: str, example: str) -> Verdict:
    taken = needed(reading, winding, RESISTANCE, example)
    name, limit, (low, high), whose = _coil_band(winding, context)
    (cold, hot), assumed = air_band(context, context.limits["ignition.air"], COIL_TEMPERATURE)
    value, shown = taken.value.si, _shown(taken.value.si)
    if value > context.limits[f"ignition.{winding}.open"].si():
        say = f"{shown}: open. The winding is broken or the probe does not touch."
        return _ohms("open", say, name, limit, (low, high))
    ends = resistance_as_at_20(value, hot), resistance_as_at_20(value, cold)
    middle = sum(ends) / 2
    placed = place(middle, low, high, _ohm_half(taken, context) + (ends[1] - ends[0]) / 2)
    manual = name.startswith("ignition.manual")
    word = {INSIDE: "inside", BELOW: "low", ABOVE: "high"}.get(placed, "unsure")
    band = f"{_shown(low)} to {_shown(high)}"
    say = {
        "inside": f"{shown}: inside {band} of {whose}.",
        "low": f"{shown}: under {band} of {whose}. Turns may be shorted.",
        "high": f"{shown}: over {band} of {whose}. Look for a bad joint.",
        "unsure": f"{shown}: too near the edge of {band} to say.",
    }[word]
    details = (f"{_shown(middle)} at 20 degrees", *assumed, *(() if manual else (_NOT_YOURS,)))
    return _ohms(word, say, name, limit, (low, high), details)


_NOT_YOURS = "the manual's figure for this coil would settle it"


def _ohms(
    word: str, say: str, name: str, limit: Limit, band: tuple[float | None, float | None], details: tuple[str, ...] = ()
) -> Verdict:
    unit = "kohm" if (band[1] or 0) >= 1e3 else "ohm"
    notes = (*details, *((limit.note,) if limit.note else ()))
    return Verdict(word, say, *band, unit, RESISTANCE, name, limit.source, limit.mark, notes)


def judge_primary(reading: Reading | None, context: Context) -> Verdict:
    """The coil's primary winding, brought to 20 degC. Raises InputError, RangeError."""
    return _coil(reading, context, "coil-primary", "1.5 ohm")


def judge_secondary(reading: Reading | None, context: Context) -> Verdict:
    """The coil's secondary winding, brought to 20 degC. Raises InputError, RangeError."""
    return _coil(reading, context, "coil-secondary", "9 kohm")


def judge_lead(reading: Reading | None, context: Context) -> Verdict:
    """A plug lead by its length (a reading called lead-length, else the longest usual). Raises InputError."""
    taken = needed(reading, "lead-resistance", RESISTANCE, "7 kohm")
    limits, length = context.limits, context.readings.get((LEAD_LENGTH, None))
    metres = limits["ignition.lead.length"].si() if length is None else above(length.si, LEAD_LENGTH, 0, "m")
    details = () if length is not None else (f"lead taken as {amount(metres, 'm', LENGTH)} long",)
    name = "ignition.lead.per-metre"
    return _most(taken, context, name, lead_limit(metres, limits[name].si()), "lead", details)


def judge_cap(reading: Reading | None, context: Context) -> Verdict:
    """A plug cap by itself. Raises InputError."""
    taken = needed(reading, "cap-resistance", RESISTANCE, "5 kohm")
    name = "ignition.cap.most"
    return _most(taken, context, name, context.limits[name].si(), "cap", ())


def _most(
    taken: Reading, context: Context, name: str, most: float, what: str, details: tuple[str, ...]
) -> Verdict:
    limit, shown = context.limits[name], _shown(taken.value.si)
    if taken.value.si > context.limits["ignition.lead.open"].si():
        return _ohms("open", f"{shown}: open. Replace the {what}.", name, limit, (None, most), details)
    placed = place(taken.value.si, None, most, _ohm_half(taken, context))
    word = {INSIDE: "inside", ABOVE: "high"}.get(placed, "unsure")
    say = {
        "inside": f"{shown}: the {what} is good.",
        "high": f"{shown}: over {_shown(most)}. Replace the {what}.",
        "unsure": f"{shown}: too near {_shown(most)} to say.",
    }[word]
    return _ohms(word, say, name, limit, (None, most), details)


def _gap(
    taken: Reading, context: Context, band: tuple[float, float], name: str, words: Mapping[str, str], what: str
) -> Verdict:
    limit, unit = context.limits[name], taken.value.unit
    placed = place(taken.value.si, *band, half_step(taken, context.limits["ignition.length-resolution"]))
    if placed == NEAR and band[0] - _ROUNDING <= taken.value.si <= band[1] + _ROUNDING:
        placed = INSIDE  # a gap is set with the gauge itself, so on the edge it is as set
    word = words.get(placed, "unsure")
    low, high = (amount(b, unit, LENGTH, 3 if unit == "in" else 2) for b in band)
    wanted = f"{low.rsplit(' ', 1)[0]} to {high}" if low != high else high
    say = {
        "inside": f"{taken.value}: the {what} gap is right.",
        "narrow": f"{taken.value}: too narrow. Set {wanted}.",
        "wide": f"{taken.value}: too wide. Set {wanted}.",
        "unsure": f"{taken.value}: too near the edge to say. Set {wanted}.",
    }[word]
    return Verdict(word, say, *band, unit, LENGTH, name, limit.source, limit.mark, (limit.note,) if limit.note else ())


_GAP_WORDS = {INSIDE: "inside", BELOW: "narrow", ABOVE: "wide"}


def judge_plug_gap(reading: Reading | None, context: Context) -> Verdict:
    """A spark plug's gap against the profile's, else what plugs commonly have. Raises InputError."""
    taken = needed(reading, "plug-gap", LENGTH, "0.7 mm")
    wanted = context.profile.si("plug-gap")
    if wanted is None:
        name = "ignition.plug-gap.typical"
        return _gap(taken, context, pair(context.limits[name]), name, _GAP_WORDS, "plug")
    name = "ignition.plug-gap.tolerance"
    slack = context.limits[name].si()
    return _gap(taken, context, (wanted - slack, wanted + slack), name, _GAP_WORDS, "plug")


def judge_points_gap(reading: Reading | None, context: Context) -> Verdict:
    """The contact points' gap by the number of cylinders. Raises InputError."""
    taken = needed(reading, "points-gap", LENGTH, "0.4 mm")
    name = "ignition.points-gap." + {4: "four", 6: "six"}.get(context.profile.cylinders or 0, "few")
    return _gap(taken, context, pair(context.limits[name]), name, _GAP_WORDS, "points")


def judge_dwell(reading: Reading | None, context: Context) -> Verdict:
    """Dwell by the number of cylinders, every published band shown; unsure where they disagree. Raises InputError."""
    taken = needed(reading, "dwell", ANGLE, "48 deg")
    window = dwell_window(context.profile.cylinders or 1)
    within(taken.value.si, "dwell", 0, window, "rad", "no more than one spark to the next; set the meter's cylinders")
    table = context.limits.under("ignition.dwell." + {4: "four", 6: "six"}.get(context.profile.cylinders or 0, "-"))
    resolution = context.limits["ignition.dwell.resolution"]
    if not table:
        say = f"{taken.value}: there is no published dwell for this engine. Use the manual's."
        return Verdict("unsure", say, unit="deg", kind=ANGLE, source=resolution.source, mark=resolution.mark)
    first = next(iter(table))
    name = f"ignition.dwell.{'four' if context.profile.cylinders == 4 else 'six'}.{first}"
    placed = {who: place(taken.value.si, *pair(limit), half_step(reading, resolution)) for who, limit in table.items()}
    words = {INSIDE: "inside", BELOW: "short", ABOVE: "long"}
    word = words.get(placed[first], "unsure")
    if word in ("short", "long") and any(placed[who] in (INSIDE, NEAR) for who in placed):
        word = "unsure"
    band = span(*pair(table[first]), "deg", ANGLE)
    say = {
        "inside": f"{taken.value} of dwell: inside {band}.",
        "short": f"{taken.value} of dwell: short. Close the points gap a little. Usual is {band}.",
        "long": f"{taken.value} of dwell: long. Open the points gap a little. Usual is {band}.",
        "unsure": f"{taken.value} of dwell: published figures differ. Use the manual's.",
    }[word]
    details = (
        *_as_share_and_time(taken.value.si, context),
        *(f"{who}: {span(*pair(limit), 'deg', ANGLE)}, {limit.source}" for who, limit in table.items()),
    )
    return Verdict(word, say, *pair(table[first]), "deg", ANGLE, name, table[first].source, table[first].mark, details)


def _as_share_and_time(angle: float, context: Context) -> tuple[str, ...]:
    """The same dwell in per cent, as other meters show it, and in ms at the idle that was read."""
    lobes, idle = context.profile.cylinders or 1, context.readings.get(("idle.speed", None))
    share = f"{per_cent(dwell_share(angle, lobes))} of the window"
    if idle is None or idle.si <= 0:
        return (share,)
    return (f"{share}, {amount(dwell_seconds(angle, idle.si), 'ms', 'time', 1)} at {idle}",)


JUDGES: tuple[Judge, ...] = (
    Judge("coil-primary", RESISTANCE, ("inside", "low", "high", "open", "unsure"), judge_primary),
    Judge("coil-secondary", RESISTANCE, ("inside", "low", "high", "open", "unsure"), judge_secondary),
    Judge("lead-resistance", RESISTANCE, ("inside", "high", "open", "unsure"), judge_lead),
    Judge("cap-resistance", RESISTANCE, ("inside", "high", "open", "unsure"), judge_cap),
    Judge("plug-gap", LENGTH, ("inside", "narrow", "wide", "unsure"), judge_plug_gap),
    Judge("points-gap", LENGTH, ("inside", "narrow", "wide", "unsure"), judge_points_gap),
    Judge("dwell", ANGLE, ("inside", "short", "long", "unsure"), judge_dwell),
)
