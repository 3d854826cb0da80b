"""Judges of the fuel supply: flow, pump pressure, decay of a pressurised system, age of the petrol."""

from __future__ import annotations

from firststart.errors import InputError
from firststart.judge.bands import ABOVE, BELOW, INSIDE, NEAR, half_step, needed, pair, place
from firststart.judge.model import Context, Judge, Limit, Reading, Verdict
from firststart.judge.wording import amount, span
from firststart.physics.atmosphere import pressure
from firststart.physics.fuel import Life, age_word
from firststart.physics.fuelflow import corrected_end, cranking_flow, full_load_flow, gravity_head
from firststart.physics.guard import within
from firststart.units import from_si

FLOW, PRESSURE, TIME = "flow", "pressure", "time"
CRANKING_SPEED = "cranking-speed"
NOTHING = 0.02  # of the least that is needed: a reading under it is taken for nothing at all (our own)


def flows_needed(context: Context) -> tuple[dict[str, float], tuple[str, ...]] | None:
    """({cranking, idle, full load: m3/s}, what was assumed); None when the displacement is unknown."""
    profile, limits = context.profile, context.limits
    swept = profile.si("displacement")
    if swept is None:
        one, count = profile.cylinder_volume, profile.cylinders
        swept = None if one is None or count is None else one * count
    if swept is None:
        return None
    spoken = context.readings.get((CRANKING_SPEED, None))
    speed = limits["fuel.flow.cranking-speed"].si() if spoken is None or spoken.si <= 0 else spoken.si
    table = limits.under("fuel.flow.power")
    kind = profile.word("kind") or "any"
    power = table[kind if kind in table else "any"].si() * swept * 1e3
    strokes = 2 if profile.word("cycle") == "two-stroke" else 4
    assumed = (f"full power taken as {from_si(power, 'kW', 'power').value:.0f} kW",)
    return {
        "cranking": cranking_flow(swept, speed, strokes),
        "idle": limits["fuel.flow.idle"].si() * swept * 1e3,
        "full load": full_load_flow(power),
    }, assumed


def judge_flow(reading: Reading | None, context: Context) -> Verdict:
    """Fuel that runs from the pipe against what the engine burns. Raises InputError, RangeError.

    enough: at full load; idle-only: starts and idles; short: not even that; none: nothing comes, which speaks of a shut
    tap or an empty tank rather than of a clogged one.
    """
    taken = needed(reading, "fuel-flow", FLOW, "250 ml/min")
    name, limit = "fuel.flow.idle", context.limits["fuel.flow.idle"]
    needs = flows_needed(context)
    if needs is None:
        word = "none" if taken.value.si == 0 else "unsure"
        rest = "no fuel comes." if word == "none" else "the engine's size would tell if it is enough."
        say = f"{taken.value}: {rest}"
        return Verdict(word, say, unit="ml/min", kind=FLOW, limit=name, source=limit.source, mark=limit.mark)
    flows, assumed = needs
    small, large = max(flows["cranking"], flows["idle"]), flows["full load"]
    half = half_step(reading, context.limits["fuel.flow.resolution"])
    half = half * taken.value.si if taken.resolution is None else half
    placed = [place(taken.value.si, edge, None, half) for edge in (small, large)]
    met = {BELOW: "idle-only", NEAR: "unsure"}.get(placed[1], "enough")
    word = {BELOW: "short", NEAR: "unsure"}.get(placed[0], met)
    word = "none" if taken.value.si <= NOTHING * small else word
    shown, least, most = taken.value, _ml_min(small), _ml_min(large)
    say = {
        "enough": f"{shown}: enough for full load.",
        "idle-only": f"{shown}: enough to start and idle, short of {most} for full load.",
        "short": f"{shown}: short of the {least} needed to start.",
        "none": f"{shown}: no fuel comes. {least} are needed to start.",
        "unsure": f"{shown}: too near the need to say.",
    }[word]
    details = (*(f"{what}: {_ml_min(v)}" for what, v in flows.items()), *assumed, *_deliveries(context))
    return Verdict(word, say, large, None, "ml/min", FLOW, name, limit.source, limit.mark, details)


