"""The whole job card by voice alone, with real sound: `python tests/devices/card_aloud.py` (some ten minutes).

The bench with its own voice, player and ears, each in its process, on a virtual sound card: it speaks into one room,
and a person who hears it fall silent answers into another, where garage noises stand and its microphone is. The person
has several voices in turn. Only the clock of the job is virtual, so that waits and rests take no time. Exit status 1
when the card is not done, or when something was taken that was not meant but for a stop or two.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from array import array
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import bench_sounds as sounds
from devices_handsfree import CARD, Hands, HandsfreeStage, Player, Tally
from devices_voice_helpers import NO_SOUND_SERVER, WHY_NO_SOUND_SERVER, sound_server

from firststart.bench.shop import make_rules
from firststart.cli.bench import Bench
from firststart.devices.ears import EarOptions, open_ears
from firststart.devices.mouth import Mouth, open_mouth
from firststart.devices.player import Player as Loudspeaker
from firststart.devices.sound import Sound
from firststart.devices.stage import Event
from firststart.devices.synth import VoiceOptions
from firststart.procedure.catalogue import data_folder, load_library
from firststart.prompt.prompt import Prompt

RATIO = 15.0  # decibels of speech over noise: what `firststart voice` asks for
NOISE_S, RATE = 20, 22050
HEARD_S = 2.5  # seconds after the end of the words in which they must have been understood, else they are said again
PAUSE_S = 0.35  # from the tool's falling silent to the person's answer


class Aloud(Hands):
    """Says the words into the room when the tool has fallen silent, over noise, in one voice after another."""

    def __init__(self, folder: Path, mouth: Mouth) -> None:
        self._speaker, self._mouth = sounds.Speaker(folder, None), mouth
        self._kinds = [sounds.Voice("espeak", name) for name in ("en-us", "en-gb", "en-us+f2")]
        if shutil.which("flite"):
            self._kinds += [sounds.Voice("flite", name) for name in ("kal16", "slt")]
        self._room = Loudspeaker(RATE, "garage")
        self._around = Loudspeaker(RATE, "garage")
        self._noises, self._until = list(sounds.NOISES.values()), 0.0

    def give(self, words: str, prompt: Prompt, bench: Bench, tally: Tally) -> Event | None:
        tally.said += 1
        self._keep_noise(tally.said)
        self._mouth.wait(60.0)
        time.sleep(PAUSE_S)
        speech = self._speaker.say(self._kinds[tally.said % len(self._kinds)], words)
        assert speech is not None
        loud = speech[np.abs(speech) > 0.03 * np.abs(speech).max()].std()
        self._room.play(_sound(speech / loud * sounds.SPEECH))
        end = time.monotonic() + len(speech) / sounds.RATE + HEARD_S
        while time.monotonic() < end:
            event = bench._poll()
            if event is not None:
                return event
            time.sleep(0.02)
        return None

    def close(self) -> None:
        """Leave the room."""
        for each in (self._room, self._around, self._speaker):
            each.close()

    def _keep_noise(self, turn: int) -> None:
        """Another noise each time the last one ends."""
        if time.monotonic() > self._until - 1.0:
            noise = self._noises[turn % len(self._noises)](NOISE_S * sounds.RATE, np.random.default_rng(turn))
            self._around.play(_sound(noise / noise.std() * sounds.SPEECH * 10 ** (-RATIO / 20)))
            self._until = max(self._until, time.monotonic()) + NOISE_S


def _sound(samples: sounds.Floats) -> Sound:
    whole = np.clip(samples * 32767, -32768, 32767).astype(np.int16)
    return Sound(sounds.RATE, array("h", whole.tolist()))


def main() -> int:
    """Do the card; print what it took."""
    if NO_SOUND_SERVER:
        print(WHY_NO_SOUND_SERVER)
        return 1
    with tempfile.TemporaryDirectory() as folder, sound_server(Path(folder), rate=48000) as environment:
        os.environ.update(environment)
        return _card(Path(folder))


def _card(folder: Path) -> int:
    told: list[str] = []
    player = Player(make_rules(load_library(data_folder("procedures"))))
    mouth = open_mouth(VoiceOptions(rate=450, device="spk"), told.append)
    ears = open_ears(EarOptions("mic"), told.append, mouth.busy)
    person = Aloud(folder, mouth)
    stage = HandsfreeStage(person, player.answer, player.over)
    began = time.monotonic()
    try:
        player.bench(stage, mouth, ears).run()
    finally:
        person.close()
        ears.close()
        mouth.close()
    tally = stage.tally
    done = set(CARD) <= set(player.desk.situation.ended)
    print(f"{time.monotonic() - began:.0f} s; answers {tally.answers}, said {tally.said} times, stops {tally.stops}, "
          f"taken and not meant {len(tally.wrong)}; the card is {'done' if done else 'not done'}")  # fmt: skip
    for line in (*told, *tally.wrong, *filter(None, [tally.given_up])):
        print(line)
    return 0 if done and not tally.wrong and not tally.given_up and tally.stops <= 2 else 1


if __name__ == "__main__":
    sys.exit(main())
