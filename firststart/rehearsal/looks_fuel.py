"""Looks at fuel, mixture and diesel injection: what each answers, from the parts."""

from __future__ import annotations

from firststart.rehearsal.firing import answer
from firststart.rehearsal.fuelling import age, bowl, line_share, mixture, rail, water
from firststart.rehearsal.sight import Look, Sight, Word, yes
from firststart.rehearsal.sparking import killed


def _quality(s: Sight, _c: int | None) -> Word:
    if s.parts("fuel.water") > 0.1:
        return "water"
    if s.parts("fuel.slime") > 0.3:
        return ("slime", "stale")
    known = age(s.parts)
    if known == "stale":
        return ("varnish", "stale", "old") if s.parts("fuel.days") > 1500 else ("stale", "varnish", "old")
    return ("unsure of it", "fresh") if known == "doubtful" else "fresh"


def _primes(s: Sight, _c: int | None) -> Word:
    return "silent" if s.parts("rail-pump.share") < 0.15 or not _pump_fed(s) else "runs"


def _pump_fed(s: Sight) -> bool:
    opened = ("pump-relay.open", "ecu.dead", "main-fuse.open", "tip.open", "immobiliser.on", "ignition-fuse.open")
    return not any(s.parts.so(p) for p in opened) and s.parts("key.ohm") < 5


def _prime(s: Sight, _c: int | None) -> Word:
    _, heard = answer(s.parts, s.body, s.rng, primed=True)
    return "no fire" if heard.word == "silent" else "fires"


def _flow(s: Sight, _c: int | None) -> Word:
    share = line_share(s.parts, s.body) * s.noise(0.08)
    if share < 0.05:
        return "none"
    return "weak" if share < 0.5 else "good"


def _cap_off(s: Sight, _c: int | None) -> Word:
    gain = line_share(s.parts, s.body, vented=True) - line_share(s.parts, s.body)
    return "better" if gain > 0.15 else "no better"


def _tap_flow(s: Sight, _c: int | None) -> Word:
    share = line_share(s.parts, s.body, vented=True, at="tap")  # the cap is open by then
    return "none or weak" if share * s.noise(0.08) < 0.5 else "good"


def _filter(s: Sight, _c: int | None) -> Word:
    return "dirty" if s.parts("filter.share") < 0.55 or s.parts("fuel.slime") > 0.3 else "clear"


def _delivery(s: Sight, _c: int | None) -> Word:
    return ("none or weak", "none", "weak") if line_share(s.parts, s.body) < 0.4 else "spurts"


def _bulb(s: Sight, _c: int | None) -> Word:
    sucks_air = s.parts("hose.share") < 0.6 or s.parts("bulb.share") < 0.6 or s.parts("float.leak") > 0.7
    return "stays soft" if sucks_air or s.parts("tank.level") < 0.02 or s.parts.so("tap.shut") else "firm"


def _bowl(s: Sight, _c: int | None) -> Word:
    if bowl(s.parts, s.body) < 0.1:
        return "empty"
    if water(s.parts) > 0.05:
        return "water"
    gummed = min(s.parts("pilot.share"), s.parts("choke-circuit.share")) < 0.6 and s.rng.random() < 0.7
    if gummed or age(s.parts) == "stale":
        return ("dirt or varnish", "dirt", "varnish")
    return "full and clean"


def _tapped(s: Sight, _c: int | None) -> Word:
    loosened = s.parts.so("float.shut") and line_share(s.parts, s.body) > 0.1 and s.rng.random() < 0.65
    return "fills" if loosened else "still empty"


def _jets(s: Sight, _c: int | None) -> Word:
    return "blocked" if s.parts("pilot.share") < 0.7 or s.parts("choke-circuit.share") < 0.5 else "clear"


def _cold_passage(s: Sight, _c: int | None) -> Word:
    return "shut" if s.parts("choke-circuit.share") < 0.5 else "open"


def _needle(s: Sight, _c: int | None) -> Word:
    if s.parts.so("float.shut"):
        return "stays shut"
    return "does not seal" if s.parts("float.leak") > 0.3 else "opens and seals"


def _cleared(s: Sight, _c: int | None) -> Word:
    wet = s.parts.so("flood") or mixture(s.parts, s.body, s.turning()) > 2.3
    sparks = not killed(s.parts)
    return "coughs or fires" if wet and sparks and s.rng.random() < 0.7 else "no change"


def _rail(s: Sight, _c: int | None) -> Word:
    share = rail(s.parts)
    if share < 0.1:
        return "none"
    return "low" if share < 0.8 else None


