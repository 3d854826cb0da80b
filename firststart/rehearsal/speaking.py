"""How people say readings: rounded as the instrument shows them, digit by digit, and now and then misread."""

from __future__ import annotations

import random

from firststart.errors import FirststartError, UnitError
from firststart.prompt.expect import Expectation
from firststart.prompt.numbers import say_digits
from firststart.units import Measured, find_unit, measured


def tidy(value: Measured, resolution: float | None) -> Measured:
    """Rounded to the instrument's step, else to three figures."""
    if resolution:
        number = round(value.value / resolution) * resolution
        return measured(round(number, 6), value.unit, value.kind)
    return measured(float(f"{value.value:.3g}"), value.unit, value.kind)


def plain(number: float) -> str:
    """A number as figures, without an exponent."""
    text = f"{number:.6f}".rstrip("0").rstrip(".")
    return text if text not in ("-0", "") else "0"


def spoken(value: Measured, expects: Expectation) -> str:
    """A reading in spoken words, digit by digit, with its unit."""
    try:
        unit = find_unit(value.unit, expects.quantity).spoken
    except UnitError:
        unit = ""
    try:
        return f"{say_digits(plain(value.value))} {unit}".strip()
    except FirststartError:
        return f"{plain(value.value)} {value.unit}".strip()


def misread(value: Measured, rng: random.Random) -> Measured:
    """One digit read wrongly, by one or two."""
    text = plain(abs(value.value))
    places = [i for i, ch in enumerate(text) if ch.isdigit()]
    at = rng.choice(places)
    digit = (int(text[at]) + rng.choice((-2, -1, 1, 2))) % 10
    number = float(text[:at] + str(digit) + text[at + 1 :])
    return measured(number if value.value >= 0 else -number, value.unit, value.kind)
