"""How well the ears understand: voice kind, noise kind and signal-to-noise against right, asked, wrong, and delay.

    python tests/devices/bench_voice.py                 all voices found here, the usual noises
    python tests/devices/bench_voice.py --recordings DIR   your own recordings: DIR/VOICE/some-phrase.wav
    python tests/devices/bench_voice.py --stop          "stop" said while the starter turns and the count is aloud

Not a test. Voices are synthesised (and so is the noise): read the figures as a ranking, not as a promise for people.
espeak comes with the package; flite, festival are used when they are installed. Each utterance goes through the whole
chain: noise, detector of speech, end of the utterance, recogniser, zones; the tables count what the bench would get.
"Delay" runs from the true end of the speech to the result, with the recogniser's own time counted as processor time.
"""

from __future__ import annotations

import argparse
import itertools
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from firststart.devices.ears import NUMBER, Heard, Zone
from firststart.devices.hearable import hearable
from firststart.devices.listener import ClosedRecogniser, Listener, voice_detector
from firststart.devices.moonshine import Moonshine
from firststart.devices.sound import read_sound_file, write_wave
from firststart.devices.synth import Synth, VoiceOptions
from firststart.errors import InputError
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.numbers import hear_number

Floats = npt.NDArray[np.float64]
RATE = 16000
LEAD = 0.7  # seconds of noise before the speech
SPEECH = 0.05  # root mean square of the speech, -26 dB of full scale


def _choice(*phrases: str) -> Expectation:
    return Expectation("choice", tuple(Option(phrase, (phrase,)) for phrase in phrases))


def _measure(quantity: str, unit: str, low: float, high: float) -> Expectation:
    cannot = Option("cannot-measure", ("cannot measure", "no gauge"))
    return Expectation("measure", (cannot,), quantity, unit, low, high)


ACTION = Expectation("action", (Option("done", ("done", "it is done", "ready")),))
STEPS: list[tuple[Expectation, tuple[str, ...]]] = [
    (ACTION, ("done", "it is done", "say again", "go back", "why", "leave it", "how long", "help me", "stop")),
    (_choice("blue spark", "weak spark", "no spark"), ("blue spark", "weak spark", "no spark", "stop")),
    (_choice("yes", "no"), ("yes", "no", "take a note", "status")),
    (_choice("all move", "one does not"), ("all move", "one does not")),
    (_choice("sound", "damaged", "cannot tell"), ("sound", "damaged", "cannot tell")),
    (_choice("clean", "metal in it", "water in it", "petrol in it"),
     ("clean", "metal in it", "water in it", "petrol in it")),
    (_measure("pressure", "psi", 0, 700),
     ("one one eight p s i", "one hundred and eighteen p s i", "one eighteen", "ninety", "a hundred and five p s i",
      "eight point three bar", "cannot measure", "stop")),
    (_measure("voltage", "V", 0, 30),
     ("twelve point six volts", "one one point nine", "twelve point four", "nine point six volts",
      "zero point four volts")),
    (_measure("resistance", "kohm", 0, 100), ("three point three ohms", "seven point five kilohms", "fifty")),
    (_measure("temperature", "degC", -30, 150),
     ("minus five degrees celsius", "seventeen", "twenty one degrees celsius")),
    (_measure("speed", "rpm", 0, 4000), ("two hundred and fifty r p m", "fifteen hundred r p m")),
]  # fmt: skip

TALK = (
    "pass me the ten millimetre spanner", "the kettle is on", "what time did you say you were coming over",
    "I told him not to stop at the shop", "next week we are going to the coast", "mind the dog",
    "there is no way that is going back in there", "have you seen my other glove", "three of them came yesterday",
    "turn the radio down a bit please", "it has been raining since Monday", "he said it was perfectly fine",
    "put it over there by the door", "we could try that later on", "who left the light on",
    "that one is too long and this one is too short",
)  # fmt: skip


@dataclass(frozen=True)
class Voice:
    """A kind of voice and its name."""

    kind: str
    name: str


# -- voices --------------------------------------------------------------------------------------------------


def voices(recordings: Path | None) -> list[Voice]:
    """Every voice that can be had here."""
    found = [Voice("espeak", name) for name in ("en-us", "en-gb", "en-us+f2", "en-gb-scotland+m3")]
    if shutil.which("flite"):
        found += [Voice("flite", name) for name in ("kal16", "rms", "slt", "awb")]
    if shutil.which("text2wave"):
        names = {"voice_kal_diphone", "voice_ked_diphone", "voice_cmu_us_slt_arctic_hts"}
        have = {path.name for path in Path("/usr/share/festival/voices").glob("*/*")}
        found += [Voice("festival", name) for name in sorted(names) if name.removeprefix("voice_") in have]
    if recordings is not None:
        found += [Voice("recorded", path.name) for path in sorted(recordings.iterdir()) if path.is_dir()]
    return found


