"""Looks at the ignition: what each answers, from the parts."""

from __future__ import annotations

from firststart.rehearsal.sight import Look, Sight, Word, yes
from firststart.rehearsal.sparking import Spark, coil_volts, killed, primary_energy, spark, word
from firststart.rehearsal.turning import Cranking, advance, compression


def sparks(s: Sight, cylinder: int | None, unplugged: bool = False) -> Spark:
    """The spark of a cylinder; of the weakest one when none is named."""
    turning = s.turning()
    found = [
        spark(s.parts, s.body, c, turning, compression(s.parts, s.body, c, turning.rps), unplugged)
        for c in s.cylinders(cylinder)
    ]
    return min(found, key=lambda one: one.available)


def _spark(s: Sight, c: int | None) -> Word:
    seen = word(sparks(s, c).strength * s.noise(0.06))
    return seen if seen != "weak" else ("weak", "weak spark", "thin", "unsteady")


def _other_plug(s: Sight, c: int | None) -> Word:
    bad_plug = any(
        s.parts("plug.shunt", n) < 2e6 or s.parts.so("plug.cracked", n) or s.parts("plug.gap", n) > 1.7
        for n in s.cylinders(c)
    )
    return "sparks better" if bad_plug and sparks(s, c).strength > 0.7 else "no better"


def _unplugged(s: Sight, _c: int | None) -> Word:
    freed = killed(s.parts) and sparks(s, None, unplugged=True).strength > 0.75
    return "spark returns" if freed else "no change"


def _king(s: Sight, _c: int | None) -> Word:
    parts = s.parts
    before = 1 - 0.85 * parts("distributor.tracks")
    lead = 1 - 0.8 * min(parts("lead.leak", n) for n in s.body.numbers)
    strength = max(sparks(s, n).strength for n in s.body.numbers) / max(before * lead, 0.05)
    return "strong" if strength >= 1.1 else "none or weak"


def _feed(s: Sight, _c: int | None) -> Word:
    volts = coil_volts(s.parts, s.body, s.turning())
    if volts < 0.25 * s.body.volts:
        return "none"
    return "low" if volts < 0.72 * s.body.volts else ("pass", "as expected")


def _switching(s: Sight, _c: int | None) -> Word:
    if coil_volts(s.parts, s.body, s.turning()) < 1.0 or s.parts.so("primary.open"):
        return "dark"
    stuck = s.parts.so("pickup.dead") or s.parts.so("box.dead") or s.parts("points.gap") < 0.15
    high = s.body.ignition == "points" and s.parts("points.ohm") > 8
    return "steady" if stuck or high else "flickers"


def _points(s: Sight, _c: int | None) -> Word:
    if s.parts("points.gap") < 0.7:
        return "gap too small"
    dark = s.parts("points.ohm") > 0.6 or s.parts("condenser.leak") > 0.85
    return ("dark or pitted", "dark", "pitted") if dark else None


def _coil(s: Sight, _c: int | None) -> Word:
    if s.parts.so("primary.open") or s.parts.so("own-coil.open", s.coil):
        return "low tension open"
    return "high tension off" if s.parts("secondary.leak") > 0.9 else None


def _stray(s: Sight, c: int | None) -> Word:
    if primary_energy(s.parts, s.body, s.turning()) <= 0:
        return "dark"
    leaking = s.any("lead.leak", c, 0.3) or s.parts("distributor.tracks") > 0.4
    inside = s.parts("secondary.leak") > 0.5 and s.rng.random() < 0.25
    return "stray sparks" if leaking or inside else "dark"


def _other_box(s: Sight, _c: int | None) -> Word:
    return "spark returns" if s.parts.so("box.dead") and not killed(s.parts) else "no change"


def _wiring(s: Sight, _c: int | None) -> Word:
    damaged = s.parts("feed.ohm") > 1 or s.parts.so("stop-wire.earthed")
    return "damaged" if damaged and s.rng.random() < 0.75 else "sound"


def _at_rest(s: Sight) -> float:
    """Voltage at the coil's feed with the engine still."""
    return coil_volts(s.parts, s.body, Cranking("nothing"))


