"""The bars of hands-free work, measured and printed in one table: `python tests/devices/bench_voice.py --bars`.

What is understood, what is wrongly taken after a read-back, what an hour of noise and garage talk leads to, and how
long everything takes. Three kinds of voice are told apart: natural ones (recordings of people, or a neural voice, given
with --recordings), on which the bars lie; voices cut or learnt from recordings by older methods (flite, festival); and
formant voices, made by rule (espeak). All noise is synthesised. With --keep FILE each part is kept when it is done, and
the next run goes on from there; --most SECONDS ends a run early.
"""

from __future__ import annotations

import argparse
import json
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import bench_voice as voice
import numpy as np
from bench_sounds import NOISES, RATE, SPEECH, Floats, Speaker, Voice, blocks
from bench_stop import Stops, for_nothing, stops
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
    holds: bool | None  # None: no bar, or not measured, or not enough

    def line(self) -> str:
        open_bar = "" if self.wanted == "-" else "not enough measured"
        says = {True: "holds", False: "DOES NOT HOLD", None: open_bar}[self.holds]
        return f"{self.name:74}{self.wanted:>16}  {self.measured:40}{says}"


Parts = dict[str, Any]
"""What was measured so far, by the name of the part."""

RATIO = 10.0  # decibels at which answers are measured
STOPS = ((10, False), (10, True), (5, False), (5, True), (0, False), (0, True))
HOUR_PART = 3.0  # minutes of noise and talk measured at a time


def bars(bench: Any, speaker: Speaker, chosen: list[Voice], given: argparse.Namespace) -> None:
    """Measure part by part, then print the table of what was measured."""
    parts: Parts = json.loads(given.keep.read_text()) if given.keep and given.keep.exists() else {}
    end = time.monotonic() + given.most
    for name, measure in _to_measure(bench, speaker, chosen, given):
        if name in parts:
            continue
        if time.monotonic() > end:
            print(f"{name} and what follows is left for the next run", file=sys.stderr)
            break
        began = time.monotonic()
        parts[name] = measure()
        print(f"{name}: {time.monotonic() - began:.0f} s", file=sys.stderr, flush=True)
        if given.keep:
            given.keep.write_text(json.dumps(parts))
    show(_bars(parts, chosen))


def _to_measure(
    bench: Any, speaker: Speaker, chosen: list[Voice], given: argparse.Namespace
) -> Iterator[tuple[str, Callable[[], Any]]]:
    """Every part with its name: natural voices, the hour, stopping a crank, then the other voices."""
    yield from _answers(bench, speaker, [v for v in chosen if voice.GROUPS[v.kind] == "natural"], given)
    people = [each for each in chosen if voice.GROUPS[each.kind] != "formant"] or chosen
    for part in range(round(given.minutes / HOUR_PART)):
        yield f"hour {part}", lambda p=part: asdict(
            hour(bench.listener, speaker, people, voice.TALK, HOUR_PART, seed=p)
        )
    for ratio, counting in STOPS:
        yield f"stop {ratio} {counting}", lambda r=ratio, c=counting: {
            group: asdict(stops(bench.listener, speaker, of, r, counting=c))
            for group, of in _grouped(chosen).items()
        }  # fmt: skip
    yield "stopped for nothing", lambda: [for_nothing(bench.listener, speaker, 10.0, counting=c, late=0.0)
                                          for c in (False, True)]  # fmt: skip
    for group in ("learnt", "formant"):
        yield from _answers(bench, speaker, [v for v in chosen if voice.GROUPS[v.kind] == group], given)


def _answers(
    bench: Any, speaker: Speaker, of: list[Voice], given: argparse.Namespace
) -> Iterator[tuple[str, Callable[[], Any]]]:
    """What is answered, a part for each noise and voice."""
    for noise in NOISES:
        for each in of:
            yield f"said {voice.GROUPS[each.kind]} {each.name} {noise}", lambda v=each, n=noise: _said(
                bench, speaker, v, n, given
            )


def _grouped(chosen: list[Voice]) -> dict[str, list[Voice]]:
    found: dict[str, list[Voice]] = {}
    for each in chosen:
        found.setdefault(voice.GROUPS[each.kind], []).append(each)
    return found