class Speaker:
    """Says phrases in many voices, and keeps the sounds in a folder."""

    def __init__(self, cache: Path, recordings: Path | None) -> None:
        self._cache, self._recordings = cache, recordings
        self._synths: dict[str, Synth] = {}

    def say(self, voice: Voice, phrase: str) -> Floats | None:
        """The phrase as floats at 16 kHz without silence around it; None when this voice has no recording of it."""
        path = self._path(voice, phrase)
        if voice.kind == "recorded":
            if not path.exists():
                return None
        elif not path.exists():
            path.parent.mkdir(parents=True, exist_ok=True)
            self._make(voice, phrase, path)
        samples = np.array(read_sound_file(path).at_rate(RATE).samples, float) / 32768.0
        loud = np.nonzero(np.abs(samples) > 0.02 * np.abs(samples).max())[0]
        return samples[loud[0]:loud[-1] + 1] if len(loud) else None

    def close(self) -> None:
        for synth in self._synths.values():
            synth.close()

    def _path(self, voice: Voice, phrase: str) -> Path:
        name = "-".join(re.findall(r"[a-z0-9]+", phrase.lower()))
        folder = self._recordings if voice.kind == "recorded" and self._recordings else self._cache / voice.kind
        return folder / voice.name / f"{name}.wav"

    def _make(self, voice: Voice, phrase: str, path: Path) -> None:
        if voice.kind == "espeak":
            if voice.name not in self._synths:
                self._synths[voice.name] = Synth(VoiceOptions(voice=voice.name))
            write_wave(path, self._synths[voice.name].speech(phrase))
        elif voice.kind == "flite":
            subprocess.run(["flite", "-voice", voice.name, "-t", phrase, "-o", str(path)], check=True)
        else:
            subprocess.run(
                ["text2wave", "-eval", f"({voice.name})", "-o", str(path)], input=phrase, text=True, check=True,
                stderr=subprocess.DEVNULL,
            )  # fmt: skip


# -- noise ---------------------------------------------------------------------------------------------------


def _shaped(count: int, rng: np.random.Generator, slope: float) -> Floats:
    """Noise whose power falls with frequency to the power of `slope`."""
    spectrum = np.fft.rfft(rng.standard_normal(count))
    hertz = np.maximum(np.fft.rfftfreq(count, 1 / RATE), 20.0)
    return np.fft.irfft(spectrum * hertz ** (-slope / 2), count)


def brown(count: int, rng: np.random.Generator) -> Floats:
    """Rumble."""
    return _shaped(count, rng, 2.0)


def pink(count: int, rng: np.random.Generator) -> Floats:
    """Wind, a fan, a road."""
    return _shaped(count, rng, 1.0)


def engine(count: int, rng: np.random.Generator) -> Floats:
    """A four-cylinder four-stroke engine at a 900 r p m idle: firing pulses with their harmonics, and exhaust noise."""
    t = np.arange(count) / RATE
    firing = 900 / 60 * 2 * (1 + 0.01 * np.sin(2 * np.pi * 0.7 * t))
    phase = 2 * np.pi * np.cumsum(firing) / RATE
    pulses = sum(np.sin(k * phase + rng.uniform(0, 6.28)) / k for k in range(1, 30))
    breath = pink(count, rng)
    return pulses / np.std(pulses) + 0.6 * breath / np.std(breath) * (1 + 0.6 * np.sin(phase))


def compressor(count: int, rng: np.random.Generator) -> Floats:
    """A workshop air compressor: hum of a motor, clatter of valves at 24 a second, hiss."""
    t = np.arange(count) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * k * t + rng.uniform(0, 6.28)) / k for k in (1, 2, 3, 4, 6, 8))
    hiss = _shaped(count, rng, 0.3)
    clatter = hiss * np.exp(-((t * 24) % 1.0) * 6)
    return hum / np.std(hum) + 1.2 * clatter / np.std(clatter) + 0.4 * hiss / np.std(hiss)


