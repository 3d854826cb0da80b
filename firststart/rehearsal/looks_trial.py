"""Trials with a known good part: what each answers, from the parts with some of them made good for the while."""

from __future__ import annotations

from firststart.rehearsal.firing import answer
from firststart.rehearsal.looks_spark import sparks
from firststart.rehearsal.parts import Parts
from firststart.rehearsal.sight import Look, Sight, Word
from firststart.rehearsal.turning import crank

BATTERY = ("battery.charge", "battery.dead-cells", "battery.health")
COIL = ("primary.open", "own-coil.open", "secondary.leak")
LEAD = ("lead.leak", "cap.open")
FEED = ("tank.level", "tap.shut", "tap.share", "vent.share", "filter.share", "hose.share", "pump.share", "bulb.share",
        "fuel.days", "fuel.water")  # fmt: skip


def trial(s: Sight, parts: tuple[str, ...]) -> Sight:
    """The engine with `parts` made good."""
    good: Parts = s.parts.with_good(parts, s.body.numbers)
    return Sight(good, s.body, s.rng, s.last_try, s.soaked, s.wet_ml, s.coil, s.tilt)


def _sparks_better(parts: tuple[str, ...]) -> Look:
    def look(s: Sight, c: int | None) -> Word:
        before, after = sparks(s, c).strength, sparks(trial(s, parts), c).strength
        return "sparks better" if after > 1.25 * before and after > 0.75 else "no better"

    return look


def _cranks_better(parts: tuple[str, ...], word: str, otherwise: str) -> Look:
    def look(s: Sight, _c: int | None) -> Word:
        before, after = crank(s.parts, s.body), crank(trial(s, parts).parts, s.body)
        return word if after.word == "normal" and before.word != "normal" else otherwise

    return look


def _fires_better(parts: tuple[str, ...]) -> Look:
    def look(s: Sight, _c: int | None) -> Word:
        _, heard = answer(trial(s, parts).parts, s.body, s.rng)
        return "starts or runs" if heard.word in ("runs", "dies") else "no change"

    return look


TRIALS: dict[str, Look] = {
    "battery.other": _cranks_better(BATTERY, "cranks well", "no better"),
    "starter.other-relay": _cranks_better(("relay.ohm",), "cranks", "no change"),
    "spark.other-coil": _sparks_better(COIL),
    "spark.other-lead": _sparks_better(LEAD),
    "spark.other-condenser": _sparks_better(("condenser.leak",)),
    "bottle.feed": _fires_better(FEED),
    "intake.sealed": _fires_better(("boot.leak",)),
}
