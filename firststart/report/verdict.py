"""How a verdict's word stands: ok, bad, or neither. For colour and hatching only; the word itself is always shown."""

from __future__ import annotations

from firststart.report.model import Judged

GOOD = frozenset(
    {
        "inside", "good", "even", "normal", "ok", "pass", "right", "better", "strong", "clean", "enough", "fine",
        "full", "usable", "holds", "tight", "fresh", "charging", "found",
    }
)  # fmt: skip
OPEN = frozenset(  # tell of a cause, or that more must be looked at, not of good or bad
    {"unsure", "same", "rises", "climbs", "stuck", "taken", "near", "fair", "thick", "doubtful", "only", "fast", "told"}
)
BAD = frozenset(
    {
        "low", "high", "none", "poor", "bad", "fail", "failed", "weak", "uneven", "worse", "worn", "flat", "dead",
        "open", "too", "sags", "narrow", "wide", "short", "long", "leaks", "stale", "slow", "hot", "early", "late",
    }
)  # fmt: skip


def stands(judged: Judged | None, si: float | None = None) -> str:
    """ "ok", "bad" or "": by the word, and for a word not listed by the limits the SI value was held against."""
    if judged is None:
        return ""
    words = set(judged.word.split())
    if words & BAD:
        return "bad"
    if words & OPEN:
        return ""
    if words & GOOD:
        return "ok"
    return "bad" if si is not None and _outside(judged, si) else ""


def _outside(j: Judged, si: float) -> bool:
    return (j.low is not None and si < j.low) or (j.high is not None and si > j.high)