def _deliveries(context: Context) -> tuple[str, ...]:
    """What makers ask of a mechanical pump, which is far more than the engine burns."""
    if context.profile.word("feed") != "pump":
        return ()
    table = context.limits.under("fuel.pump.delivery")
    return tuple(f"a sound pump gives {_ml_min(v.si())}, {v.source}" for v in table.values())


def _ml_min(si: float) -> str:
    return amount(si, "ml/min", FLOW)


def judge_pump(reading: Reading | None, context: Context) -> Verdict:
    """Feed pressure: makers' bands of a lift pump, of injection, or the head of a gravity feed. Raises InputError."""
    taken = needed(reading, "pump-pressure", PRESSURE, "3 psi")
    feed = context.profile.word("feed") or "pump"
    bands = _feed_bands(feed, context)
    half, unit = half_step(reading, context.limits["fuel.pump.resolution"]), taken.value.unit
    low, high = min(b[0] for _, b in bands.values()), max(b[1] for _, b in bands.values())
    fits = [maker for maker, (_, band) in bands.items() if place(taken.value.si, *band, half) == INSIDE]
    word = {INSIDE: "inside", BELOW: "low", ABOVE: "high"}.get(place(taken.value.si, low, high, half), "unsure")
    word = "unsure" if word == "inside" and not fits else word
    word = "none" if taken.value.si <= NOTHING * low else word
    band = span(low, high, unit, PRESSURE)
    say = {
        "inside": f"{taken.value}: inside what makers ask, {band}.",
        "low": f"{taken.value}: low. Makers ask {band}.",
        "none": f"{taken.value}: no pressure at all. Makers ask {band}.",
        "high": f"{taken.value}: high. Makers ask {band}.",
        "unsure": f"{taken.value}: too near the edge of {band} to say.",
    }[word]
    name = next(iter(fits or bands))
    details = [f"{maker.rsplit('.', 1)[-1]}: {span(*b, unit, PRESSURE)}" for maker, (_, b) in bands.items()]
    if context.profile.word("feed") is None:
        details.append("taken as a pump with a carburettor")
    limit = bands[name][0]
    return Verdict(word, say, low, high, unit, PRESSURE, name, limit.source, limit.mark, tuple(details))


def _feed_bands(feed: str, context: Context) -> dict[str, tuple[Limit, tuple[float, float]]]:
    if feed == "gravity":
        limit = context.limits["fuel.gravity.head"]
        low, high = pair(limit)
        return {"fuel.gravity.head": (limit, (gravity_head(low), gravity_head(high)))}
    prefix = "fuel.pump.injection" if feed == "injection" else "fuel.pump.lift"
    return {f"{prefix}.{maker}": (limit, pair(limit)) for maker, limit in context.limits.under(prefix).items()}


