"""Judges of what an engine shows while it turns or has run: charging, cranking speed, a hot coil, starter's losses."""

from __future__ import annotations

from firststart.judge.bands import ABOVE, BELOW, INSIDE, air_band, half_step, needed, pair, place
from firststart.judge.battery import VOLTAGE, system_of
from firststart.judge.model import Context, Judge, Limit, Reading, Verdict
from firststart.judge.wording import amount, span
from firststart.physics.battery import scaled
from firststart.physics.compression import cranking_time
from firststart.physics.windingheat import temperature_by_resistance
from firststart.physics.wiring import series_resistance

REST, SAG, CURRENT, PRIMARY = "battery.rest", "battery.sag", "starter-current", "coil-primary"
SPEED, RESISTANCE, TEMPERATURE = "speed", "resistance", "temperature"
PARTS = {"drop.terminals": "the terminals", "drop.earth": "the earth", "drop.feed": "the feed"}


def judge_charging(reading: Reading | None, context: Context) -> Verdict:
    """The voltage at the battery while the engine runs, by regulators' published band and the rise over rest.

    Raises InputError, RangeError.
    """
    taken = needed(reading, "charging-voltage", VOLTAGE, "14.2 V")
    name, rise = "battery.charging.band", context.limits["battery.charging.rise"]
    limit, shown = context.limits[name], taken.value
    system, assumed = system_of(context, None)
    if system is None:
        say = f"{shown} tells little: say first if the battery is 6, 12 or 24 volts."
        return Verdict("unsure", say, limit=name, source=limit.source, mark=limit.mark)
    low, high = (scaled(v, system) for v in pair(limit))
    half = half_step(reading, context.limits["battery.resolution"])
    placed = place(shown.si, low, high, half)
    word = {INSIDE: "charging", BELOW: "low", ABOVE: "high"}.get(placed, "unsure")
    rest, details = context.readings.get((REST, None)), list(assumed)
    climbs = rest is not None and shown.si - rest.si > 2 * half
    if rest is not None:
        most = amount(scaled(rise.si(), system), "V", VOLTAGE, 1)
        details.append(f"{rest} at rest; a charged battery rises, by no more than {most} ({rise.source})")
    band = span(low, high, "V", VOLTAGE)
    say = {
        "charging": f"{shown}: it charges.",
        "low": f"{shown}: more than at rest, but little. Usual is {band}."
        if climbs
        else f"{shown}: it hardly charges. Usual is {band}.",
        "high": f"{shown}: too much. The regulator has failed.",
        "unsure": f"{shown}: too near the edge of {band} to say.",
    }[word]
    return Verdict(word, say, low, high, "V", VOLTAGE, name, limit.source, limit.mark, tuple(details))


def judge_speed(reading: Reading | None, context: Context) -> Verdict:
    """How fast the starter turns the engine, and what that means for a compression test. Raises InputError."""
    taken = needed(reading, "cranking-speed", SPEED, "200 rpm")
    diesel = context.profile.word("fuel") == "diesel"
    name = "cranking.speed.least.diesel" if diesel else "cranking.speed.least.petrol"
    least, usual = context.limits[name], context.limits["cranking.speed.usual"]
    half = half_step(reading, context.limits["cranking.speed.resolution"])
    placed = place(taken.value.si, least.si(), usual.si(), half)
    word = {BELOW: "slow", ABOVE: "fast"}.get(placed, "unsure")
    shown, wanted = taken.value, amount(usual.si(), "rpm", SPEED)
    say = {
        "fast": f"{shown}: fast enough to start and to measure.",
        "slow": f"{shown}: too slow to start. Look at battery, cables and oil.",
        "unsure": f"{shown}: it may start, but {wanted} or more is usual.",
    }[word]
    details = (*_strokes(taken.value.si, context), usual.source)
    return Verdict(
        word, say, least.si(), usual.si(), "rpm", SPEED, name, least.source, least.mark, details
    )  # fmt: skip


def _strokes(speed: float, context: Context) -> tuple[str, ...]:
    """How long the strokes of a compression test take at `speed`; nothing for an engine that stood still."""
    if speed <= 0:
        return ()
    strokes = round(pair(context.limits["compression.strokes"])[0])
    cycle = context.profile.word("cycle") or "four-stroke"
    seconds = amount(cranking_time(strokes, speed, cycle), "s", "time", 1)
    return (f"{strokes} compression strokes of one cylinder take {seconds} at this speed",)


