"""`firststart voice`: tries mouth and ears, one at a time, and says what to mend."""

from __future__ import annotations

import argparse
import sys
import time

from firststart.cli.common import read_settings, write_settings
from firststart.devices.ears import DeafEars, EarOptions, Ears, Levels, Vocabulary, open_ears
from firststart.devices.mouth import Mouth, SilentMouth, open_mouth, say_to
from firststart.devices.stage import learn_key
from firststart.devices.synth import VoiceOptions
from firststart.devices.tones import Tone

QUIET_S = 3.0
TALK_S = 12.0
WANTED_DB = 15.0  # speech over noise that the recogniser wants; common practice, no source
PEDAL_S = 10.0
_TAKEN = ("c-m", "c-c", "c-d", "enter", "escape", "backspace", "c-h", "c-i", "tab")
_WORDS = ("yes", "no", "stop", "next step", "say again", "strong spark", "weak spark")


def run_voice(arguments: argparse.Namespace) -> int:
    """Try each device; 1 when one of them does not work."""
    told: list[str] = []
    options = VoiceOptions(rate=arguments.rate)
    if arguments.say_to is not None:
        mouth = say_to(arguments.say_to, options, told.append)
    else:
        mouth = open_mouth(options, told.append)
    ears = open_ears(EarOptions(), told.append, mouth.busy)
    try:
        spoke = _try_mouth(mouth)
        heard = _try_ears(ears, mouth)
    finally:
        ears.close()
        mouth.close()
    for line in told:
        print(line)
    _learn_pedal(arguments)
    return 0 if spoke and heard else 1


def _learn_pedal(arguments: argparse.Namespace) -> None:
    """Learn the key of a pedal or clicker by its press."""
    if not sys.stdin.isatty():
        print("Pedal: not tried, since this is no terminal.")
        return
    print(f"Pedal: press your pedal or clicker once within {PEDAL_S:g} seconds, or wait.")
    key = learn_key(PEDAL_S)
    if not key:
        print("Pedal: no key came. The bench works without one.")
    elif key in _TAKEN or len(key) == 1:
        print(f"Pedal: it sends {key!r}, which is needed for typing; set it to a key such as F9 or page down.")
    else:
        write_settings(arguments, {**read_settings(arguments), "pedal": key})
        print(f"Pedal: it sends {key!r}. From now on: short is next, double takes, held down is stop.")


def _try_mouth(mouth: Mouth) -> bool:
    if isinstance(mouth, SilentMouth):
        print("Mouth: no voice here. Prompts come on the screen.")
        return False
    print("Mouth: you should hear a sentence, and then four tones: go, stop, wait over, not understood.")
    mouth.say("This is how I speak. One hundred and eighteen p s i. Right?")
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
    print(f"Ears: say one after the other: {', '.join(_WORDS)}.")
    heard: list[str] = []
    end = time.monotonic() + TALK_S
    while time.monotonic() < end and len(heard) < len(_WORDS):
        found = ears.heard()
        if found is None:
            time.sleep(0.05)
            continue
        heard.append(found.text)
        print(f"  heard: {found.text} ({found.zone.value})")
    print(f"Ears: understood {len(heard)} of {len(_WORDS)}. {_advice(ears.levels())}")
    return bool(heard)


def _advice(levels: Levels) -> str:
    """What the loudness of room and person means."""
    if levels.ratio is None:
        return "Nothing was heard; look at the microphone's cable and at the chosen microphone."
    if levels.ratio >= WANTED_DB:
        return f"You are {levels.ratio:.0f} dB over the noise; that will do."
    return f"You are only {levels.ratio:.0f} dB over the noise; use a headset, or come nearer to the microphone."
