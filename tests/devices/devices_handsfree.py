"""A job done without the keyboard: the real bench on a virtual clock, a virtual engine, and a person who answers by
spoken sound alone, or by one pedal key alone."""

from __future__ import annotations

import random
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk, open_job
from firststart.cli.bench import Bench
from firststart.clock import SimulatedClock
from firststart.devices.ears import GOES_ON, DeafEars, Ears, Heard, Levels, Vocabulary
from firststart.devices.endpoint import Block
from firststart.devices.listener import Listener
from firststart.devices.mouth import SilentMouth
from firststart.devices.stage import Event, Poll
from firststart.devices.tape import Tape
from firststart.devices.trouble import Trouble
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.prompt.dialogue import PEDAL, VOICE, Act, Dialogue, hear
from firststart.prompt.expect import Expectation
from firststart.prompt.onekey import DOUBLE, SHORT
from firststart.prompt.prompt import Prompt
from firststart.rehearsal.engine import VirtualEngine
from firststart.rehearsal.kit import load_kit
from firststart.rehearsal.person import Person
from firststart.rehearsal.scenario import Scenario, load_scenario
from firststart.rehearsal.temper import Temper

CARD = ("fire-readiness", "pre-lube", "compression", "spark-proof", "leak-check", "first-crank")
"""The procedures of the job card; all other main work was done before."""

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
CALM = Temper(1.0, (0.0, 0.0), 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 99.0)
ENDLESS = 900  # answers after which a job is called stuck
PATIENCE = 8  # times the same answer is said before that is called a failure


@dataclass
class Tally:
    """What went by: answers, how often something was said or pressed for them, what was taken and not meant."""

    answers: int = 0
    said: int = 0
    pressed: int = 0
    tries: list[int] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    stops: int = 0
    given_up: str = ""


class FedEars:
    """Ears fed with sound by hand, faster than it sounds: the real listener without a microphone or a thread."""

    def __init__(self, listener: Listener, notice: Callable[[str], None] = print) -> None:
        self.listener, self._notice = listener, notice
        self._heard: list[Heard] = []
        self._trouble = Trouble()

    def start(self) -> None:
        """Nothing to start."""

    def feed(self, blocks: Iterable[Block], *, deaf: bool = False) -> None:
        """Hear these blocks now, as far as the first thing understood: what the tool answers comes before the rest."""
        for block in blocks:
            found = self.listener.feed(block, deaf)
            sentence = self._trouble.feed(block, self.listener.speaking, deaf, found is not None)
            if sentence is not None:
                self._notice(f"{sentence}; {GOES_ON}.")
            if found is not None:
                self._heard.append(found)
                return

    def listen_for(self, vocabulary: Vocabulary) -> None:
        self.listener.listen_for(vocabulary)
        self._heard.clear()

    def heard(self) -> Heard | None:
        return self._heard.pop(0) if self._heard else None

    def mute(self) -> None:
        """Never while a test speaks."""

    def unmute(self) -> None:
        """Never muted."""

    def levels(self) -> Levels:
        return self.listener.levels()

    def record(self, _tape: Tape | None) -> bool:
        return False

    def cranked(self) -> Block | None:
        return None

    def close(self) -> None:
        """Nothing to close."""


class Hands:
    """How the person gives an answer. Voice or pedal; never the keyboard."""

    def give(self, words: str, prompt: Prompt, bench: Bench, tally: Tally) -> Event | None:
        """One event that brings the answer nearer; None when what was done led to nothing yet."""
        raise NotImplementedError


class Spoken(Hands):
    """By voice: the words are said into the ears; what they make of it comes back by the bench's own polling."""

    def __init__(self, ears: FedEars, say: Callable[[str, Expectation], Iterable[Block]]) -> None:
        self.ears, self._say = ears, say

    def give(self, words: str, prompt: Prompt, bench: Bench, tally: Tally) -> Event | None:
        tally.said += 1
        self.ears.feed(self._say(words, prompt.expects))
        return None