def judge_hot_coil(reading: Reading | None, context: Context) -> Verdict:
    """The mean temperature of a coil's primary after a run, from its resistance cold and now. Raises InputError.

    (R2/R1)(235 + t1) - 235, IEC 60034-1 clause 8 (from memory); the doubt of both readings widens the answer.
    """
    taken = needed(reading, "hot-coil", RESISTANCE, "1.9 ohm")
    name, limit = "ignition.coil.hottest", context.limits["ignition.coil.hottest"]
    cold = context.readings.get((PRIMARY, None))
    if cold is None or cold.si <= 0 or taken.value.si <= 0:
        say = f"{taken.value}: there is no cold reading to compare with."
        return Verdict("unsure", say, limit=name, source=limit.source, mark=limit.mark)
    (chilly, warm), assumed = air_band(context, context.limits["ignition.air"], "coil-temperature")
    half = half_step(reading, context.limits["ignition.ohm-resolution"])
    if taken.value.si + half < cold.si - half:
        say = f"{taken.value} against {cold} cold: less than when cold. Read both again."
        return Verdict("unsure", say, limit=name, source=limit.source, mark=limit.mark)
    ratios = (max(0.5, (taken.value.si - half) / (cold.si + half)), (taken.value.si + half) / max(cold.si - half, half))
    if not ratios[1] < 3:
        say = f"{taken.value} against {cold} cold: the meter is too coarse to say, or a joint is bad."
        return Verdict("unsure", say, limit=name, source=limit.source, mark=limit.mark)
    ends = temperature_by_resistance(chilly, ratios[0]), temperature_by_resistance(warm, ratios[1])
    placed = place(sum(ends) / 2, None, limit.si(), (ends[1] - ends[0]) / 2)
    word = {INSIDE: "fine", ABOVE: "hot"}.get(placed, "unsure")
    between = span(*ends, "degC", TEMPERATURE)
    say = {
        "fine": f"The winding is at {between}: warm, not hot.",
        "hot": f"The winding is at {between}: too hot. Look at its ballast and feed.",
        "unsure": f"The winding is at {between}: too near to say.",
    }[word]
    details = (f"{cold} cold, {taken.value} hot; the mean of the winding, its hottest spot is hotter", *assumed)
    return Verdict(
        word, say, None, limit.si(), "degC", TEMPERATURE, name, limit.source, limit.mark, details
    )  # fmt: skip


def judge_starting(_: Reading | None, context: Context) -> Verdict:
    """What each part of the starting circuit holds back, from the drops and the current of one cranking.

    "told" once the current is known; raises nothing: readings that cannot go together make it "unsure".
    """
    limit = context.limits["cranking.circuit"]
    current, found = context.readings.get((CURRENT, None)), _resistances(context)
    if current is None or current.si <= 0 or not found:
        say = "Without the starter's current the drops stand for themselves."
        return _told("unsure", say, limit)
    worst = max(found, key=lambda part: found[part])
    shown = amount(found[worst], "mohm", RESISTANCE, 1)
    details = tuple(f"{part} holds back {amount(ohm, 'mohm', RESISTANCE, 2)}" for part, ohm in found.items())
    return _told("told", f"At {current}, {worst} holds back most: {shown}.", limit, details)


def _told(word: str, say: str, limit: Limit, details: tuple[str, ...] = ()) -> Verdict:
    return Verdict(
        word, say, unit="mohm", kind=RESISTANCE, limit="cranking.circuit", source=limit.source, mark=limit.mark,
        details=details,
    )  # fmt: skip


def _resistances(context: Context) -> dict[str, float]:
    """Ohm of each part that was measured, the battery's own first; nothing without a current."""
    current = context.readings.get((CURRENT, None))
    if current is None or current.si <= 0:
        return {}
    found = {}
    rest, sag = context.readings.get((REST, None)), context.readings.get((SAG, None))
    if rest is not None and sag is not None and 0 <= sag.si <= rest.si:
        found["the battery"] = series_resistance(rest.si, sag.si, current.si)
    for name, part in PARTS.items():
        drop = context.readings.get((name, None))
        if drop is not None and drop.si >= 0:
            found[part] = series_resistance(drop.si, 0.0, current.si)
    return found


JUDGES: tuple[Judge, ...] = (
    Judge("charging-voltage", VOLTAGE, ("charging", "low", "high", "unsure"), judge_charging),
    Judge("cranking-speed", SPEED, ("fast", "slow", "unsure"), judge_speed),
    Judge("hot-coil", RESISTANCE, ("fine", "hot", "unsure"), judge_hot_coil),
    Judge("starting-circuit", "", ("told", "unsure"), judge_starting),
)
