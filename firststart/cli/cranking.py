"""Cranking measured from its sound, as a subject of `firststart reckon`: `reckon cranking --sound FILE cylinders=4`."""

from __future__ import annotations

from pathlib import Path

from firststart.errors import InputError
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import measured

CRANKING = "cranking"
CYLINDERS = ("4", "1", "2", "3", "5", "6", "8", "10", "12", "16")  # the first is the example
CYCLES = {"four-stroke": 4, "two-stroke": 2}


def cranking_subject(sound: Path | None) -> Subject:
    """The subject for one recording; its answer needs one, its description does not."""

    def run(values: Values) -> tuple[Answer, ...]:
        if sound is None:
            raise InputError(f"{CRANKING} needs a recording; give it as --sound FILE, a WAV file of 16 bits.")
        return heard_in(sound, int(values["cylinders"]), CYCLES[values["cycle"]])

    return Subject(
        CRANKING,
        "Cranking measured from its sound: speed, seconds, evenness",
        "rpm = 60 x beat / (cylinders / 2), two-stroke 60 x beat / cylinders; beat = autocorrelation of the loudness",
        "one compression stroke for each cylinder in each cycle; uncertainties from the scatter, as JCGM 100 has it",
        "computed",
        (
            Given("cylinders", "count", "", 0, 0, meaning="how many the engine has", words=CYLINDERS),
            Given("cycle", "count", "", 0, 0, "four-stroke", "the engine's cycle", tuple(CYCLES)),
        ),
        run,
    )


def heard_in(sound: Path, cylinders: int, strokes: int) -> tuple[Answer, ...]:
    """The answers, each with its standard uncertainty. Raises InputError when no cranking is made out."""
    from firststart.devices.cranking_sound import cranking_in_file

    heard = cranking_in_file(sound, cylinders, strokes)
    even = (
        f"{heard.evenness:.2f}" if heard.evenness is not None else "not told",
        f"weakest stroke over the mean, standard uncertainty {heard.evenness_u:.2f}; not which cylinder"
        if heard.evenness_u is not None
        else "it needs two cylinders or more, and a longer crank",
    )
    return (
        Answer("speed", measured(round(heard.rpm, 1), "rpm", "speed"), _give_or_take(heard.rpm_u, "rpm")),
        Answer("seconds", measured(round(heard.seconds, 2), "s", "time"), _give_or_take(heard.seconds_u, "s")),
        Answer("began", measured(round(heard.began, 2), "s", "time"), "from the beginning of the recording"),
        Answer("evenness", *even),
        Answer("contrast", f"{heard.contrast:.0f} dB", "cranking over the rest; a measurement, never a guard"),
    )


def _give_or_take(uncertainty: float, unit: str) -> str:
    return f"standard uncertainty {uncertainty:.2g} {unit}"