def starter(count: int, rng: np.random.Generator) -> Floats:
    """A starter turning a four-cylinder engine at 250 r p m: gear whine and noise, swelling with each compression."""
    t = np.arange(count) / RATE
    strokes = 250 / 60 * 2
    load = 1 + 0.5 * np.cos(2 * np.pi * strokes * t)
    sway = 1.5 * np.sin(2 * np.pi * strokes * t)
    whine = sum(np.sin(2 * np.pi * f * t + sway) for f in (430.0, 860.0, 1290.0, 2150.0))
    noise = pink(count, rng)
    return load * (whine / np.std(whine) + 0.8 * noise / np.std(noise))


NOISES = {"brown": brown, "pink": pink, "engine": engine, "compressor": compressor, "starter": starter}


def mixed(speech: Floats, noise: str | None, ratio: float, rng: np.random.Generator, room: bool = False) -> Floats:
    """`speech` with silence or noise around and under it, `ratio` dB of full-band power, speech at -26 dBFS."""
    lead, tail = int(LEAD * RATE), int(1.1 * RATE)
    if room:
        speech = _in_a_room(speech, rng)
    active = speech[np.abs(speech) > 0.03 * np.abs(speech).max()]
    speech = speech * (SPEECH / np.sqrt(np.mean(active**2)))
    out = np.concatenate([np.zeros(lead), speech, np.zeros(tail)])
    hiss = rng.standard_normal(len(out)) * 1e-4
    if noise is None:
        return out + hiss
    sound = NOISES[noise](len(out), rng)
    return out + hiss + sound / np.sqrt(np.mean(sound**2)) * SPEECH * 10 ** (-ratio / 20)


def _in_a_room(speech: Floats, rng: np.random.Generator) -> Floats:
    """Half a second of reverberation, as in a bare garage."""
    tail = rng.standard_normal(int(0.5 * RATE)) * np.exp(-np.arange(int(0.5 * RATE)) / RATE * 13.8)
    tail *= 0.25 / np.sqrt(np.sum(tail**2)) * 2
    tail[0] = 1.0
    return np.convolve(speech, tail)


def blocks(samples: Floats) -> Iterator[npt.NDArray[np.int16]]:
    """The sound as a microphone gives it."""
    whole = np.clip(samples * 32767, -32768, 32767).astype(np.int16)
    for at in range(0, len(whole) - 511, 512):
        yield whole[at:at + 512]


# -- the measurement -----------------------------------------------------------------------------------------


@dataclass
class Count:
    """What became of the utterances of one line of the table."""

    outcomes: Counter[str]
    delays: list[float]
    twice: list[bool]


def outcome(heard: list[Heard], wanted: str, expects: Expectation) -> str:
    """right, asked (the right thing, with a question), asked wrong, wrong, or nothing. More than one is wrong."""
    if not heard:
        return "nothing"
    first = heard[0]
    right = _same_reading(first.text, wanted) if first.meaning == NUMBER else first.meaning == _meaning(wanted, expects)
    right = right and len(heard) == 1
    if first.zone is Zone.ACCEPT and first.meaning != NUMBER:
        return "right" if right else "wrong"
    return "asked" if right else "asked wrong"  # numbers are always read back


def _same_reading(heard: str, wanted: str) -> bool:
    """Equal numbers with equal units, or with the unit of one left out: it is read back with the usual unit then."""
    (a, *unit_a), (b, *unit_b) = heard.split(), wanted.split()
    return b[-1:].isdigit() and float(a) == float(b) and (unit_a == unit_b or not unit_a or not unit_b)


def _meaning(phrase: str, expects: Expectation) -> str:
    return hearable(expects, confirming=False).phrases.get(phrase, "")


def wanted_text(phrase: str, expects: Expectation) -> str:
    """What the ears should report for a phrase: itself, or the number in figures."""
    if expects.kind == "measure" and phrase not in hearable(expects, confirming=False).phrases:
        try:
            return hear_number(phrase)
        except InputError:
            return phrase
    return phrase


class Bench:
    """The chain under test."""

    def __init__(self) -> None:
        model = Moonshine()
        self.listener = Listener(ClosedRecogniser(model), voice_detector(), clock=time.process_time)

    def hear(self, expects: Expectation, samples: Floats, end: float = 0.0) -> list[tuple[Heard, float]]:
        """What is heard, each with its delay in seconds after the second `end` of the sound."""
        self.listener.listen_for(hearable(expects, confirming=False))
        found = []
        for index, block in enumerate(blocks(samples)):
            began = time.process_time()
            heard = self.listener.feed(block, deaf=expects.kind == "turning")
            if heard is not None:
                found.append((heard, (index + 1) * 512 / RATE + time.process_time() - began - end))
        return found


