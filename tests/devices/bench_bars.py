"""The bars of hands-free work, measured and printed in one table: `python tests/devices/bench_voice.py --bars`.

What is understood, what is wrongly taken after a read-back, what an hour of noise and garage talk leads to, and how
long everything takes. Natural voices are those that were cut or learnt from people's recordings (flite, festival, and
recordings or a neural voice given with --recordings); all noise is synthesised.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from bench_sounds import NOISES, RATE, SPEECH, Floats, Speaker, Voice, blocks
from devices_voice_helpers import HERE, NO_SOUND_SERVER, sound_server

from firststart.devices.ears import Zone
from firststart.devices.hearable import hearable
from firststart.devices.listener import Listener
from firststart.prompt.dialogue import VOICE, Dialogue, hear
from firststart.prompt.expect import Expectation, Option

TALK_EVERY = (4.0, 14.0)  # seconds between two sentences of talk
CRANK = Expectation("crank", (Option("go", ("go", "go now"), weighty=True),), high=5.0)
HOLD = Expectation("choice", (Option("clear", ("all clear",), weighty=True), Option("not-clear", ("not clear",))))


@dataclass(frozen=True)
class Bar:
    """One line of the table."""

    name: str
    wanted: str
    measured: str
    holds: bool | None  # None: cannot be measured here

    def line(self) -> str:
        says = {True: "holds", False: "DOES NOT HOLD", None: "not measured here"}[self.holds]
        return f"{self.name:58}{self.wanted:>16}  {self.measured:34}{says}"


def show(bars: list[Bar]) -> None:
    """Print the table."""
    print(f"{'bar':58}{'wanted':>16}  {'measured':34}")
    for bar in bars:
        print(bar.line())


# -- an hour of noise and talk -------------------------------------------------------------------------------


@dataclass
class Hour:
    """What an hour led to."""

    sentences: int = 0
    heard: int = 0
    asked: int = 0
    taken: int = 0  # weighty answers: a crank begun, a hold point met
    stops: int = 0
    alive: int = 0  # answers heard that were said in quiet at the end, by each voice at each step


def hour(listener: Listener, speaker: Speaker, voices: list[Voice], talk: tuple[str, ...], minutes: float) -> Hour:
    """Noise and garage talk into a step that begins a crank, and into one that meets a hold point, half and half.

    The dialogue of the bench stands behind the ears, so that an accident would need the answer and then its yes.
    """
    told, rng = Hour(), np.random.default_rng(5)
    for expects in (CRANK, HOLD):
        state = Dialogue()
        vocabulary = hearable(expects, confirming=False, about="hour")
        listener.listen_for(vocabulary)
        for block in _garage(speaker, voices, talk, minutes * 30, rng, told):
            found = listener.feed(block)
            if found is None:
                continue
            told.heard += 1
            state, act = hear(state, found.text, expects, VOICE, sure=found.zone is Zone.ACCEPT)
            told.asked += act.kind == "ask"
            told.taken += act.kind == "event"
            told.stops += act.kind == "general" and act.event == "stop"
            listener.listen_for(hearable(expects, confirming=state.pending is not None, about="hour"))
        told.alive += sum(_hears(listener, speaker, voice, expects, rng) for voice in voices)
    return told


def _hears(
    listener: Listener, speaker: Speaker, voice: Voice, expects: Expectation, rng: np.random.Generator
) -> bool:
    """Whether the answer of the step is heard at all when it is said in a quiet room: the ears did listen."""
    said = speaker.say(voice, expects.options[0].phrases[0])
    if said is None:
        return False
    sound = np.concatenate([np.zeros(RATE), said / np.std(said) * SPEECH, np.zeros(RATE)])
    sound += NOISES["brown"](len(sound), rng) * SPEECH * 0.01
    listener.listen_for(hearable(expects, confirming=False))
    heard = [listener.feed(block) for block in blocks(sound)]  # all of it, so that the next begins in quiet
    return any(found is not None for found in heard)


def _garage(
    speaker: Speaker, voices: list[Voice], talk: tuple[str, ...], seconds: float, rng: np.random.Generator, told: Hour
) -> Iterator[np.ndarray]:
    """Noise that changes every minute, and people who talk in it, 15 dB to 5 dB above it."""
    makers = list(NOISES.values())
    for minute in range(max(1, round(seconds / 60))):
        sound: Floats = makers[minute % len(makers)](60 * RATE, rng)
        sound = sound / np.std(sound) * SPEECH * 10 ** (-rng.uniform(5, 15) / 20)
        at = rng.uniform(*TALK_EVERY)
        while at < 55:
            words = talk[int(rng.integers(len(talk)))]
            speech = speaker.say(voices[int(rng.integers(len(voices)))], words)
            if speech is not None:
                begin = int(at * RATE)
                piece = speech[: len(sound) - begin]
                sound[begin:begin + len(piece)] += piece / np.std(speech) * SPEECH
                told.sentences += 1
                at += len(speech) / RATE
            at += rng.uniform(*TALK_EVERY)
        yield from blocks(sound)


def hour_bar(told: Hour, minutes: float, voices: int) -> Bar:
    """The line of the table; it holds only when answers that were meant were heard too."""
    return Bar(
        f"{minutes:.0f} minutes of noise and {told.sentences} sentences of talk: cranks, hold points", "0",
        f"{told.taken} ({told.asked} asked, {told.stops} stops; {told.alive} of {2 * voices} heard)",
        told.taken == 0 and told.alive >= voices,
    )  # fmt: skip


# -- the loudspeaker -----------------------------------------------------------------------------------------

INTERRUPT = """
import time
from array import array
from devices_room import Loudness
from firststart.devices.player import Player
from firststart.devices.sound import Sound
player = Player(device="spk")
room = Loudness("spk.monitor")
for _ in range(5):
    player.play(Sound(22050, array("h", [8000, -8000] * 22050)))
    room.when(lambda level: level > 1000, time.monotonic() - 0.05)
    time.sleep(0.2)
    asked = time.monotonic()
    player.clear()
    print(1000 * max(0.0, room.quiet_from(asked) - asked))
    time.sleep(0.2)
player.close()
room.close()
"""


def interruption_bar() -> Bar:
    """From the word to be silent to silence, on a virtual loudspeaker."""
    name, wanted = "interruption to silence, the worst of five", "<= 100 ms"
    if NO_SOUND_SERVER:
        return Bar(name, wanted, "needs pulseaudio and parec", None)
    with tempfile.TemporaryDirectory() as folder, sound_server(Path(folder)) as env:
        done = subprocess.run(
            [sys.executable, "-c", INTERRUPT], env=env, capture_output=True, text=True, timeout=60, check=False,
            cwd=HERE.parent,
        )  # fmt: skip
    times = [float(line) for line in done.stdout.split()]
    if len(times) < 5:
        return Bar(name, wanted, done.stderr.strip()[-34:], False)
    return Bar(name, wanted, f"{max(times):.0f} ms", max(times) <= 100)

