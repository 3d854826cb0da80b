"""What the compression gauge should read on this engine, here and now: from the manual, the ratio, or a bare floor."""

from __future__ import annotations

from dataclasses import dataclass

from firststart.engine.profile import EngineProfile
from firststart.judge.model import Context, Limit, Limits
from firststart.judge.wording import amount, span
from firststart.physics.atmosphere import pressure, pressure_share
from firststart.physics.compression import at_altitude, effective_ratio, expected_band, trapped_share
from firststart.units import measured

MANUAL, RATIO, FLOOR = "manual", "ratio", "floor"


@dataclass(frozen=True)
class Expected:
    """Gauge band in Pa at the profile's altitude. `high` is None for a bare floor.

    `surely_low` is where a reading is low whatever is unknown: `low` itself but for a bare floor.
    """

    basis: str
    low: float
    high: float | None
    surely_low: float
    limit: str
    source: str
    mark: str
    details: tuple[str, ...] = ()

    def text(self, unit: str) -> str:
        """The band as short text: "120 to 150 psi", or "100 psi or more"."""
        if self.high is None:
            return f"{amount(self.low, unit, 'pressure')} or more"
        return span(self.low, self.high, unit, "pressure")


def altitude(profile: EngineProfile) -> tuple[float, tuple[str, ...]]:
    """(height in m, what was assumed)."""
    known = profile.si("altitude")
    return (0.0, ("sea level assumed",)) if known is None else (known, ())


def pair(limit: Limit) -> tuple[float, float]:
    """The two ends of a limit whose value is a pair, in SI."""
    low, high = limit.value
    if not limit.kind:
        return float(low), float(high)
    return measured(low, limit.unit, limit.kind).si, measured(high, limit.unit, limit.kind).si


def closing_band(profile: EngineProfile, limits: Limits) -> tuple[tuple[float, float], tuple[str, ...]]:
    """((earliest, latest) closing of the intake in rad after bottom dead centre, what was assumed)."""
    known = profile.si("intake-closes")
    if known is not None:
        return (known, known), ()
    table = limits.under("compression.default.intake-closes")
    name = "two-stroke" if profile.word("cycle") == "two-stroke" else profile.word("kind") or "any"
    found = table.get(name, table["any"])
    low, high = found.value
    what = "exhaust port" if name == "two-stroke" else "intake valve"
    return pair(found), (f"{what} taken to close {low:g} to {high:g} degrees after bottom dead centre",)


def trapped_band(profile: EngineProfile, limits: Limits) -> tuple[tuple[float, float], tuple[str, ...]]:
    """((least, most) share of the stroke that compresses, what was assumed)."""
    closes, assumed = closing_band(profile, limits)
    stroke, rod = profile.si("stroke"), profile.si("rod")
    if stroke is not None and rod is not None:
        sizes: tuple[tuple[float, float], ...] = ((stroke, rod),)
    else:
        sizes = tuple((1.0, share) for share in pair(limits["compression.rod-to-stroke"]))
        assumed = (*assumed, "usual rod length assumed")
    shares = [trapped_share(s, r, c) for s, r in sizes for c in closes]
    return (min(shares), max(shares)), assumed


def expected(context: Context) -> Expected:
    """The band for the engine of `context`: the manual's figure first, then the ratio, else a bare floor."""
    profile = context.profile
    if profile.si("manual-compression") is not None:
        return _by_manual(context, float(profile.si("manual-compression") or 0))
    if profile.si("ratio") is not None:
        return _by_ratio(context, float(profile.si("ratio") or 0))
    return _by_floor(context)


def _by_manual(context: Context, figure: float) -> Expected:
    height, assumed = altitude(context.profile)
    here = at_altitude(figure, height)
    low, high = pair(context.limits["compression.manual.share"])
    found = context.limits["compression.manual.share"]
    source = f"the manual's figure, taken as right at sea level; {found.source}"
    return Expected(
        MANUAL, here * low, here * high, here * low, "compression.manual.share", source, found.mark, assumed
    )


def _by_ratio(context: Context, ratio: float) -> Expected:
    height, assumed = altitude(context.profile)
    shares, more = trapped_band(context.profile, context.limits)
    exponent = context.limits["compression.exponent"]
    ratios = effective_ratio(ratio, shares[0]), effective_ratio(ratio, shares[1])
    low, high = expected_band(pressure(height), ratios, pair(exponent))
    source = f"polytropic relation; {exponent.source}"
    return Expected(RATIO, low, high, low, "compression.exponent", source, "computed", (*assumed, *more))


def _by_floor(context: Context) -> Expected:
    height, assumed = altitude(context.profile)
    floor, least = context.limits["compression.floor"], context.limits["compression.floor.low-ratio"]
    share = pressure_share(height)
    details = ("the compression ratio is unknown, so only a floor can be given", *assumed)
    return Expected(
        FLOOR, floor.si() * share, None, least.si() * share, "compression.floor", floor.source, floor.mark, details
    )
