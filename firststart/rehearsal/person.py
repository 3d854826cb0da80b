"""The virtual person: hears a prompt, does what it asks, and answers in words, as somebody at the bench would.

It is told nothing but prompts, and looks at the engine only through `VirtualEngine.look`, `read` and the ears. Of the
step behind a prompt it takes the name of what is to be seen or measured, as a person would take it from the words.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from firststart.bench.desk import Desk
from firststart.machine.table import State
from firststart.prompt.dialogue import KEYS, VOICE
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt
from firststart.rehearsal.answers import ANSWERS, Asked, Memory
from firststart.rehearsal.engine import VirtualEngine
from firststart.rehearsal.firing import Answer
from firststart.rehearsal.scenario import Scenario
from firststart.rehearsal.sight import Word
from firststart.rehearsal.speaking import misread, plain, spoken, tidy
from firststart.rehearsal.temper import TEMPERS, Temper
from firststart.rehearsal.which import branches, by_fault, by_words, fitting, named
from firststart.units import Measured, from_si, measured

CANNOT = "cannot measure"
LOOK_S, READ_S, SAY_S = 8.0, 20.0, 3.0  # a look, a reading, a word
SHELF = {  # what this person has on the shelf: figures off labels, SI (common practice, no source)
    "oil-winter": 10.0, "oil-grade": 40.0, "leak-down.restrictor": 1.016e-3, "leak-down.supply": 552e3,
}  # fmt: skip
READY = {"manual": "at-hand"}  # what a ready person says where a scenario tells nothing else
_POUR = re.compile(r"put (\d+(?:\.\d+)?) ml ", re.IGNORECASE)
_SET = re.compile(r"set (\d+(?:\.\d+)?) to (\d+(?:\.\d+)?) (mm|in|thou)", re.IGNORECASE)
TIRED = 2  # offers of the same unfinished work after which something else is asked for
PLAIN = frozenset({"firing", "cranking", "hand.turn", "stop.look"})  # nobody mistakes these
ASIDES = ("why", "say again", "how long", "status")
VAIN = 4  # times the same gate or wait is met in one work before it is left
GIVES_UP = 6  # and after which the person gives up


@dataclass(frozen=True)
class Move:
    """What the person does: work for so many seconds, then say `words`."""

    seconds: float
    words: str
    channel: str = VOICE


@dataclass
class Person:
    """One person at one scenario."""

    scenario: Scenario
    engine: VirtualEngine
    rng: random.Random
    temper: Temper
    unmodelled: set[str] = field(default_factory=set)  # observables and readings that nothing answers
    unmatched: set[str] = field(default_factory=set)  # answers for which the step has no words
    pressing: float = 0.0  # seconds that the starter will be pressed once "go" is taken
    trying: bool = False  # and whether that is a try to start
    sleepy: bool = False  # said "finish for today" because the day was long
    _today: float = 0.0  # seconds since this day's work began
    _reading: Measured | None = None
    _memories: dict[int, Memory] = field(default_factory=dict)
    _offers: dict[object, int] = field(default_factory=dict)
    _worked: int = 0  # actions done so far
    _bothered: int = 0
    _advice: str = ""  # the tool's last advice to mend something
    _measure_ml: float = 0.0  # the amount last told to be poured
    _set_to: float | None = None  # SI, the middle of the band last told: "Set 0.55 to 0.65 mm"

    @classmethod
    def of(cls, scenario: Scenario, engine: VirtualEngine, seed: int) -> Person:
        """The person that a scenario describes."""
        return cls(scenario, engine, random.Random(f"person {seed}"), TEMPERS[scenario.when.person])

    def answer(self, desk: Desk, prompt: Prompt, asked: str) -> Move:
        """What to do about `prompt`; `asked` is a read-back that waits for a yes, or empty."""
        if asked:
            return self._confirm(prompt.expects)
        aside = self._aside(prompt.expects)
        if aside is not None:
            return aside
        self._listen(prompt)
        return getattr(self, f"_at_{prompt.expects.kind}")(desk, prompt)  # type: ignore[no-any-return]

    def _listen(self, prompt: Prompt) -> None:
        """Do what an instruction says, as far as doing it changes the engine."""
        if prompt.expects.kind in ("action", "choice", "crank", "wait"):
            self.engine.told(prompt.text)
        poured = _POUR.search(prompt.text)
        if poured:
            self._measure_ml = float(poured[1])

    def hear(self, sentences: tuple[str, ...]) -> None:
        """What the tool said before the prompt: a band that something is to be set to is kept in mind."""
        for sentence in sentences:
            self.engine.told(sentence)
            band = _SET.search(sentence)
            if band:
                low, high = (measured(float(band[n]), band[3], "length").si for n in (1, 2))
                self._set_to = (low + high) / 2

    def work(self, seconds: float) -> None:
        """Time goes by at the bench."""
        self._today += seconds

    def wake(self) -> None:
        """A new day."""
        self.sleepy, self._today = False, 0.0

    def _running_well(self) -> bool:
        """An engine that runs is not left for the night."""
        last = self.engine.sight.last_try
        return last is not None and last.runs

    # between answers ------------------------------------------------------------------------------------

    def _aside(self, expects: Expectation) -> Move | None:
        """A question, a mumble, or a step back now and then; never twice in a row, never while cranking."""
        if expects.kind in ("turning", "over", "crank") or self._bothered:
            self._bothered = 0
            return None
        roll = self.rng.random()
        for chance, words in (
            (self.temper.mumbles, "er hang on"), (self.temper.asks, self.rng.choice(ASIDES)),
            (self.temper.goes_back if expects.kind in ("choice", "measure", "action") else 0.0, "go back"),
        ):
            if roll < chance:
                self._bothered = 1
                return Move(SAY_S, words)
            roll -= chance
        return None

    def _confirm(self, expects: Expectation) -> Move:
        """At a read-back: a misread number is noticed, or not."""
        if self._reading is not None and self.rng.random() < self.temper.catches:
            right, self._reading = self._reading, None
            return Move(READ_S / 2, spoken(right, expects), VOICE)
        return Move(SAY_S, "yes")

    # kinds of prompt ------------------------------------------------------------------------------------

    def _at_idle(self, desk: Desk, prompt: Prompt) -> Move:
        if not prompt.offer:
            return Move(SAY_S, "finish for today")
        if self._today > self.temper.day * 3600 and not self._running_well():
            self.sleepy = True
            return Move(SAY_S, "finish for today")
        self._advice = prompt.text if prompt.text.lower().startswith("mend ") else ""
        offer = (prompt.offer, frozenset((e.procedure, e.result) for e in desk.situation.ended.values()))
        offers = self._offers[offer] = self._offers.get(offer, 0) + 1
        others = any(o.event == "other" for o in prompt.expects.options)
        if offers > GIVES_UP:
            return Move(SAY_S, "finish for today")
        return Move(SAY_S, "something else" if offers > TIRED and offers % 2 and others else "yes")

    def _at_stopped(self, _desk: Desk, _prompt: Prompt) -> Move:
        return Move(self.rng.uniform(60, 300), "carry on")

    def _at_gate(self, desk: Desk, prompt: Prompt) -> Move:
        offered = {o.event for o in prompt.expects.options}
        if self._in_vain(desk, prompt.text):
            return Move(SAY_S, "leave it")
        if self.rng.random() < self.temper.jumps and not self._bothered:
            self._bothered = 1
            return Move(SAY_S, "go")
        if "fetch" in offered:
            return Move(SAY_S, "yes")
        if "meanwhile" in offered and prompt.rest_s > 45 and self.rng.random() < self.temper.fills_rests:
            return Move(SAY_S, "meanwhile")
        return Move(max(prompt.rest_s + 1, SAY_S), "next")

    def _in_vain(self, desk: Desk, text: str) -> bool:
        """Has this run been asked the same so often that it leads nowhere?"""
        memory = self._memory(desk)
        memory.times[text] = memory.times.get(text, 0) + 1
        return memory.times[text] > VAIN

    def _at_wait(self, desk: Desk, prompt: Prompt) -> Move:
        if prompt.wait_s <= 0 and self._in_vain(desk, prompt.text):
            return Move(SAY_S, "leave it")
        return Move(prompt.wait_s + 1, "next")

    def _at_action(self, desk: Desk, _prompt: Prompt) -> Move:
        self._worked += 1
        return Move(self._work_seconds(desk), "done")

    def _at_choice(self, desk: Desk, prompt: Prompt) -> Move:
        state = state_now(desk)
        options = prompt.expects.options
        if prompt.big == "which work":
            return self._other_work(options)
        if state is None or state.step is None:
            return self._pick(SAY_S, options[0])
        step = state.step
        seconds = self._work_seconds(desk) if step.observe else self._work_seconds(desk) / 2
        if step.sets:
            return self._pick(LOOK_S, self._told(step.sets, options))
        if step.observe:
            return self._pick(seconds, self._see(desk, step.observe, state.cylinder, options))
        return self._pick(seconds, self._other_choice(desk, state, options))

    def _memory(self, desk: Desk) -> Memory:
        """What this run has told so far."""
        run = desk.situation.run
        return self._memories.setdefault(run.run if run else 0, Memory())

    def _other_work(self, options: tuple[Option, ...]) -> Move:
        """From the list of work: what was offered least often."""
        least = min(options, key=lambda o: self._offers.get(o.event, 0))
        self._offers[least.event] = self._offers.get(least.event, 0) + 1
        return Move(LOOK_S, str(options.index(least) + 1), KEYS)

    def _other_choice(self, desk: Desk, state: State, options: tuple[Option, ...]) -> Option:
        """A choice that tells nothing of a fault: another cylinder, one's own doing, else what a ready person says."""
        procedure, memory = _running(desk), self._memory(desk)
        if state.name.startswith("more-"):
            more = (state.cylinder or 1) < self.engine.body.cylinders
            return named("yes" if more else "no", options) or options[0]
        memory.times[state.step_id] = memory.times.get(state.step_id, 0) + 1
        if state.step_id == "another":
            self.engine.sight.coil = memory.times[state.step_id] + 1
        known = ANSWERS.get((procedure, state.step_id))
        if known is None:
            return self._which(desk, state, options) or options[0]
        asked = Asked(memory, self.engine.body, self.rng, state.cylinder, _verdicts(desk))
        return named(known(asked), options) or options[0]

    def _which(self, desk: Desk, state: State, options: tuple[Option, ...]) -> Option | None:
        """Where answers lead to different repairs: the one that was advised, else the one that is seen to be needed."""
        found = branches(desk.rules.table(_running(desk), desk.situation), state.name)
        if not found:
            return None
        leading = tuple(o for o in options if found.get(o.event))
        done = by_fault(found, self.engine.repairs_of(self._memory(desk).mended), leading)
        if done is not None:
            return done
        advised = by_words(self._advice, leading) if self._advice else None
        return advised or by_fault(found, self.engine.needed(), leading)

    def _told(self, name: str, options: tuple[Option, ...]) -> Option:
        """What the person knows of the profile."""
        word = self.scenario.told.word(name) or READY.get(name, "unknown")
        return named(word, options) or named("unknown", options) or options[-1]

    def _see(self, desk: Desk, name: str, cylinder: int | None, options: tuple[Option, ...]) -> Option:
        """The option that fits what is seen; now and then its neighbour."""
        memory = self._memory(desk)
        if self._worked_on(desk, name, cylinder):
            memory.mended |= {p.name for p in self.engine.rework(name, cylinder)}
        option = self._judge(name, self.engine.look(name, cylinder), options)
        memory.seen.setdefault(name, set()).add(option.event)
        return option

    def _judge(self, name: str, seen: Word, options: tuple[Option, ...]) -> Option:
        if seen is None:
            return options[0]
        fits = fitting(seen, options)
        if fits is None:
            other = named("something-else", options) or named("not-sure", options)
            if other is None:
                self.unmatched.add(f"{name}: {seen}")
            return other or options[0]
        if len(options) > 1 and name not in PLAIN and self.rng.random() < self.temper.slip:
            at = options.index(fits)
            return options[at + 1] if at + 1 < len(options) else options[at - 1]
        return fits

    def _worked_on(self, desk: Desk, name: str, cylinder: int | None) -> bool:
        """Was this asked before in the same work, and has work been done since, or does another step ask it now?"""
        memory, state = self._memory(desk), state_now(desk)
        now = (self._worked, state.step_id if state else "")
        before = memory.worked.get((name, cylinder), now)
        memory.worked[(name, cylinder)] = now
        return before != now

    def _pick(self, seconds: float, option: Option) -> Move:
        channel = KEYS if self.rng.random() < self.temper.types else VOICE
        return Move(seconds, option.phrases[0], channel)

    def _at_measure(self, desk: Desk, prompt: Prompt) -> Move:
        state = state_now(desk)
        expects = prompt.expects
        seconds = max(self._work_seconds(desk), READ_S)
        lacking = expects.name in self.scenario.given.lacking
        if state is None or state.step is None or state.step.measure is None or lacking:
            return Move(SAY_S, CANNOT)
        sets = state.step.sets
        if not sets:
            self._readjust(desk, expects.name, state.cylinder)
        value = self._known(sets, expects) if sets else self._read(expects, state, state.step.measure.resolution)
        if value is None:
            return Move(LOOK_S, CANNOT)
        return self._say_number(seconds if not sets else LOOK_S, value, expects)

    def _known(self, name: str, expects: Expectation) -> Measured | None:
        """A figure of the profile as the person knows it, in the unit asked for."""
        known = self.scenario.told.numbers.get(name)
        return None if known is None else tidy(from_si(known.si, expects.unit, expects.quantity), None)

    def _read(self, expects: Expectation, state: State, resolution: float | None) -> Measured | None:
        si = self._from_shelf(expects.name)
        if si is None:
            si = self.engine.read(expects.name, expects.quantity, state.cylinder)
        if si is None:
            self.unmodelled.add(expects.name)
            return None
        shown = tidy(from_si(si, expects.unit, expects.quantity), resolution)
        if not expects.low <= shown.value <= expects.high:
            shown = measured(min(max(shown.value, expects.low), expects.high), expects.unit, expects.quantity)
        return shown

    def _readjust(self, desk: Desk, name: str, cylinder: int | None) -> None:
        """A gap that is measured again after work was set to what was told meanwhile."""
        if self._worked_on(desk, name, cylinder) and self._set_to is not None:
            self.engine.adjust(name, cylinder, self._set_to)

    def _from_shelf(self, name: str) -> float | None:
        """Figures that come from a label or from what was poured, not from the engine."""
        if name == "oil-poured":
            return self._measure_ml * 1e-6
        return SHELF.get(name)

    def _say_number(self, seconds: float, value: Measured, expects: Expectation) -> Move:
        said = value
        if self.rng.random() < self.temper.misread:
            wrong = misread(value, self.rng)
            if expects.low <= wrong.value <= expects.high and wrong != value:
                self._reading, said = value, wrong
        if self.rng.random() < self.temper.types:
            return Move(seconds, f"{plain(said.value)} {said.unit}".strip(), KEYS)
        return Move(seconds, spoken(said, expects), VOICE)

    def _at_crank(self, desk: Desk, prompt: Prompt) -> Move:
        """Press the starter for as long as the step asks, or until it fires; some hold it too long."""
        limit = prompt.expects.high
        purpose = _purpose(desk)
        heard = Answer("silent")
        seconds = limit
        if purpose == "start":
            turning, heard = self.engine.try_to_start()
            seconds = min(limit, heard.after) if heard.runs else limit if turning.turns else min(limit, 1.5)
        elif not self.engine.sight.turning().turns:
            seconds = min(limit, 1.5)
        elif purpose == "compression":
            seconds = min(limit, 5 * 2 / self.engine.sight.turning().rps + 0.8)
        if not heard.runs and self.rng.random() < self.temper.long_crank:
            seconds += self.rng.uniform(*self.temper.over_run)
        self.pressing, self.trying = max(seconds, 0.5), purpose == "start"
        return Move(SAY_S, "go")

    def _at_turning(self, _desk: Desk, _prompt: Prompt) -> Move:
        return Move(0.5, "it stands")

    # time -----------------------------------------------------------------------------------------------

    def _work_seconds(self, desk: Desk) -> float:
        """Seconds that this step takes: the minutes of the procedure, shared out over its steps."""
        run = desk.situation.run
        if run is None:
            return LOOK_S
        procedure = desk.rules.library.procedures[run.procedure]
        steps = sum(1 for s in procedure.steps.values() if s.crank is None and s.wait is None and not s.judge)
        each = procedure.minutes * 60 / max(steps, 1)
        return max(2.0, each * self.temper.pace * self.rng.uniform(0.7, 1.3))


def state_now(desk: Desk) -> State | None:
    """The state of the machine that the prompt speaks of."""
    run = desk.situation.run
    if run is None:
        return None
    return desk.rules.table(run.procedure, desk.situation).states.get(run.state)


def _purpose(desk: Desk) -> str:
    """What the crank that is asked for is for: spin, compression or start."""
    state = state_now(desk)
    step = state.step if state is not None else None
    return step.crank.purpose if step is not None and step.crank is not None else "spin"


def _verdicts(desk: Desk) -> Callable[[str, int | None], str]:
    """What was said of the newest reading of a name (and cylinder)."""

    def verdict(name: str, cylinder: int | None) -> str:
        read = desk.situation.readings.get((name, cylinder))
        return read.judged.word if read is not None and read.judged is not None else ""

    return verdict


def _running(desk: Desk) -> str:
    """The procedure on top."""
    return desk.situation.run.procedure if desk.situation.run else ""
