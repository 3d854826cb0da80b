"""How mouth and ears are set: by the arguments, else by what `firststart voice` remembered, else as usual."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping

from firststart.devices.ears import EarOptions, Levels
from firststart.devices.synth import VoiceOptions
from firststart.errors import InputError
from firststart.prompt.numbers import UNITS_OF_TEN

USUAL_SPEED, USUAL_LOUDNESS = 160, 100
WANTED_DB = 15.0
"""Speech over noise that the recogniser wants, decibels: where our own table of voices and noises levels off."""

SPOKEN_NAME, SPOKEN_YES_NO = {"number it": ""}, {"yes": "", "no": "no"}
"""What may be said when the bench opens, and what is typed for the same. English, as all that the ears understand."""

REMEMBERED = ("speed", "voice", "loudness", "microphone", "loudspeaker")
RATIO, NOISE = "speech over noise dB", "noise dB"


def spoken_choices(jobs: int) -> dict[str, str]:
    """What may be said when one of so many jobs is chosen, and what is typed for the same."""
    numbers = {f"number {UNITS_OF_TEN[n]}": str(n) for n in range(1, jobs + 1)}
    return {"carry on": "", "yes": "", "new engine": "new"} | numbers


def by_voice_line(phrases: Iterable[str]) -> str:
    """What may be said, for the screen."""
    return f"By voice: {', '.join(phrases)}."


def half_heard(text: str) -> str:
    """What the screen says of a word that was only half heard."""
    return f"(heard: {text}? Say it again.)"


def voice_options(arguments: argparse.Namespace, settings: Mapping[str, str], language: str) -> VoiceOptions:
    """How the mouth speaks. Raises RangeError, InputError."""
    return VoiceOptions(
        rate=_number(arguments, settings, "speed", USUAL_SPEED),
        volume=_number(arguments, settings, "loudness", USUAL_LOUDNESS) / 100.0,
        voice=_word(arguments, settings, "voice") if language == "en" or arguments.voice else None,
        language=language,
        device=_word(arguments, settings, "loudspeaker"),
    )


def ear_options(arguments: argparse.Namespace, settings: Mapping[str, str]) -> EarOptions:
    """Which microphone listens."""
    return EarOptions(_word(arguments, settings, "microphone"))


def given(arguments: argparse.Namespace) -> dict[str, str]:
    """The options that were given, as settings to remember."""
    return {name: str(getattr(arguments, name)) for name in REMEMBERED if getattr(arguments, name) is not None}


def measured_room(levels: Levels) -> dict[str, str]:
    """What was measured of room and person, as settings to remember; nothing when nothing was said."""
    if levels.ratio is None or levels.noise is None:
        return {}
    return {RATIO: f"{levels.ratio:.0f}", NOISE: f"{levels.noise:.0f}"}


def advice(ratio: float) -> str:
    """What the loudness of the person over the noise means, and what to change.

    Half the distance to a small source is 6 dB more of it (the inverse distance law of sound pressure).
    """
    if ratio >= WANTED_DB:
        return f"You are {ratio:.0f} dB over the noise; that will do."
    nearer = 10 ** ((WANTED_DB - ratio) / 20)
    return (
        f"You are only {ratio:.0f} dB over the noise, and {WANTED_DB:.0f} are wanted: use a headset, or come "
        f"{nearer:.1f} times as near to the microphone, or stop what makes the noise."
    )


def reminder(settings: Mapping[str, str]) -> str:
    """At the bench: what `firststart voice` found too weak the last time; "" when it was well, or never tried."""
    try:
        ratio = float(settings.get(RATIO, "nan"))
    except ValueError:
        return ""
    return f"When the voice was tried: {advice(ratio)}" if ratio < WANTED_DB else ""


def _word(arguments: argparse.Namespace, settings: Mapping[str, str], name: str) -> str | None:
    return getattr(arguments, name) or settings.get(name) or None


def _number(arguments: argparse.Namespace, settings: Mapping[str, str], name: str, usual: int) -> int:
    asked = getattr(arguments, name)
    if asked is not None:
        return int(asked)
    try:
        return int(settings.get(name, usual))
    except ValueError:
        raise InputError(f"The {name} remembered is {settings[name]!r}, no number; give --{name} anew.") from None