def judge_decay(reading: Reading | None, context: Context) -> Verdict:
    """The pressure at the end of a hold, NAME.end, against NAME.start. Raises InputError, RangeError.

    Corrected from NAME.start-temperature to NAME.end-temperature when both were read.
    """
    taken = needed(reading, "pressure-decay", PRESSURE, "20 kPa")
    base = taken.name.removesuffix(".end")
    limit = context.limits["fuel.decay.permitted"]
    start = context.readings.get((f"{base}.start", taken.cylinder)) or context.readings.get((f"{base}.start", None))
    if start is None:
        say = "There is no pressure from the start to compare."
        return Verdict("unsure", say, source=limit.source, mark=limit.mark)
    if start.si <= 0:
        raise InputError(f"{base}.start is {start}, but a hold must start above the air's pressure; pump it up again.")
    ambient = pressure(context.profile.si("altitude") or 0.0)
    first, last = (context.readings.get((f"{base}.{end}-temperature", None)) for end in ("start", "end"))
    tight, drift = start.si, 0.0
    if first is not None and last is not None:
        tight = corrected_end(start.si, first.si, last.si, ambient)
        how = f"a tight system would read {amount(tight, taken.value.unit, PRESSURE, 2)} at the end temperature"
    else:
        kelvins = float(context.limits["fuel.decay.unknown-temperature"].value)
        drift = kelvins * (start.si + ambient) / 293.15
        how = f"temperature unwatched: it alone may move the gauge by {amount(drift, taken.value.unit, PRESSURE, 2)}"
    lost, permitted = tight - taken.value.si, float(limit.value) * start.si
    guard = 2 * half_step(reading, context.limits["fuel.decay.resolution"]) + drift
    placed = place(lost, -permitted, permitted, guard)
    word = {INSIDE: "tight", ABOVE: "leaks"}.get(placed, "unsure")
    gone = amount(max(0.0, lost), taken.value.unit, PRESSURE, 2)
    say = {
        "tight": f"From {start} to {taken.value}: it holds.",
        "leaks": f"From {start} to {taken.value}: it lost {gone}. Find the leak with soapy water.",
        "unsure": f"From {start} to {taken.value}: too near to say. Hold it longer at one temperature.",
    }[word]
    name = "fuel.decay.permitted"
    low = tight - permitted
    notes = (how, *((limit.note,) if limit.note else ()))
    return Verdict(word, say, low, None, taken.value.unit, PRESSURE, name, limit.source, limit.mark, notes)


def lives(context: Context) -> dict[str, Life]:
    """The storage lives that may hold for this engine's fuel: the mix for a premix engine, else both blends."""
    table = context.limits.under("fuel.life")
    names = ("premix",) if context.profile.word("lubrication") == "premix" else ("e0", "e10")
    day = 86400.0
    ends = {n: pair(table[n]) for n in names}
    return {n: Life(low / day, high / day, table[n].source) for n, (low, high) in ends.items()}


def judge_age(reading: Reading | None, context: Context) -> Verdict:
    """How long the petrol has stood. fresh or stale only when every life that may hold says so. Raises InputError."""
    taken = needed(reading, "fuel-age", TIME, "6 months")
    half = half_step(reading, context.limits["fuel.life.resolution"])
    age = within(taken.value.si, taken.name, 0, 120 * 365.25 * 86400, "s")
    found = lives(context)
    young, old = ({age_word(max(0.0, a), life) for life in found.values()} for a in (age - half, age + half))
    words = young | old
    word = words.pop() if len(words) == 1 else "unsure" if young != old else "doubtful"
    shown = taken.value
    say = {
        "fresh": f"{shown}: the petrol is fresh.",
        "doubtful": f"{shown}: the petrol is doubtful. Drain it if it smells sour.",
        "stale": f"{shown}: the petrol is stale. Drain it.",
        "unsure": f"{shown}: near the edge. Smell it, and drain it when in doubt.",
    }[word]
    name = f"fuel.life.{next(iter(found))}"
    limit = context.limits[name]
    day = 86400.0
    low, high = min(v.surely_fresh for v in found.values()) * day, max(v.surely_stale for v in found.values()) * day
    details = tuple(f"{n}: {life.shortest:.0f} to {life.longest:.0f} days, {life.source}" for n, life in found.items())
    return Verdict(word, say, low, high, "d", TIME, name, limit.source, limit.mark, details)


JUDGES: tuple[Judge, ...] = (
    Judge("fuel-flow", FLOW, ("enough", "idle-only", "short", "none", "unsure"), judge_flow),
    Judge("pump-pressure", PRESSURE, ("inside", "low", "high", "none", "unsure"), judge_pump),
    Judge("pressure-decay", PRESSURE, ("tight", "leaks", "unsure"), judge_decay),
    Judge("fuel-age", TIME, ("fresh", "doubtful", "stale", "unsure"), judge_age),
)
