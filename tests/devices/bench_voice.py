"""How well the ears understand: voice kind, noise kind and signal-to-noise against right, asked, wrong, and delay.

    python tests/devices/bench_voice.py                 all voices found here, the usual noises
    python tests/devices/bench_voice.py --recordings DIR   your own recordings: DIR/VOICE/some-phrase.wav
    python tests/devices/bench_voice.py --bars          every bar in one table; --share 0.3 for a third of it
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
import sys
import tempfile
import time
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bench_sounds import LEAD, NOISES, RATE, Floats, Speaker, Voice, blocks, mixed, voices
from bench_stop import stop_table

from firststart.devices.ears import NUMBER, Heard, Zone
from firststart.devices.hearable import hearable
from firststart.devices.listener import ClosedRecogniser, Listener, voice_detector
from firststart.devices.moonshine import Moonshine
from firststart.devices.shout import Shout
from firststart.errors import InputError
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.numbers import hear_number, say_digits
from firststart.units import find_unit


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


# -- the measurement -----------------------------------------------------------------------------------------


@dataclass
class Count:
    """What became of the utterances of one line of the table. `refused`: what the ears made of the no after a wrong
    read-back; a yes there is a wrong answer accepted."""

    outcomes: Counter[str]
    delays: list[float]
    twice: list[bool]
    refused: Counter[str] = field(default_factory=Counter)

    def __add__(self, other: Count) -> Count:
        return Count(self.outcomes + other.outcomes, self.delays + other.delays, self.twice + other.twice,
                     self.refused + other.refused)  # fmt: skip


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
        watch = voice_detector()
        self.listener = Listener(
            ClosedRecogniser(model), voice_detector(), clock=time.process_time, shout=Shout(watch, watch.reset)
        )

    def hear(
        self, expects: Expectation, samples: Floats, end: float = 0.0, about: str = "", confirming: bool = False
    ) -> list[tuple[Heard, float]]:
        """What is heard, each with its delay in seconds after the second `end` of the sound."""
        self.listener.listen_for(hearable(expects, confirming=confirming, about=about))
        found = []
        for index, block in enumerate(blocks(samples)):
            began = time.process_time()
            heard = self.listener.feed(block)
            if heard is not None:
                found.append((heard, (index + 1) * 512 / RATE + time.process_time() - began - end))
        return found


GROUPS = {"espeak": "formant", "flite": "learnt", "festival": "learnt", "recorded": "natural"}
"""Kinds of voice: made by rule; cut or learnt from a person's recordings by older methods; recordings of people, or
neural voices."""

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


@dataclass(frozen=True)
class Said:
    """One thing said in one condition."""

    voice: Voice
    expects: Expectation
    phrase: str
    name: str
    noise: str | None
    ratio: float
    room: bool
    seed: int

    def sound(self, speaker: Speaker, words: str, attempt: int) -> tuple[Floats, float] | None:
        """(the sound of `words` here, the second in which they end)."""
        speech = speaker.say(self.voice, words)
        if speech is None:
            return None
        key = f"{self.seed}|{self.name}|{self.voice}|{words}|{attempt}"
        rng = np.random.default_rng(list(key.encode()))
        return mixed(speech, self.noise, self.ratio, rng, self.room), LEAD + len(speech) / RATE


def _one(bench: Bench, speaker: Speaker, said: Said, talk: bool, table: dict, wrongs: list[str]) -> None:
    """Say it; where it is read back wrongly say no, and say it again as the tool asks: a number digit by digit."""
    wanted, count = wanted_text(said.phrase, said.expects), table[said.name, said.voice.kind, talk]
    about, words, tries = f"{said}", said.phrase, []
    for attempt in (0, 1):
        sound = said.sound(speaker, words, attempt) or said.sound(speaker, said.phrase, attempt)
        if sound is None:
            return
        found = bench.hear(said.expects, *sound, about=about)
        heard = [h for h, _ in found]
        tries.append(outcome(heard, wanted, said.expects))
        if attempt == 0:
            count.outcomes[tries[0]] += 1
            if heard and not talk:
                count.delays.append(found[0][1])
            if tries[0] in ("wrong", "asked wrong") and (tries[0] == "wrong" or not talk):
                wrongs.append(f"{tries[0]:11} {said.name:14} {said.voice.name:20} {said.phrase!r} -> {heard[0].text!r} "
                              f"gap {heard[0].gap:.1f} margin {heard[0].margin:.1f}")  # fmt: skip
        if talk or tries[-1] in ("right", "asked", "wrong"):
            break
        if tries[-1] == "asked wrong":
            count.refused[_refuse(bench, speaker, said, about, attempt)] += 1
            words = digits(wanted, said.expects) or words
    count.twice.append(tries[-1] in ("right", "asked"))


def _refuse(bench: Bench, speaker: Speaker, said: Said, about: str, attempt: int) -> str:
    """What the ears take the no after a wrong read-back for: no, yes, or nothing sure."""
    sound = said.sound(speaker, "no", attempt)
    found = bench.hear(said.expects, *sound, about=about, confirming=True) if sound else []
    sure = [heard.meaning for heard, _ in found if heard.zone is Zone.ACCEPT]
    return sure[0] if sure and sure[0] in ("yes", "no") else "unsure"


def digits(wanted: str, expects: Expectation) -> str:
    """A reading said digit by digit, as the tool asks after a refusal; "" for an answer that is no number."""
    if expects.kind != "measure" or not wanted.lstrip("-")[:1].isdigit():
        return ""
    number, _, unit = wanted.partition(" ")
    return f"{say_digits(number)} {find_unit(unit, expects.quantity).spoken if unit else ''}".strip()


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
                _one(bench, speaker, Said(voice, expects, phrase, name, noise, ratio, room, seed), talk, table, wrongs)
        print(f"  {index + 1}/{len(CONDITIONS)} {name}: {time.monotonic() - began:.0f} s", file=sys.stderr)
    return table


def show(table: dict) -> None:
    """Print the tables."""
    print(f"{'condition':16}{'voices':10}{'n':>5}{'right':>8}{'asked':>8}{'2 tries':>9}{'ask wrong':>11}{'WRONG':>8}"
          f"{'nothing':>9}{'talk n':>8}{'talk taken':>12}{'talk asked':>12}{'delay ms 50/95':>16}")
    totals: dict[tuple[str, bool], Count] = defaultdict(lambda: Count(Counter(), [], []))
    for (name, kind, talk), count in table.items():
        group = GROUPS.get(kind, kind)
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


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--recordings", type=Path, help="a folder of recordings, VOICE/some-phrase.wav")
    parser.add_argument("--cache", type=Path, help="keep the synthesised speech here for the next run")
    parser.add_argument("--share", type=float, default=1.0, help="say only this share of the phrases, 0 to 1")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", help="only voices whose kind or name contains this")
    parser.add_argument("--noise", help="only conditions whose name contains this")
    parser.add_argument("--stop", action="store_true", help="measure stopping a crank by voice instead")
    parser.add_argument("--bars", action="store_true", help="measure every bar of hands-free work, in one table")
    parser.add_argument("--keep", type=Path, metavar="FILE", help="with --bars: keep each part here, and go on from it")
    parser.add_argument("--most", type=float, default=1e9, metavar="SECONDS", help="with --bars: stop after this time")
    parser.add_argument("--minutes", type=float, default=60.0, help="with --bars: how long noise and talk go on")
    parser.add_argument("--wrong", action="store_true", help="list what was misheard")
    given = parser.parse_args()
    if given.noise:
        CONDITIONS[:] = [c for c in CONDITIONS if given.noise in c[0]]
    with tempfile.TemporaryDirectory() as folder:
        speaker = Speaker(given.cache or Path(folder), given.recordings)
        chosen = [v for v in voices(given.recordings) if not given.only or given.only in f"{v.kind} {v.name}"]
        wrongs: list[str] = []
        try:
            if given.bars:
                from bench_bars import bars  # it imports this file

                bars(Bench(), speaker, chosen, given)
            elif given.stop:
                stop_table(Bench().listener, speaker, chosen)
            else:
                show(run(Bench(), speaker, chosen, given.share, given.seed, wrongs))
        finally:
            speaker.close()
        if given.wrong:
            print("\n".join(wrongs))


if __name__ == "__main__":
    main()