def _pulse(s: Sight, _c: int | None) -> Word:
    opened = ("pickup.dead", "ecu.dead", "immobiliser.on", "tip.open", "ignition-fuse.open", "main-fuse.open")
    return "dark" if any(s.parts.so(p) for p in opened) else "flashes"


def _spray(s: Sight, _c: int | None) -> Word:
    gummed = s.parts("injector.share") < 0.6
    return "drip or nothing" if gummed or rail(s.parts) < 0.6 else "fine spray"


def _smoke(s: Sight, _c: int | None) -> Word:
    cut = s.parts.so("line.air") or s.parts.so("rack.stuck") or s.parts.so("stop-lever.stop")
    fuel = 0.0 if cut else line_share(s.parts, s.body)
    return "none" if fuel < 0.25 or s.parts("exhaust.share") < 0.1 else "white"


def _stop_control(s: Sight, _c: int | None) -> Word:
    held = s.parts.so("stop-lever.stop") or s.parts.so("main-fuse.open")
    return "stays at stop" if held else "goes to run"


def _bleed(s: Sight, _c: int | None) -> Word:
    if line_share(s.parts, s.body) < 0.15:
        return "nothing"
    return "bubbles" if s.parts.so("line.air") or s.parts("hose.share") < 0.5 else "clear fuel"


def _union(s: Sight, _c: int | None) -> Word:
    return "dry or bubbles" if _smoke(s, None) == "none" and s.parts("exhaust.share") > 0.1 else "spurts"


def _glow(s: Sight, _c: int | None) -> Word:
    if s.parts.so("glow-supply.open") or s.parts.so("main-fuse.open"):
        return "none"
    return "low" if s.any("glow.dead", None, 0.5) else ("pass", "good")


def _sensor(s: Sight, _c: int | None) -> Word:
    return "fail" if s.parts("sensor.off") > 15 else None


FUEL: dict[str, Look] = {
    "fuel.level": lambda s, _: "empty" if s.parts("tank.level") < 0.02 else "fuel",
    "fuel.quality": _quality,
    "tank.vent": lambda s, _: "blocked" if s.parts("vent.share") < 0.4 else "free",
    "tap.sieve": lambda s, _: "dirty" if s.parts("tap.share") < 0.5 else "clean",
    "tap.feel": lambda s, _: "hard" if s.parts("tap.share") < 0.2 and s.rng.random() < 0.5 else "soft",
    "pump.by-hand": lambda s, _: "weak" if s.parts("pump.share") < 0.5 else "holds",
    "primer.look": lambda s, _: "bad" if s.parts("bulb.share") < 0.6 else None,
    "fuel.smell": lambda s, _: "fuel" if s.parts("float.leak") > 0.95 and s.rng.random() < 0.3 else "clean",
    "fuel.tap": yes("tap.shut", "shut"),
    "pump.primes": _primes,
    "prime": _prime,
    "fuel.flow": _flow,
    "fuel.flow.cap-off": _cap_off,
    "fuel.tap.flow": _tap_flow,
    "fuel.filter": _filter,
    "fuel.hose": lambda s, _: "cracked or kinked" if s.parts("hose.share") < 0.6 and s.rng.random() < 0.85 else "sound",
    "pump.delivery": _delivery,
    "primer.bulb": _bulb,
    "float.bowl": _bowl,
    "overflow": yes("float.leak", "runs", 0.4),
    "float.tapped": _tapped,
    "jets": _jets,
    "carburettor.cold-start": _cold_passage,
    "float.needle": _needle,
    "diaphragm": lambda s, _: "stiff or torn" if s.parts("diaphragm.share") < 0.6 else "soft and whole",
    "flood.cleared": _cleared,
    "rail.pressure": _rail,
    "injector.pulse": _pulse,
    "injector.spray": _spray,
    "temperature.sensor": _sensor,
    "pump.relay": lambda s, _: "pump runs" if 0.5 < s.parts("pump-relay.open") < 0.95 else "no change",
    "pump.feed": lambda s, _: "battery voltage" if _pump_fed(s) else "none",
    "stop.control": _stop_control,
    "diesel.smoke": _smoke,
    "diesel.bleed": _bleed,
    "diesel.union": _union,
    "diesel.rack": yes("rack.stuck", "stiff"),
    "glow.current": _glow,
    "glow.ohms": yes("glow.dead", "some fail"),
    "diesel.cloud": yes("fuel.wax", "cloudy or jelly", 0.3),
    "diesel.spray": yes("injector.drip", "drips", 0.3),
    "diesel.timing": lambda s, _: "out of line" if abs(s.parts("pump.degrees")) > 4 else "lines up",
}
