"""Looks at the supply, the starter, the engine itself and its air: what each answers, from the parts."""

from __future__ import annotations

from firststart.rehearsal.fuelling import mixture, volatility
from firststart.rehearsal.sight import Look, Sight, Word, yes
from firststart.rehearsal.turning import compression, leak_down, leak_route, rest_volts, sound_gauge

WEAK = 0.5  # share of a sound compression below which a thumb or an ear notices (common practice, no source)
SAGS = 0.79  # of the nominal voltage; a cranking battery under it is bad (9.5 of 12 V: common practice, no source)
LITTLE = 0.90  # share of the supply that a cylinder holds when it hardly leaks (common practice, no source)


def _cranking(s: Sight, _c: int | None) -> Word:
    word = s.turning().word
    return None if word == "normal" else word


def _firing(s: Sight, _c: int | None) -> Word:
    last = s.last_try
    if last is None:
        return ("silent", "not-running")
    return "runs" if last.runs else (last.word, "not-running")


def _smell(s: Sight, _c: int | None) -> Word:
    drawn = mixture(s.parts, s.body, s.turning()) / max(volatility(s.parts, s.body), 0.05)
    if s.parts.so("flood") or s.parts("float.leak") > 0.5 or drawn > 3.2:
        return "strong petrol"
    if drawn < 0.3 or s.parts("exhaust.share") < 0.1:
        return "no petrol"
    return "faint petrol"


def _pulses(s: Sight, _c: int | None) -> Word:
    gauges = [compression(s.parts, s.body, c) for c in s.body.numbers]
    weak = sum(gauges) / len(gauges) < WEAK * sound_gauge(s.body)
    return "weak" if weak or s.parts("exhaust.share") < 0.3 else "strong"


def _lamps(s: Sight, _c: int | None) -> Word:
    volts = rest_volts(s.parts, s.body)
    if s.parts.so("main-fuse.open") or s.parts("key.ohm") > 5 or s.parts("terminals.ohm") > 2:
        return "dark"
    if volts < 0.5 * s.body.volts or s.parts("earth.ohm") > 5:
        return "dark"
    asked = s.turning()
    return ("dim", "goes dark") if volts < 0.94 * s.body.volts or 0 < asked.posts < 0.6 * s.body.volts else "bright"


def _fuses(s: Sight, _c: int | None) -> Word:
    for part, word in (
        ("main-fuse.open", "main blown"), ("ignition-fuse.open", "ignition blown"),
        ("pump-relay.open", "pump or glow blown"),
    ):
        if s.parts(part) > 0.95:
            return word
    return None


def _signal(s: Sight, _c: int | None) -> Word:
    opened = any(s.parts.so(p) for p in ("interlock.open", "button.open", "main-fuse.open"))
    return "lamp stays dark" if opened or s.parts("key.ohm") > 5 or s.parts("earth.ohm") > 5 else "lamp lights"


def _starter_feed(s: Sight, _c: int | None) -> Word:
    volts = rest_volts(s.parts, s.body)
    dead = _signal(s, None) == "lamp stays dark" or s.parts("relay.ohm") > 0.02 or s.parts("terminals.ohm") > 0.015
    return "little or none" if dead or volts < 0.7 * s.body.volts else "near battery voltage"


def _wiggle(s: Sight, _c: int | None) -> Word:
    loose = s.parts("key.ohm") > 0.3 or s.parts("feed.ohm") > 20 or s.parts("terminals.ohm") > 0.05
    return "it changes" if loose and s.rng.random() < 0.6 else "no change"


def _hand(s: Sight, c: int | None) -> Word:
    if s.parts.so("engine.stuck"):
        return ("stuck", "it is stuck")
    if s.any("cylinder.liquid", c, 0.3):
        return ("liquid comes out", "liquid")
    if s.parts("oil.thickness") > 6 or s.parts("cam.degrees") > 60:
        return ("stiff", "it is stiff")
    return ("turns freely", "free")


def _liquid(s: Sight, _c: int | None) -> Word:
    if s.any("cylinder.liquid", None, 0.3):
        return ("petrol", "fuel") if s.parts("float.leak") > 0.5 else "water"
    return None


def _thumb(s: Sight, c: int | None) -> Word:
    lowest = min(compression(s.parts, s.body, n) for n in s.cylinders(c))
    return "weak" if lowest < WEAK * sound_gauge(s.body) else "blows it off"


def _leak(s: Sight, c: int | None) -> Word:
    cylinder = c if c is not None else min(s.body.numbers, key=lambda n: leak_down(s.parts, s.body, n))
    if leak_down(s.parts, s.body, cylinder) / 552e3 > LITTLE:
        return ("little leak", "hardly any")
    route = leak_route(s.parts, s.body, cylinder)
    return ("neighbour", "coolant") if route == "gasket" else route


