"""Every exception a caller can meet, and the `Problem` value for data files.

    FirststartError
    |- InputError (ValueError)          a person's value or word is wrong
    |  |- NumberError                   not a number this tool reads
    |  |- UnitError                     no unit, an unknown unit, or the wrong kind of unit
    |  `- RangeError                    outside what is possible or plausible; field, value, low, high
    |- DataError (ValueError)           files of data are wrong; carries all `Problem`s at once
    |- RecordError (OSError)            the record cannot be read or written
    |  |- RecordBusy                    another bench holds the record
    |  |- RecordReadOnly                the record cannot be written
    |  |- RecordFull                    no room is left on the disk
    |  |- RecordTooNew                  made by a newer version
    |  `- RecordDamaged                 the file fails its integrity check
    |- UnknownName (LookupError)        no procedure, job, scenario, subject of that name
    `- OutOfScope                       an engine this tool refuses (aircraft)

Each message is one clear sentence: what, where, and what to do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


class FirststartError(Exception):
    """Base of every error this package raises on purpose."""


class InputError(FirststartError, ValueError):
    """A value or a word from a person cannot be used as it stands."""


class NumberError(InputError):
    """The text is not a number this tool reads."""


class UnitError(InputError):
    """A unit is missing, unknown, or of the wrong kind."""


class RangeError(InputError):
    """A value lies outside the permitted range.

    Attributes: `field` (name), `value`, `low`, `high` (floats or None), `unit` (text). The sentence may be told in
    another unit than the attributes, as (unit, factor, offset) in `shown`: people do not read radians. `strict`: the
    value must be more than `low`, not only as much.
    """

    def __init__(
        self,
        field: str,
        value: float,
        low: float | None,
        high: float | None,
        unit: str = "",
        why: str = "",
        shown: tuple[str, float, float] | None = None,
        *,
        strict: bool = False,
    ) -> None:
        self.field, self.value, self.low, self.high, self.unit = field, value, low, high, unit
        told, factor, offset = shown or (unit, 1.0, 0.0)
        value, low, high = (
            value * factor + offset,
            None if low is None else low * factor + offset,
            None if high is None else high * factor + offset,
        )
        tail = f" {told}" if told else ""
        if low is not None and high is not None:
            span = f"between {low:g} and {high:g}{tail}"
        elif low is not None:
            span = f"{'more than' if strict else 'at least'} {low:g}{tail}"
        elif high is not None:
            span = f"at most {high:g}{tail}"
        else:
            span = "a finite number"
        reason = f" ({why})" if why else ""
        super().__init__(f"{field} is {value:g}{tail}, but must be {span}{reason}.")


@dataclass(frozen=True, order=True)
class Problem:
    """One fault in a data file: where it is, what is wrong, what to do."""

    file: str
    line: int
    message: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.message}"


class DataError(FirststartError, ValueError):
    """Data files are wrong. `problems` holds every fault found, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(str(p) for p in self.problems))


class RecordError(FirststartError, OSError):
    """The record of jobs cannot be read or written."""


class RecordBusy(RecordError):
    """Another bench is writing to the record."""


class RecordReadOnly(RecordError):
    """The record cannot be written where it lies."""


class RecordFull(RecordError):
    """No room is left on the disk."""


class RecordTooNew(RecordError):
    """The record was made by a newer version of the tool."""


class RecordDamaged(RecordError):
    """The record fails its integrity check."""


class UnknownName(FirststartError, LookupError):
    """Nothing of that kind has that name."""


class OutOfScope(FirststartError):
    """The tool refuses this kind of engine."""
