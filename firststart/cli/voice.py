"""`firststart voice`: tries mouth, ears and pedal, one at a time, says what to mend, and remembers what it found."""

from __future__ import annotations

import argparse
import sys
import time

from firststart.cli.common import read_settings, write_settings
from firststart.cli.sounding import advice, ear_options, given, measured_room, voice_options
from firststart.devices.ears import DeafEars, Ears, Levels, Vocabulary, open_ears
from firststart.devices.mouth import Mouth, SilentMouth, open_mouth, say_to
from firststart.devices.stage import learn_key
from firststart.devices.tones import Tone

QUIET_S = 3.0
TALK_S = 12.0
PEDAL_S = 10.0
POLL_S = 0.05
SOFT_DB = -45.0  # decibels below full scale; softer speech leaves little of a microphone's range
_TAKEN = ("c-m", "c-c", "c-d", "enter", "escape", "backspace", "c-h", "c-i", "tab")
_WORDS = ("yes", "no", "stop", "next step", "say again", "strong spark", "weak spark")
_TRIAL = {
    "en": "This is how I speak. One hundred and eighteen p s i. Right?",
    "de": "So spreche ich. Einhundertachtzehn Kilopascal. Stimmt das?",
}


def run_voice(arguments: argparse.Namespace) -> int:
    """Try each device and keep what was learnt; 1 when one of them does not work."""
    told: list[str] = []
    learnt = given(arguments)
    settings = read_settings(arguments)
    language = arguments.language or "en"
    options = voice_options(arguments, settings, language)
    if arguments.say_to is not None:
        mouth = say_to(arguments.say_to, options, told.append)
    else:
        mouth = open_mouth(options, told.append)
    ears = open_ears(ear_options(arguments, settings), told.append, mouth.busy)
    try:
        spoke = _try_mouth(mouth, _TRIAL.get(language, _TRIAL["en"]))
        heard = _try_ears(ears, mouth)
        learnt |= measured_room(ears.levels())
    finally:
        ears.close()
        mouth.close()
    for line in told:
        print(line)
    if language != "en":
        print(f"Ears: with --language {language} the bench speaks it, and you answer by keys or pedal: "
              "the ears understand English only.")  # fmt: skip
    learnt |= _learn_pedal()
    _remember(arguments, settings, learnt)
    return 0 if spoke and heard else 1


def _remember(arguments: argparse.Namespace, settings: dict[str, str], learnt: dict[str, str]) -> None:
    if learnt:
        write_settings(arguments, {**settings, **learnt})
        print(f"Remembered for the bench: {', '.join(f'{name} {value}' for name, value in sorted(learnt.items()))}.")


def _learn_pedal() -> dict[str, str]:
    """Learn the key of a pedal or clicker by its press."""
    if not sys.stdin.isatty():
        print("Pedal: not tried, since this is no terminal.")
        return {}
    print(f"Pedal: press your pedal or clicker once within {PEDAL_S:g} seconds, or wait.")
    key = learn_key(PEDAL_S)
    if not key:
        print("Pedal: no key came. The bench works without one.")
    elif key in _TAKEN or len(key) == 1:
        print(f"Pedal: it sends {key!r}, which is needed for typing; set it to a key such as F9 or page down.")
    else:
        print(f"Pedal: it sends {key!r}. From now on: short is next, double takes, held down is stop.")
        return {"pedal": key}
    return {}


def _try_mouth(mouth: Mouth, sentence: str) -> bool:
    if isinstance(mouth, SilentMouth):
        print("Mouth: no voice here. Prompts come on the screen.")
        return False
    print("Mouth: you should hear a sentence, and then four tones: go, stop, wait over, not understood.")
    mouth.say(sentence)
    for kind in Tone:
        mouth.sound(kind)
    if not mouth.wait(20.0):
        print("Mouth: the loudspeaker did not finish; look at its cable and its volume.")
        return False
    print("Mouth: said. When you heard nothing, look at the volume and at the chosen loudspeaker.")
    return True


def _try_ears(ears: Ears, mouth: Mouth) -> bool:
    if isinstance(ears, DeafEars):
        print("Ears: none here. Answer by keys or pedal.")
        return False
    ears.listen_for(Vocabulary({word: word for word in _WORDS}, safety=frozenset({"stop"})))
    ears.start()
    print(f"Ears: be quiet for {QUIET_S:g} seconds; I measure the room.")
    mouth.wait(5.0)
    time.sleep(QUIET_S)
    noise = ears.levels().noise
    if noise is not None:
        print(f"Ears: the room is at {noise:.0f} dB of full scale.")
    print(f"Ears: say one after the other: {', '.join(_WORDS)}.")
    heard = _hear_words(ears)
    print(f"Ears: understood {len(heard)} of {len(_WORDS)}. {_advice(ears.levels())}")
    return bool(heard)


def _hear_words(ears: Ears) -> list[str]:
    heard: list[str] = []
    end = time.monotonic() + TALK_S
    while time.monotonic() < end and len(heard) < len(_WORDS):
        found = ears.heard()
        if found is None:
            time.sleep(POLL_S)
            continue
        heard.append(found.text)
        print(f"  heard: {found.text} ({found.zone.value}, {1000 * found.delay:.0f} ms after its end)")
    return heard


def _advice(levels: Levels) -> str:
    """What the loudness of room and person means."""
    if levels.ratio is None or levels.speech is None:
        return "Nothing was heard; look at the microphone's cable, its mute switch, and the chosen microphone."
    soft = " The microphone is set low; turn it up." if levels.speech < SOFT_DB else ""
    return advice(levels.ratio) + soft