def _said(bench: Any, speaker: Speaker, each: Voice, noise: str, given: argparse.Namespace) -> dict[str, Any]:
    """Every answer of the steps by one voice in one noise."""
    table: dict = defaultdict(lambda: voice.Count(Counter(), [], []))
    picker, wrongs = random.Random(f"{given.seed} {each} {noise}"), []
    for expects, phrase in voice.utterances(False):
        if picker.random() <= given.share:
            said = voice.Said(each, expects, phrase, f"{noise} {RATIO:g}", noise, RATIO, False, given.seed)
            voice._one(bench, speaker, said, False, table, wrongs)
    total = sum(table.values(), voice.Count(Counter(), [], []))
    return {"outcomes": total.outcomes, "refused": total.refused, "twice": [bool(x) for x in total.twice],
            "delays": [round(float(x), 3) for x in total.delays], "wrongs": wrongs}  # fmt: skip


def _bars(parts: Parts, chosen: list[Voice]) -> list[Bar]:
    """The lines of the table, from the parts that were measured."""
    out: list[Bar] = []
    everything = [part for name, part in parts.items() if name.startswith("said ")]
    for group in ("natural", "learnt", "formant"):
        said = [part for name, part in parts.items() if name.startswith(f"said {group} ")]
        twice = [ok for part in said for ok in part["twice"]]
        if twice:
            share = 100 * float(np.mean(twice))
            out.append(Bar(f"{group} voices at 10 dB, understood within two tries",
                           ">= 95 %" if group == "natural" else "-", f"{share:.1f} % of {len(twice)}",
                           share >= 95 if group == "natural" else None))  # fmt: skip
    if everything:
        out += _after_read_back(everything)
    told = [Hour(**part) for name, part in parts.items() if name.startswith("hour ")]
    if told:
        people = sum(voice.GROUPS[each.kind] != "formant" for each in chosen)
        out.append(hour_bar(told, HOUR_PART * len(told), people))
    for name, part in parts.items():
        if name.startswith("stop "):
            out += _stop_bars(name, part)
    for name, (count, of) in zip(("no count", "the count aloud"), parts.get("stopped for nothing", ()), strict=False):
        out.append(Bar(f"cranks stopped where nobody speaks, {name}", "-", f"{count} of {of}", None))
    return [*out, interruption_bar()]


def _after_read_back(said: list[dict[str, Any]]) -> list[Bar]:
    first = sum((Counter(part["outcomes"]) for part in said), Counter())
    refused = sum((Counter(part["refused"]) for part in said), Counter())
    delays = 1000 * np.array([delay for part in said for delay in part["delays"]])
    return [
        Bar("wrong accepted after the read-back", "0 of 2,000",
            f"{refused['yes']} of {sum(first.values())}, {sum(refused.values())} wrong read-backs",
            False if refused["yes"] else True if sum(first.values()) >= 2000 else None),
        Bar("wrong accepted at once, answers that no safety hangs on", "-",
            f"{first['wrong']} of {sum(first.values())}", None),
        Bar("end of speech to understood, median", "<= 500 ms",
            f"{np.median(delays):.0f} ms, 95 of 100 in {np.percentile(delays, 95):.0f}",
            bool(np.median(delays) <= 500)),
    ]  # fmt: skip


def _stop_bars(name: str, part: dict[str, Any]) -> list[Bar]:
    _, ratio, counting = name.split()
    out = []
    for group, each in part.items():
        told = Stops(**each)
        if told.delays:
            what = f"stop, {group} voices {ratio} dB over the starter{', count aloud' * (counting == 'True')}"
            bar = group == "natural" and int(ratio) >= 5  # beyond it: as far as physics allows
            got = f"{told.in_time:.0f} % of {len(told.delays)} in 0.3 s, median {1000 * told.median:.0f} ms"
            out.append(Bar(what, ">= 95 %" if bar else "-", got, told.in_time >= 95 if bar else None))
    return out


def show(bars: list[Bar]) -> None:
    """Print the table."""
    print(f"{'bar':74}{'wanted':>16}  {'measured':40}")
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


def hour(
    listener: Listener, speaker: Speaker, voices: list[Voice], talk: tuple[str, ...], minutes: float, seed: int = 0
) -> Hour:
    """Noise and garage talk into a step that begins a crank, and into one that meets a hold point, half and half.

    The dialogue of the bench stands behind the ears, so that an accident would need the answer and then its yes.
    """
    told, rng = Hour(), np.random.default_rng([5, seed])
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


def hour_bar(told: list[Hour], minutes: float, voices: int) -> Bar:
    """The line of the table; it holds only when answers that were meant were heard too."""
    total = Hour(*(sum(column) for column in zip(*(asdict(each).values() for each in told), strict=True)))
    return Bar(
        f"{minutes:.0f} minutes of noise and {total.sentences} sentences of talk: cranks, hold points", "0",
        f"{total.taken} ({total.asked} asked, {total.stops} stops; {total.alive} of {2 * voices * len(told)} heard)",
        total.taken == 0 and total.alive >= voices * len(told),
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