CONDITIONS: list[tuple[str, str | None, float, bool]] = [
    ("clean", None, 99, False),
    *((f"{noise} {ratio}", noise, float(ratio), False) for ratio in (20, 10, 5) for noise in NOISES),
    ("engine 10 room", "engine", 10, True),
]


def utterances(talk: bool) -> list[tuple[Expectation, str]]:
    if talk:
        steps = itertools.cycle(step for step, _ in STEPS)
        return [(next(steps), phrase) for phrase in TALK]
    return [(step, phrase) for step, phrases in STEPS for phrase in phrases]


def run(bench: Bench, speaker: Speaker, chosen: list[Voice], share: float, seed: int, wrongs: list[str]) -> dict:
    """The counts by (condition, voice kind), and those of garage talk."""
    table: dict[tuple[str, str, bool], Count] = defaultdict(lambda: Count(Counter(), [], []))
    picker = random.Random(seed)
    for index, (name, noise, ratio, room) in enumerate(CONDITIONS):
        began = time.monotonic()
        for voice, talk in itertools.product(chosen, (False, True)):
            for expects, phrase in utterances(talk):
                if picker.random() > share:
                    continue
                speech = speaker.say(voice, phrase)
                if speech is None:
                    continue
                tries = []
                for attempt in (0, 1):
                    key = f"{seed}|{name}|{voice}|{phrase}|{attempt}"
                    rng = np.random.default_rng(list(key.encode()))
                    found = bench.hear(expects, mixed(speech, noise, ratio, rng, room), LEAD + len(speech) / RATE)
                    heard = [h for h, _ in found]
                    tries.append(outcome(heard, wanted_text(phrase, expects), expects))
                    if attempt == 0:
                        count = table[name, voice.kind, talk]
                        count.outcomes[tries[0]] += 1
                        if heard and not talk:
                            count.delays.append(found[0][1])
                        if tries[0] in ("wrong", "asked wrong") and (tries[0] == "wrong" or not talk):
                            wrongs.append(f"{tries[0]:11} {name:14} {voice.name:20} {phrase!r} -> {heard[0].text!r} "
                                          f"gap {heard[0].gap:.1f} margin {heard[0].margin:.1f}")
                    if talk or tries[0] in ("right", "asked"):
                        break
                count.twice.append(any(t in ("right", "asked") for t in tries))
        print(f"  {index + 1}/{len(CONDITIONS)} {name}: {time.monotonic() - began:.0f} s", file=sys.stderr)
    return table


def show(table: dict) -> None:
    """Print the tables."""
    print(f"{'condition':16}{'voices':10}{'n':>5}{'right':>8}{'asked':>8}{'2 tries':>9}{'ask wrong':>11}{'WRONG':>8}"
          f"{'nothing':>9}{'talk n':>8}{'talk taken':>12}{'talk asked':>12}{'delay ms 50/95':>16}")
    totals: dict[tuple[str, bool], Count] = defaultdict(lambda: Count(Counter(), [], []))
    for (name, kind, talk), count in table.items():
        group = "espeak" if kind == "espeak" else "natural"
        ratio = next((part for part in name.split() if part.isdigit()), "clean")
        for label in (f"ALL {ratio}{' room' if 'room' in name else ''}|{group}",):
            total = totals[label, talk]
            total.outcomes += count.outcomes
            total.delays += count.delays
            total.twice += count.twice
    for name, kind in dict.fromkeys((name, kind) for name, kind, _ in table):
        _line(name, kind, table[name, kind, False], table[name, kind, True])
    for label in dict.fromkeys(label for label, _ in totals):
        name, group = label.split("|")
        _line(name, group, totals[label, False], totals[label, True])


def _line(name: str, kind: str, said: Count, talk: Count) -> None:
    n, m = max(1, sum(said.outcomes.values())), max(1, sum(talk.outcomes.values()))

    def part(key: str) -> str:
        return f"{100 * said.outcomes[key] / n:.1f}"

    delays = np.array(said.delays or [0.0]) * 1000
    taken = 100 * (talk.outcomes["wrong"] + talk.outcomes["right"]) / m
    asked = 100 * (talk.outcomes["asked wrong"] + talk.outcomes["asked"]) / m
    print(f"{name:16}{kind:10}{n:5}{part('right'):>8}{part('asked'):>8}{100 * np.mean(said.twice or [0]):9.1f}"
          f"{part('asked wrong'):>11}{part('wrong'):>8}{part('nothing'):>9}{m:8}{taken:12.1f}{asked:12.1f}"
          f"{np.percentile(delays, 50):9.0f}/{np.percentile(delays, 95):.0f}")