def _clearance(s: Sight, c: int | None) -> Word:
    if s.any("valve.stuck", c, 0.5):
        return "very wide"
    return "tight" if min(s.parts("valve.clearance", n) for n in s.cylinders(c)) < 0.6 else "pass"


def _motion(s: Sight, c: int | None) -> Word:
    return "one does not" if s.any("valve.stuck", c, 0.5) else "all move"


def _sag(s: Sight, _c: int | None) -> Word:
    asked = s.turning()
    posts = asked.posts if asked.posts > 0 else rest_volts(s.parts, s.body)
    return "fail" if posts * s.noise(0.005) < SAGS * s.body.volts else "pass"


def _dropped(part: str, most: float) -> Look:
    def look(s: Sight, _c: int | None) -> Word:
        volts = s.turning().amps * s.parts(part) * s.noise(0.02)
        return "fail" if volts > most * s.body.volts / 12 else "pass"

    return look


def _unloaded(s: Sight, _c: int | None) -> Word:
    return "still-stuck" if s.parts.so("engine.stuck") else "moves"


def _choke(s: Sight, _c: int | None) -> Word:
    if s.parts.so("choke.open"):
        return "stays open"
    return "stays shut" if s.parts.so("choke.shut") else None


def _spit(s: Sight, _c: int | None) -> Word:
    open_intake = any(s.parts("intake.mm2", c) > 2 for c in s.body.numbers)
    return "spits back" if open_intake or s.parts("reed.gap") > 0.3 or abs(s.parts("cam.degrees")) > 30 else "clean"


def _case(s: Sight, _c: int | None) -> Word:
    return "falls" if s.parts("case.leak") > 0.15 or s.any("gasket.mm2", None, 1.0) else "holds"


def _codes(s: Sight, _c: int | None) -> Word:
    if s.parts.so("ecu.dead") or s.parts.so("main-fuse.open"):
        return "no answer"
    for part, above, word in (
        ("pickup.dead", 0.5, "crank sensor"), ("sensor.off", 40, "temperature sensor"), ("tip.open", 0.5, "tip sensor"),
        ("immobiliser.on", 0.5, "immobiliser"),
    ):
        if s.parts(part) > above and s.rng.random() < 0.85:
            return word
    return "no code"


ENGINE: dict[str, Look] = {
    "cranking": _cranking,
    "firing": _firing,
    "started": lambda s, _: "runs" if s.last_try is not None and s.last_try.runs else "quiet",
    "exhaust.smell": _smell,
    "controls.position": yes("stop.set", "stop"),
    "safety.position": yes("safety.open", "one open"),
    "oil.level": yes("oil.low", "low"),
    "oil.dip": yes("oil.low", "low"),
    "choke": _choke,
    "throttle": yes("throttle.stuck", "sticks"),
    "air.path": lambda s, _: "blocked" if s.parts("air.share") < 0.35 else "clear",
    "exhaust.pulses": _pulses,
    "exhaust.look": lambda s, _: "blocked" if s.parts("exhaust.share") < 0.35 else "clear",
    "intake.boot": yes("boot.leak", "cracked or loose", 0.1),
    "key.lamps": _lamps,
    "immobiliser.lamp": yes("immobiliser.on", "stays on"),
    "fault.codes": _codes,
    "fuses": _fuses,
    "starter.signal": _signal,
    "interlock": yes("interlock.open", "stays open"),
    "starter.feed": _starter_feed,
    "key.wiggle": _wiggle,
    "hand.turn": _hand,
    "cylinder.liquid": _liquid,
    "compression.thumb": _thumb,
    "leakdown": _leak,
    "valve.clearance": _clearance,
    "valve.motion": _motion,
    "cam.marks": lambda s, _: "out of line" if abs(s.parts("cam.degrees")) > 8 else "line up",
    "battery.sag": _sag,
    "drop.terminals": _dropped("terminals.ohm", 0.3),
    "drop.earth": _dropped("earth.ohm", 0.3),
    "stuck.unloaded": _unloaded,
    "starter.tapped": lambda s, _: "turned" if s.parts("motor.drag") > 2 and s.rng.random() < 0.4 else "still",
    "earth.strap": yes("earth.ohm", ("dirty", "dirty ends"), 0.01),
    "earth.engine": yes("earth.ohm", ("more", "it shows more"), 0.5),
    "feed.key": lambda s, _: "dark" if _lamps(s, None) == "dark" else "light",
    "oil.spin-pressure": lambda s, _: "showed" if s.turning().turns else "never",
    "hand.stiff": lambda _s, _c: "even",
    "decompressor": yes("decompressor.mm2", "stays open", 0.3),
    "crankcase.leak": _case,
    "reeds": yes("reed.gap", "gap or chip", 0.15),
    "spit.back": _spit,
}
