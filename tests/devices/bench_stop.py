""" "Stop" said while the starter turns: how many are heard, how soon, and what stops a crank for nothing."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass, field

import numpy as np
from bench_sounds import NOISES, RATE, Crank, Floats, Speaker, Voice, blocks, cranking_with_stop

from firststart.devices.hearable import hearable
from firststart.devices.listener import Listener
from firststart.prompt.expect import Expectation, Option

TURNING = Expectation("turning", (Option("release", ("stop", "released", "it stands")),))
TRIES = 3  # with each voice
IN_TIME = 0.3  # seconds after its end in which it must be heard
CRANK_S, CRANKS = 6.0, 10  # seconds of a crank without "stop", and how many of each kind of noise


@dataclass
class Stops:
    """What became of them: seconds from the end of "stop" to its being heard, infinite when it was not; and cranks
    that were stopped before anything was said."""

    delays: list[float] = field(default_factory=list)
    early: int = 0

    @property
    def in_time(self) -> float:
        """Share heard in time, per cent."""
        return 100.0 * float(np.mean(np.array(self.delays) <= IN_TIME)) if self.delays else 0.0

    @property
    def heard(self) -> float:
        """Share heard at all, per cent."""
        return 100.0 * float(np.mean(np.isfinite(self.delays))) if self.delays else 0.0

    @property
    def median(self) -> float:
        """Median delay of those heard, seconds; one that is heard before its end counts below nothing."""
        return float(np.median([delay for delay in self.delays if np.isfinite(delay)] or [np.nan]))


def first_heard(listener: Listener, crank: Crank) -> float | None:
    """The second in which the ears first take a stop, with the processor time it took; None when they never do."""
    listener.listen_for(hearable(TURNING))
    for index, block in enumerate(blocks(crank.sound)):
        began = time.process_time()
        if listener.feed(block, deaf=crank.own[index]) is not None:
            return (index + 1) * 512 / RATE + time.process_time() - began
    return None


def stops(
    listener: Listener, speaker: Speaker, voices: list[Voice], ratio: float, *, counting: bool, late: float = 0.0
) -> Stops:
    """ "Stop" at `ratio` dB over the starter, three times with each voice."""
    told = Stops()
    for voice, seed in itertools.product(voices, range(TRIES)):
        if speaker.say(voice, "stop") is None:
            continue
        rng = np.random.default_rng([seed, int(ratio) + 50, len(voice.name)])
        crank = cranking_with_stop(speaker, voice, ratio, counting, rng, late)
        heard = first_heard(listener, crank)
        early = heard is not None and heard <= crank.began
        told.early += early
        told.delays.append(np.inf if heard is None or early else heard - crank.ended)
    return told


def for_nothing(listener: Listener, speaker: Speaker, ratio: float, *, counting: bool, late: float) -> tuple[int, int]:
    """(cranks stopped, cranks) in which nobody says anything, in the noises of all kinds, the count half as loud as a
    voice `ratio` dB over the noise."""
    stopped, quiet = 0, Voice("espeak", "en-us")
    for make, seed in itertools.product(NOISES.values(), range(CRANKS)):
        rng = np.random.default_rng([seed, 7])
        crank = cranking_with_stop(speaker, quiet, 99.0, counting, rng, late)
        begin, end = int(crank.began * RATE) - 1, int(crank.ended * RATE) + 1
        sound: Floats = crank.sound.copy()
        if not counting:
            sound[begin:end] = 0.0
        else:
            sound -= cranking_with_stop(speaker, quiet, 99.0, False, np.random.default_rng([seed, 7]), late).sound
        noise = make(len(sound), rng)
        sound += noise / np.std(noise) * 0.05 * 10 ** (-ratio / 20)
        stopped += first_heard(listener, Crank(sound, 0.0, CRANK_S, crank.own)) is not None
    return stopped, CRANKS * len(NOISES)


def stop_table(listener: Listener, speaker: Speaker, chosen: list[Voice]) -> None:
    """Print what becomes of "stop" over the starter, with the count aloud and without, and what stops for nothing."""
    print(f"{'starter, dB':16}{'voices':9}{'n':>5}{'heard':>8}{'in 0.3 s':>10}{'delay ms 50':>13}{'too early':>11}")
    for ratio, counting in itertools.product((20, 10, 5, 0, -3), (False, True)):
        for group in ("formant", "natural"):
            told = stops(
                listener, speaker, [v for v in chosen if (v.kind == "espeak") == (group == "formant")], ratio,
                counting=counting,
            )  # fmt: skip
            if told.delays:
                name = f"{ratio} {'counting' if counting else ''}"
                print(f"{name:16}{group:9}{len(told.delays):5}{told.heard:8.0f}{told.in_time:10.0f}"
                      f"{1000 * told.median:13.0f}{told.early:11}", flush=True)  # fmt: skip
    for ratio, (counting, late) in itertools.product((10, 0), ((False, 0.0), (True, 0.0), (True, 0.1), (True, 0.25))):
        stopped, of = for_nothing(listener, speaker, ratio, counting=counting, late=late)
        name = f"count {1000 * late:.0f} ms late" if counting else "no count"
        print(f"nobody speaks, {name}, a voice would be {ratio} dB over the noise: {stopped} of {of} cranks stopped",
              flush=True)  # fmt: skip