def _every(s: Sight, _c: int | None) -> Word:
    good = [c for c in s.body.numbers if sparks(s, c).strength >= 0.75]
    if len(good) == s.body.cylinders:
        return "all"
    return "some" if good else "none"


def _stop_circuit(s: Sight, _c: int | None) -> Word:
    earthed = ("stop.set", "stop-switch.earthed", "stop-wire.earthed", "safety.open", "oil.low")
    return "earthed" if any(s.parts.so(p) for p in earthed) else "open"


def _plug(s: Sight, _c: int | None) -> Word:
    """Dry, damp or wet: by the liquid that came in, and how long it came in without burning."""
    from_fuel = _liquid_in(s)
    if from_fuel > 2.6 or (from_fuel > 0.35 and s.soaked > 14):
        return "wet"
    return "dry" if from_fuel < 0.35 else "damp"


def _liquid_in(s: Sight) -> float:
    from firststart.rehearsal.fuelling import mixture, volatility

    turning = s.turning()
    if not turning.turns:
        return 6.0 if s.parts.so("flood") else 0.5
    return mixture(s.parts, s.body, turning) / max(min(volatility(s.parts, s.body), 1.0), 0.08)


def _plug_state(s: Sight, c: int | None) -> Word:
    for n in s.cylinders(c):
        if s.parts.so("plug.cracked", n) or s.parts("plug.gap", n) > 1.7:
            return ("cracked or wrong gap", "cracked", "wrong gap")
        if s.parts("plug.shunt", n) < 2e6 or (s.parts.so("flood") and s.rng.random() < 0.3):
            return "fouled"
    return "clean"


def _points_drop(s: Sight, _c: int | None) -> Word:
    return "fail" if s.parts("points.ohm") / (s.parts("points.ohm") + 3.0) > 0.03 else "pass"


def _condenser(s: Sight, _c: int | None) -> Word:
    return "fail" if s.parts("condenser.leak") > 0.4 and s.rng.random() < 0.85 else "pass"


def _flywheel(s: Sight, _c: int | None) -> Word:
    return "rusty or wide" if s.parts("flywheel.gap") > 1.4 else "clean and in gap"


def _timing(s: Sight, _c: int | None) -> Word:
    seen = advance(s.parts) + s.rng.gauss(0, 1.0) + (4 if s.parts("points.gap") < 0.6 else 0)
    return ("out of line", "out") if abs(seen) > 5 else None


SPARK: dict[str, Look] = {
    "spark": _spark,
    "spark.other-plug": _other_plug,
    "spark.unplugged": _unplugged,
    "spark.king": _king,
    "spark.other-box": _other_box,
    "coil.feed": _feed,
    "coil.switching": _switching,
    "points": _points,
    "points.drop": _points_drop,
    "condenser": _condenser,
    "coil.ohms": _coil,
    "lead.ohms": yes("cap.open", ("open or high", "open", "high", "fail")),
    "distributor.cap": yes("distributor.tracks", "damp or tracked", 0.2),
    "stray.sparks": _stray,
    "ballast": yes("ballast.open", ("open", "fail")),
    "pickup": yes("pickup.dead", ("open", "fail")),
    "source.coil": yes("source.dead", ("open", "fail")),
    "flywheel.gap": _flywheel,
    "wiring": _wiring,
    "stop.circuit": _stop_circuit,
    "stop.feed": lambda s, _: "lights" if _at_rest(s) > 0.5 * s.body.volts else "dark",
    "stop.each": lambda _s, _c: None,
    "spark.cylinders": _every,
    "stop.switch": yes("stop-switch.earthed", "does not"),
    "plug": _plug,
    "plug.state": _plug_state,
    "lead.look": yes("lead.leak", ("cracked", "cracked or hard"), 0.3),
    "lead.order": yes("leads.crossed", "crossed"),
    "flywheel.key": lambda s, _: "turned" if abs(s.parts("rotor.degrees")) > 4 else "in place",
    "timing": _timing,
}