class Pedal(Hands):
    """By one key: short presses until the wanted answer is said, then a double press."""

    def __init__(self, mouth: SilentMouth) -> None:
        self._mouth = mouth

    def give(self, words: str, prompt: Prompt, bench: Bench, tally: Tally) -> Event | None:
        tally.pressed += 1
        wanted = self._next(words, prompt.expects, bench)
        if prompt.expects.kind == "turning" or self._at_once(wanted, prompt, bench):
            return Event("pedal", SHORT, PEDAL)
        said = self._mouth.said[-1] if self._mouth.said else ""
        return Event("pedal", DOUBLE if said == wanted and bench._key.place >= 0 else SHORT, PEDAL)

    @staticmethod
    def _at_once(wanted: str, prompt: Prompt, bench: Bench) -> bool:
        offered = prompt.expects.offered()
        asked = bench.conductor.dialogue.pending is not None
        at_once = ("action", "wait", "idle", "gate", "stopped")
        return not asked and prompt.expects.kind in at_once and offered[:1] == (wanted,)

    @staticmethod
    def _next(words: str, expects: Expectation, bench: Bench) -> str:
        """What must be said next by the tool on the way to `words`."""
        if bench.conductor.dialogue.pending is not None:
            return words
        option = next((o for o in expects.options if words in (*o.phrases, o.event)), None)
        if option is not None:
            return option.phrases[0]
        if words in ("yes", "next") and expects.options:
            return expects.offered()[0]
        if expects.kind != "measure":
            return words
        value = meaning(words, expects).value
        assert value is not None
        number = f"{value.value:g}"
        typed = bench._key.typed
        rest = number[len(typed):]
        return {"": "that is all", ".": "point", "-": "minus"}.get(rest[:1], rest[:1])


class HandsfreeStage:
    """The stage of somebody who never touches the keyboard. Ends the job when `over` says so."""

    def __init__(self, hands: Hands, answer: Callable[[Prompt, str], str], over: Callable[[], bool]) -> None:
        self.hands, self._answer, self._over = hands, answer, over
        self.tally = Tally()
        self.told: list[str] = []
        self.bench: Bench | None = None
        self._words, self._for, self._tries = "", "", 0
        self._expects = Expectation("over")
        self._seen = -1

    def tell(self, line: str) -> None:
        self.told.append(line)

    def show(self, prompt: Prompt) -> None:
        self.told.append(prompt.text)

    def next_event(self, prompt: Prompt, _status: Callable[[], str], poll: Poll, /) -> Event:
        bench = self.bench
        assert bench is not None
        while True:
            event = poll()
            if event is not None:
                return event
            if self._over() or self.tally.given_up:
                return Event("gone")
            pending = bench.conductor.dialogue.pending
            words = self._say_back(pending) if pending is not None else self._wanted(prompt, bench)
            self._tries += 1
            if self._tries > PATIENCE * (40 if isinstance(self.hands, Pedal) else 1):
                self.tally.given_up = f"{words!r} at {prompt.text!r}"
            event = self.hands.give(words, prompt, bench, self.tally)
            if event is not None:
                return event

    def _wanted(self, prompt: Prompt, bench: Bench) -> str:
        """The answer to this prompt: thought of once, and then said until it is taken."""
        key = f"{bench.desk.situation.count} {prompt.text}"
        if self._seen < 0:
            self._seen = bench.desk.situation.count
        if key != self._for:
            if self._for:
                self.tally.answers += 1
                self.tally.tries.append(self._tries)
                self._look(bench)
            self._for, self._tries = key, 0
            self._words = self._answer(prompt, "")
            self._expects = prompt.expects
            if self.tally.answers > ENDLESS:
                self.tally.given_up = "endless"
        return self._words

    def _look(self, bench: Bench) -> None:
        """Was what the record took the answer that was meant?"""
        new = bench.desk.journal.read(bench.desk.job)[self._seen:]
        meant = meaning(self._words, self._expects)
        for fact in new:
            if not self._is_meant(fact, meant):
                self.tally.wrong.append(f"{self._words!r} taken as {fact}")
        self._seen += len(new)

    def _is_meant(self, fact: f.Fact, meant: Act) -> bool:
        match fact:
            case f.AnswerGiven():
                return fact.event == meant.event
            case f.ValueMeasured():
                return meant.value is not None and abs(meant.value.si - fact.value.si) <= 1e-6 * abs(meant.value.si)
            case f.CrankBegan():
                return self._words == "go"
            case f.Stopped():  # acts at the least sign of it at a step with a caution: that errs on the safe side
                self.tally.stops += 1
            case f.WentBack() | f.RepairDone():
                return False
        return True

    def _say_back(self, pending: Act) -> str:
        """At a read-back: yes when it is what was meant, else no."""
        meant = meaning(self._words, self._expects)
        same = meant.event == pending.event if pending.value is None else meant.value is not None and (
            abs(meant.value.si - pending.value.si) <= 1e-9 + 1e-6 * abs(meant.value.si)
        )  # fmt: skip
        return "yes" if same else "no"