def stop_table(bench: Bench, speaker: Speaker, chosen: list[Voice]) -> None:
    """ "Stop" while the starter turns and the tool counts the seconds aloud into the same microphone."""
    turning = Expectation("turning", (Option("release", ("stop", "released", "it stands")),))
    print(f"{'starter, dB':12}{'voices':9}{'n':>5}{'heard':>8}{'in 0.3 s':>10}{'in 1 s':>8}{'delay ms 50/95':>16}"
          f"{'false alarms a minute':>23}")  # fmt: skip
    for ratio, counting in itertools.product((20, 10, 5, 0), (False, True)):
        for group in ("espeak", "natural"):
            voices = [v for v in chosen if (v.kind == "espeak") == (group == "espeak")]
            delays, false, minutes = [], 0, 0.0
            for voice in voices:
                for seed in range(3):
                    rng = np.random.default_rng([seed, ratio, len(voice.name)])
                    sound, end = _cranking_with_stop(speaker, voice, ratio, counting, rng)
                    found = bench.hear(turning, sound, end)
                    after = [delay for _, delay in found if delay > -0.1]
                    false += len(found) - len(after)
                    minutes += end / 60
                    delays.append(after[0] if after else np.inf)
            if not delays:
                continue
            got = 1000 * np.array([d for d in delays if np.isfinite(d)] or [np.nan])
            print(f"{f'{ratio} ' + ('counting' if counting else ''):12}{group:9}{len(delays):5}"
                  f"{100 * np.mean(np.isfinite(delays)):8.0f}{100 * np.mean(np.array(delays) <= 0.3):10.0f}"
                  f"{100 * np.mean(np.array(delays) <= 1.0):8.0f}"
                  f"{np.median(got):9.0f}/{np.percentile(got, 95):.0f}{false / minutes:16.1f}")  # fmt: skip


def _cranking_with_stop(
    speaker: Speaker, voice: Voice, ratio: float, counting: bool, rng: np.random.Generator
) -> tuple[Floats, float]:
    """(sound, second in which "stop" ends): a starter all through, "stop" after 3 s, perhaps a count, half as loud."""
    stop = speaker.say(voice, "stop")
    assert stop is not None
    out = np.zeros(6 * RATE)
    level = 0.05 / np.sqrt(np.mean(stop[np.abs(stop) > 0.03 * np.abs(stop).max()] ** 2))
    begin = int(rng.uniform(3.0, 4.0) * RATE)
    out[begin:begin + len(stop)] += stop * level
    for second, word in enumerate(("one", "two", "three", "four", "five"), 1) if counting else ():
        said = speaker.say(Voice("espeak", "en-us"), word)
        assert said is not None
        out[second * RATE:second * RATE + len(said)] += said * 0.05 / np.sqrt(np.mean(said**2)) * 0.5
    noise = starter(len(out), rng)
    return out + noise / np.sqrt(np.mean(noise**2)) * 0.05 * 10 ** (-ratio / 20), (begin + len(stop)) / RATE


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--recordings", type=Path, help="a folder of recordings, VOICE/some-phrase.wav")
    parser.add_argument("--cache", type=Path, help="keep the synthesised speech here for the next run")
    parser.add_argument("--share", type=float, default=1.0, help="say only this share of the phrases, 0 to 1")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", help="only voices whose kind or name contains this")
    parser.add_argument("--noise", help="only conditions whose name contains this")
    parser.add_argument("--stop", action="store_true", help="measure stopping a crank by voice instead")
    parser.add_argument("--wrong", action="store_true", help="list what was misheard")
    given = parser.parse_args()
    if given.noise:
        CONDITIONS[:] = [c for c in CONDITIONS if given.noise in c[0]]
    with tempfile.TemporaryDirectory() as folder:
        speaker = Speaker(given.cache or Path(folder), given.recordings)
        chosen = [v for v in voices(given.recordings) if not given.only or given.only in f"{v.kind} {v.name}"]
        wrongs: list[str] = []
        try:
            if given.stop:
                stop_table(Bench(), speaker, chosen)
                return
            show(run(Bench(), speaker, chosen, given.share, given.seed, wrongs))
        finally:
            speaker.close()
        if given.wrong:
            print("\n".join(wrongs))


if __name__ == "__main__":
    main()
