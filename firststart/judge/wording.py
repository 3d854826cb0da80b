"""How judges put values into short speakable text; the voice spells out the units."""

from __future__ import annotations

import math
from collections.abc import Iterable

from firststart.physics.uncertainty import Decision
from firststart.units import from_si

_DECIMALS = {"bar": 1, "kg/cm2": 1, "l": 1, "mm": 1, "qt": 1, "in": 3, "inHg": 1, "V": 1}


def amount(si: float, unit: str, kind: str, decimals: int | None = None) -> str:
    """`si` in `unit`, rounded as a person reads that unit: "118 psi", "8.1 bar", "2.5 ml"."""
    value = from_si(si, unit, kind)
    if decimals is None:
        decimals = _DECIMALS.get(value.unit, 1 if abs(value.value) < 10 else 0)
    number = f"{round(value.value, decimals) + 0.0:.{decimals}f}"
    if "." in number:
        number = number.rstrip("0").rstrip(".")
    return f"{number} {value.unit}".rstrip()


def span(low: float, high: float, unit: str, kind: str) -> str:
    """A band as text: "120 to 150 psi"."""
    first, second = amount(low, unit, kind), amount(high, unit, kind)
    return second if first == second else f"{first.rsplit(' ', 1)[0]} to {second}"


def doubt(found: Decision, unit: str, kind: str) -> str:
    """How near a case that is too near to say lies to its limit, and which way it leans."""
    off = from_si(abs(found.margin), unit, kind)
    return f"off the limit by {off.value:.2g} {off.unit}; {per_cent(found.chance)} likely to be on the good side of it"


def per_cent(share: float) -> str:
    """A share as text: "12 %"."""
    return f"{100 * share:.0f} %"


def listed(items: Iterable[object]) -> str:
    """ "1", "1 and 2", "1, 2 and 3"."""
    texts = [str(i) for i in items]
    return texts[0] if len(texts) == 1 else f"{', '.join(texts[:-1])} and {texts[-1]}" if texts else "none"


def rounded_down(value: float) -> float:
    """`value` ml down to a syringe's marks: hundredths under 0.1, tenths under 1, halves under 5, else whole ones."""
    step = 0.01 if value < 0.1 else 0.1 if value < 1 else 0.5 if value < 5 else 1.0
    return round(math.floor(value / step + 1e-9) * step, 2)
