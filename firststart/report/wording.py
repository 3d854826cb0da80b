"""Small words shared by all forms of the report: times, spans, bands, labels, and text made harmless."""

from __future__ import annotations

import re
from datetime import date, datetime

from firststart.errors import UnitError
from firststart.job.attachment import Attachment
from firststart.judge.wording import amount, span
from firststart.units import KINDS, Measured, find_unit, from_si

_TURNS = re.compile("[\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069]")  # marks that turn the direction of text
_ENDS = "".join(chr(plane * 0x10000 + 0xFFFE) + chr(plane * 0x10000 + 0xFFFF) for plane in range(17))
# All controls but tab and new line, lone surrogates, and what Unicode says is no character (The Standard, 23.7).
_CONTROLS = re.compile(f"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufdd0-\ufdef{_ENDS}]")


def harmless(text: str) -> str:
    """`text` without control characters and without marks that reorder the text around them."""
    return _CONTROLS.sub(" ", _TURNS.sub("", text.replace("\r\n", "\n")))


def clean(text: str) -> str:
    """A person's text for showing: harmless, and without space at its ends."""
    return harmless(text).strip()


def one_line(text: str) -> str:
    """`clean` text on one line."""
    return " ".join(clean(text).split())


def day(moment: datetime) -> str:
    """ "Saturday 2 May 2026"."""
    return f"{_DAYS[moment.weekday()]} {moment.day} {_MONTHS[moment.month - 1]} {moment.year}"


def short_day(moment: date) -> str:
    """ "2 May 2026"."""
    return f"{moment.day} {_MONTHS[moment.month - 1][:3]} {moment.year}"


def clock(moment: datetime) -> str:
    """ "09:05"."""
    return f"{moment:%H:%M}"


def stamp(moment: datetime) -> str:
    """ "2 May 2026 09:05"."""
    return f"{short_day(moment)} {clock(moment)}"


def zone_text(moment: datetime) -> str:
    """ "UTC" or "UTC+02:00"."""
    offset = moment.strftime("%z")
    return "UTC" if offset in ("", "+0000") else f"UTC{offset[:3]}:{offset[3:5]}"


def seconds_text(seconds: float) -> str:
    """ "4.2 s", "75 s", "12 min", "3 h 20 min", "6 days"."""
    if seconds < 9.95:
        return f"{seconds:.1f}".removesuffix(".0") + " s"
    if seconds < 120:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 120:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    if hours < 48:
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    return f"{round(hours / 24)} days"


def minutes_text(minutes: float) -> str:
    """ "5 min", "1 h 20 min"."""
    return seconds_text(max(minutes, 1) * 60) if minutes > 1 else "1 min"


def celsius(kelvin: float | None) -> str:
    """ "74 °C"."""
    if kelvin is None:
        return "none"
    return f"{kelvin - 273.15:.0f} °C"


def per_cent(share: float) -> str:
    """ "37 %", and never a false certainty: "under 1 %", "over 99 %"."""
    if 0 < share < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < share < 1 else f"{100 * share:.0f} %"


def label(name: str) -> str:
    """A dotted name in words: "compression.dry" is "compression dry"."""
    return one_line(re.sub(r"[._-]+", " ", name))


def capital(text: str) -> str:
    """`text` with a capital first letter."""
    return text[:1].upper() + text[1:]


def attachment_text(kept: Attachment) -> str:
    """ "Photo plug.jpg, 1600 by 1200 dots, taken 2026-05-02 11:00 by its camera", "Sound of 7 s"."""
    called = one_line(kept.name)
    named = f"{capital(kept.sort)} {called}" if called else capital(kept.sort)
    if kept.sort == "photo":
        taken = f", taken {one_line(kept.taken).replace('T', ' ')[:16]} by its camera" if kept.taken else ""
        return f"{named}, {kept.width} by {kept.height} dots{taken}"
    return f"{named}{' of' if not called else ','} {seconds_text(kept.seconds or 0)}"


def plural(count: int, word: str, many: str = "") -> str:
    """ "1 crank", "3 cranks"."""
    return f"{count} {word if count == 1 else many or word + 's'}"


def reading_text(value: Measured) -> str:
    """A value as given, with the degree sign: "118 psi", "21 °C", "9.5:1", "11 years"."""
    if value.unit in ("year", "month", "d") and value.kind == "time":
        return plural_of(value.value, {"d": "day"}.get(value.unit, value.unit))
    return unit_text(str(value))


def unit_text(text: str) -> str:
    """A text with units as they are written on paper: "kΩ" for kohm, "°C" for degC."""
    return text.replace("degC", "°C").replace("degF", "°F").replace(" deg", "°").replace("ohm", "Ω")


def plural_of(number: float, word: str) -> str:
    """ "1 year", "11 years"."""
    return f"{number:g} {word}" if number == 1 else f"{number:g} {word}s"


def kind_for(unit: str, kind: str = "") -> str:
    """The kind of quantity a unit belongs to: `kind` where it fits, else the first that has it, else ""."""
    for name in ([kind] if kind else []) + list(KINDS):
        try:
            find_unit(unit, name)
        except UnitError:
            continue
        return name
    return ""


def band(low: float | None, high: float | None, unit: str, kind: str = "") -> str:
    """Limits in SI as text in `unit`: "120 to 150 psi", "9.6 V or more", "at most 0.2 V", or ""."""
    found = kind_for(unit, kind)
    if not found or (low is None and high is None):
        return ""
    fine = 2 if unit == "mm" and abs(from_si(high if high is not None else low or 0.0, unit, found).value) < 2 else None
    if low is not None and high is not None and fine is None:
        text = span(low, high, unit, found)
    elif low is not None and high is not None:
        text = f"{amount(low, unit, found, fine).rsplit(' ', 1)[0]} to {amount(high, unit, found, fine)}"
    elif low is not None:
        text = f"{amount(low, unit, found, fine)} or more"
    else:
        text = f"at most {amount(high or 0.0, unit, found, fine)}"
    return unit_text(text)


_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
