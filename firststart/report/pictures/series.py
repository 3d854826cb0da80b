"""Readings put into one unit and in order, as the pictures need them."""

from __future__ import annotations

from collections.abc import Iterable

from firststart.report.model import Reading
from firststart.report.verdict import stands
from firststart.report.wording import kind_for
from firststart.units import from_si

VALID = ("counts", "earlier", "stale")  # all but those that were read again in their run


def newest(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """The newest valid reading of each name and cylinder, in the order in which the names first came."""
    found: dict[tuple[str, int | None], Reading] = {}
    for reading in readings:
        if reading.counts in VALID:
            found[(reading.name, reading.cylinder)] = reading
    return tuple(found.values())


def in_unit(si: float, unit: str, kind: str) -> float:
    """An SI value as a number in `unit`."""
    return from_si(si, unit, kind).value


def value_in(reading: Reading, unit: str) -> float:
    """A reading's number in `unit`."""
    return reading.value.value if reading.value.unit == unit else in_unit(reading.value.si, unit, reading.value.kind)


def low_in(reading: Reading, unit: str) -> float | None:
    """The lower limit a reading was judged by, in `unit`."""
    return _limit(reading, reading.judged.low if reading.judged else None, unit)


def high_in(reading: Reading, unit: str) -> float | None:
    """The upper limit a reading was judged by, in `unit`."""
    return _limit(reading, reading.judged.high if reading.judged else None, unit)


def _limit(reading: Reading, si: float | None, unit: str) -> float | None:
    """A limit in `unit`; none where it limits something else, such as the air's temperature for a grade of oil."""
    if si is None or reading.judged is None:
        return None
    same = kind_for(reading.judged.unit, reading.value.kind) == reading.value.kind
    return in_unit(si, unit, reading.value.kind) if same else None


def outside(reading: Reading) -> bool:
    """Was the reading found wanting?"""
    return stands(reading.judged, reading.value.si) == "bad"


def short_name(reading: Reading) -> str:
    """The last part of a dotted name: "dry" of "compression.dry"."""
    return reading.name.split(".")[-1].replace("-", " ")


def short(value: float) -> str:
    """A value over a bar or beside a dot, to four figures: "118", "0.85", "12.74"."""
    return f"{float(f'{value:.4g}'):.6g}"


def group_name(reading: Reading) -> str:
    """The first part of a dotted name: "compression" of "compression.dry"."""
    return reading.name.split(".")[0].replace("-", " ")