def meaning(words: str, expects: Expectation) -> Act:
    """What words mean when they are heard as they are."""
    state, act = hear(Dialogue(), words, expects, VOICE)
    return act if state.pending is None else state.pending


class Player:
    """The person and the engine behind a hands-free stage."""

    def __init__(self, rules: Rules, seed: int = 1) -> None:
        kit = load_kit(SCENARIOS)
        self.scenario: Scenario = load_scenario(Path(__file__).with_name("handsfree.yaml"), kit.conditions)
        self.clock, self.journal = SimulatedClock(), MemoryJournal()
        self.desk = open_job(rules, self.journal, self.clock, i.Open("job", "green single", "test", "yard"))
        told_before(self.desk, self.scenario)
        given = self.scenario.given
        self.engine = VirtualEngine.of(self.scenario.truth, given.hidden, kit.conditions, kit.repairs, seed, True)
        self.person = Person(self.scenario, self.engine, random.Random(seed), CALM)
        self.meant: list[str] = []

    def answer(self, prompt: Prompt, asked: str) -> str:
        """What the person does and says about a prompt, on the virtual clock."""
        if prompt.expects.kind == "turning":
            self.engine.turn(self.person.pressing)
            self.clock.sleep(self.person.pressing)
            return "it stands"
        move = self.person.answer(self.desk, prompt, asked)
        self.clock.sleep(move.seconds)
        return move.words

    def over(self) -> bool:
        """Is the whole card done?"""
        return all(name in self.desk.situation.ended for name in CARD)

    def facts(self) -> tuple[f.Fact, ...]:
        return self.journal.read("job")

    def bench(self, stage: HandsfreeStage, mouth: SilentMouth, ears: Ears | None = None) -> Bench:
        """The real bench, with this stage."""
        bench = Bench(self.desk, stage, mouth, ears or DeafEars(), Adviser(self.desk.rules, None), threading.Event())
        stage.bench = bench
        return bench


def told_before(desk: Desk, scenario: Scenario) -> None:
    """Add to a new job the profile, and all main work up to the first crank but that of the card, as told."""
    at, library = desk.clock.now(), desk.rules.library
    told = scenario.told
    facts: list[f.Fact] = [f.ProfileNoted(at=at, field=name, word=word) for name, word in told.words.items()]
    facts += [f.ProfileNoted(at=at, field=name, number=number) for name, number in told.numbers.items()]
    order = list(library.stages)
    before = order.index("first-crank")
    for procedure in library.applicable(desk.rules.profile(told).words):
        if procedure.line != "main" or procedure.id in CARD or order.index(procedure.stage) > before:
            continue
        name = next((n for n, r in procedure.results.items() if r.outcome == "ok"), None)
        if name is None:
            continue
        result, run = procedure.results[name], desk.situation.started_runs + len(facts)
        digest = library.digests.get(procedure.id, "")
        facts.append(f.RunStarted(at=at, run=run, procedure=procedure.id, digest=digest, why="told"))
        facts += [f.HoldMet(at=at, hold=h, by=procedure.id) for h in result.establishes if h != "ignition-dead"]
        facts.append(f.RunEnded(at=at, run=run, procedure=procedure.id, result=name, outcome="ok", say=result.say))
    desk.journal.append(desk.job, desk.situation.count, facts)
    for fact in facts:
        desk.situation = fold(desk.situation, fact)

