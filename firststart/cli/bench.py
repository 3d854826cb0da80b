"""`firststart`: the bench. A new job or carry on; the whole main job by voice, pedal or keys."""

from __future__ import annotations

import argparse
import contextlib
import math
import os
import signal
import threading
from collections.abc import Iterator
from dataclasses import replace

from firststart.bench.advice import Adviser
from firststart.bench.byear import Overheard
from firststart.bench.conductor import Conductor, Reply
from firststart.bench.desk import Desk
from firststart.bench.interpreter import Interpreter
from firststart.bench.shop import book_of
from firststart.cli.byear import overheard
from firststart.cli.common import load_rules, open_record, read_settings, wall_clock
from firststart.cli.noting import SPEAK, STOP_ONLY, Notes, open_keeper
from firststart.cli.opening import Opening
from firststart.cli.ready import fetch_ahead, undisturbed
from firststart.cli.sounding import ear_options, reminder, voice_options
from firststart.cli.tongue import MouthIn, StageIn, Tongue, load_language
from firststart.devices.ears import DeafEars, Ears, Zone, open_ears
from firststart.devices.hearable import hearable
from firststart.devices.mouth import Mouth, SilentMouth, open_mouth, say_to
from firststart.devices.stage import Event, Stage, open_stage
from firststart.devices.tones import Tone
from firststart.errors import FirststartError
from firststart.job.holds import hold_states
from firststart.machine.table import PERMIT
from firststart.prompt.dialogue import PEDAL, VOICE
from firststart.prompt.language import Language
from firststart.prompt.onekey import HELD, OneKey, press
from firststart.prompt.prompt import Prompt
from firststart.prompt.wording import duration

_TONES = {"go": Tone.GO, "stop": Tone.STOP, "wait-over": Tone.WAIT_OVER, "not-understood": Tone.NOT_UNDERSTOOD}


def run_bench(arguments: argparse.Namespace) -> int:
    """Open the bench; 0 when the person leaves it."""
    with undisturbed():
        rules = load_rules(arguments)
    journal = open_record(arguments, write=True)
    pedal = arguments.pedal or read_settings(arguments).get("pedal", "")
    tongue = Tongue(load_language(arguments, arguments.language))
    colour = "NO_COLOR" not in os.environ
    plain_stage = open_stage(plain=arguments.plain, colour=colour, pedal_key=pedal, say=tongue.text)
    stage = StageIn(plain_stage, tongue.text)
    try:
        opening = Opening(arguments, rules, journal, wall_clock(), stage, tongue)
        spoken, listens = tongue.language.code, not arguments.no_ears and tongue.language.english
        desk = opening.desk(
            lambda: _mouth(arguments, stage, tongue),
            (lambda mouth: _ears(arguments, stage, mouth, tongue)) if listens else None,
        )
        if desk is not None and arguments.language is None:
            tongue.language = load_language(arguments, desk.situation.language)
        if desk is None or tongue.language.code != spoken:
            opening.close()
        if desk is not None:
            _work(arguments, desk, stage, tongue, opening)
    finally:
        journal.close()
    return 0


def _work(arguments: argparse.Namespace, desk: Desk, stage: Stage, tongue: Tongue, opening: Opening) -> None:
    """The bench at one job, until the person leaves; with the voice and the ears of the opening, where it had them."""
    mouth = MouthIn(opening.mouth or _mouth(arguments, stage, tongue), tongue.text)
    try:
        ears = opening.ears or _ears(arguments, stage, mouth, tongue)
        try:
            adviser = Adviser(desk.rules, lambda: book_of(desk.rules.library))
            keeper = open_keeper(arguments)
            notes = Notes(ears, mouth.busy, keeper, alone=not arguments.no_ears, english=tongue.english)
            ahead = fetch_ahead(desk.rules)
            with interrupts() as pressed:
                Bench(desk, stage, mouth, ears, adviser, pressed, tongue.language, notes).run()
            ahead.cancel()
        finally:
            ears.close()
    finally:
        mouth.close()


@contextlib.contextmanager
def interrupts() -> Iterator[threading.Event]:
    """While the bench is open Ctrl-C breaks nothing off: it sets an event, and the bench obeys it as stop."""
    pressed = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield pressed
        return
    before = signal.signal(signal.SIGINT, lambda _number, _frame: pressed.set())
    try:
        yield pressed
    finally:
        signal.signal(signal.SIGINT, before)


def _mouth(arguments: argparse.Namespace, stage: Stage, tongue: Tongue) -> Mouth:
    if arguments.no_voice:
        return SilentMouth()
    options = voice_options(arguments, read_settings(arguments), tongue.language.code)
    if arguments.say_to is not None:
        return say_to(arguments.say_to, options, stage.tell, tongue.spoken)
    return open_mouth(options, stage.tell, tongue.spoken)


def _ears(arguments: argparse.Namespace, stage: Stage, mouth: Mouth, tongue: Tongue) -> Ears:
    if arguments.no_ears:
        return DeafEars()
    if not tongue.language.english:
        stage.tell("The ears understand English only. Answer by keys or with the pedal.")
        return DeafEars()
    settings = read_settings(arguments)
    ears = open_ears(ear_options(arguments, settings), stage.tell, mouth.busy)
    weak = reminder(settings)
    if weak and not isinstance(ears, DeafEars):
        stage.tell(weak)
    return ears


class Bench:
    """The loop: show, say, wait for something to happen, hand it to the conductor."""

    def __init__(
        self, desk: Desk, stage: Stage, mouth: Mouth, ears: Ears, adviser: Adviser, pressed: threading.Event,
        language: Language | None = None, notes: Notes | None = None,
    ) -> None:  # fmt: skip
        self.desk, self.stage, self.mouth, self.ears, self._pressed = desk, stage, mouth, ears, pressed
        self.notes = notes or Notes(ears, mouth.busy, None, alone=False)
        conductor = Conductor(desk, adviser, self.notes.keeper)
        plain = language is None or language.english
        self.conductor = conductor if plain or language is None else Interpreter(conductor, language)
        self._counted = 0
        self._warned = False
        self._vocabulary: tuple[object, ...] = ()
        self._key = OneKey()
        self._overheard: Overheard | None = None  # what the microphone made of the newest crank
        self._trouble = ""  # the newest sentence about a record that fails

    def run(self) -> None:
        """Until the person leaves."""
        self.ears.start()
        self._give(self.conductor.greet())
        while True:
            prompt = self.notes.prompt() if self.notes.running else self.conductor.prompt()
            self._listen(prompt)
            event = self.stage.next_event(prompt, self.status, self._poll)
            if event.kind == "gone":
                self._leave()
                return
            if event.kind != "pedal":
                self._key = OneKey()
            reply = self._handle(event)
            if reply is not None:
                self._give(reply)
                if reply.finished:
                    return

    def _listen(self, prompt: Prompt) -> None:
        """Hear what may be answered now, and yes and no while something is read back."""
        talk = self.conductor.dialogue
        about = f"{self.desk.situation.count} {prompt.text}"  # another question: words begun before it are not for it
        asking = hearable(prompt.expects, talk.asleep, talk.pending is not None, about, bool(prompt.cautions))
        vocabulary = STOP_ONLY if self.notes.running else asking
        if vocabulary.key != self._vocabulary:
            self._vocabulary = vocabulary.key
            self.ears.listen_for(vocabulary)

    def _leave(self) -> None:
        """The person went away: a starter that turns is taken as stopped now."""
        self.notes.drop()
        if self.conductor.turned() is not None:
            self.conductor.release()
        self.stage.tell("Until next time. Everything is recorded.")

    def _handle(self, event: Event) -> Reply | None:
        """What follows from an event. A record that fails changes nothing: it is told, and the same answer is due."""
        trouble, self._trouble = self._trouble, ""
        try:
            if event.kind == "stop":
                self.mouth.silence()
                self.notes.drop()
                return self.conductor.stop(event.channel)
            if self.notes.running:
                return self._spoken(event)
            if event.kind == "tick":
                return self.conductor.tick()
            if event.kind == "overheard" and self._overheard is not None:
                return self.conductor.overheard(self._overheard)
            if event.kind == "pedal":
                return self._pedal(event.text)
            self.mouth.silence()
            return self._hear(event)
        except FirststartError as error:
            self._trouble = str(error)
            if event.kind == "tick" and trouble == self._trouble:
                return None  # a wait that is over asks again and again, and once is enough to be told
            return Reply((self._trouble,), self.conductor.prompt(), repeat=False)

    def _hear(self, event: Event) -> Reply:
        """Words. A crank that ends by voice ends with the tone for stop: whoever meant something else lets go, too."""
        turned = self.conductor.turned() is not None
        reply = self.conductor.hear(event.text, event.channel, sure=event.sure)
        ended = turned and event.kind == "heard" and self.conductor.turned() is None
        return replace(reply, tone="stop") if ended else reply

    def _spoken(self, event: Event) -> Reply | None:
        """A note is being spoken: "stop" and a held pedal are obeyed; silence, a key or a press ends it."""
        words = self.notes.english(event.text)
        held = event.kind == "pedal" and event.text == HELD
        if held or (event.kind in ("heard", "typed") and words in STOP_ONLY.phrases):
            self.notes.drop()
            return self.conductor.stop(event.channel)
        if event.kind == "heard":
            return None
        found = self.notes.end(words if event.kind == "typed" else "")
        if isinstance(found, str):
            return Reply((found,), self.conductor.prompt(), repeat=False)
        return self.conductor.keep(found)

    def _speak(self) -> bool:
        """A note of no words: the tape runs, where there is a microphone."""
        if not self.notes.begin():
            return False
        self.stage.tell(SPEAK)
        self.mouth.say(SPEAK)
        self.mouth.sound(Tone.GO)
        return True

    def _pedal(self, kind: str) -> Reply | None:
        """One press of the one key: an answer, the next answer said, or stop."""
        asked = self.conductor.dialogue.pending is not None
        self._key, meant = press(self._key, kind, self.conductor.prompt().expects, asked=asked)
        self.mouth.silence()
        if meant.stop:
            return self.conductor.stop(PEDAL)
        if meant.words:
            return self.conductor.hear(meant.words, PEDAL)
        self.stage.tell(meant.say)
        self.mouth.say(meant.say)
        return None

    def _poll(self) -> Event | None:
        """Obeys Ctrl-C; counts aloud while the starter turns; tells when a wait is over."""
        if self._pressed.is_set():
            self._pressed.clear()
            return Event("stop")
        heard = self.ears.heard()
        if heard is not None:
            self.stage.tell(f"(heard: {heard.text})")
            return Event("heard", heard.text, VOICE, heard.zone is Zone.ACCEPT)
        if self.notes.running:
            return Event("spoken") if self.notes.over else None
        turned = self.conductor.turned()
        if turned is not None:
            self._count(turned)
            return None
        self._counted, self._warned = 0, False
        self._overheard = overheard(self.ears.cranked(), self.conductor.beat())
        if self._overheard is not None:
            return Event("overheard")
        return Event("tick") if self._due() else None

    def _due(self) -> bool:
        """Is a wait or a rest over, so that the work can go on by itself?"""
        run, now = self.desk.situation.run, self.desk.now
        if run is None or self.desk.situation.stopped:
            return False
        if run.wait_until is not None:
            return now >= run.wait_until
        if PERMIT not in run.refused or run.entered is None:
            return False
        return (now - run.entered).total_seconds() >= run.wait_s and self.desk.rules.permit(
            self.desk.situation, now
        ).allowed

    def _count(self, turned: float) -> None:
        crank = self.desk.situation.open_crank
        limit = crank.limit_s if crank else 0.0
        if turned >= limit and not self._warned:
            self._warned = True
            self.mouth.sound(Tone.STOP, priority=True)
            self.mouth.say("Stop.")
            self.stage.tell(f"STOP. {limit:g} seconds are over. Press any key when the starter stands.")
        elif int(turned) > self._counted and turned < limit:
            self._counted = int(turned)
            self.mouth.say(str(self._counted), priority=True)

    def _give(self, reply: Reply) -> None:
        """Facts are committed by now: show and say."""
        if reply.record and self._speak():
            return
        if reply.tone:
            self.mouth.sound(_TONES[reply.tone])
        for line in reply.say:
            self.stage.tell(line)
            self.mouth.say(line)
        if reply.repeat:
            self.stage.show(reply.prompt)
            for line in reply.prompt.spoken():
                self.mouth.say(line)

    def status(self) -> str:
        """One line: what holds, what the starter may do; before it what is left of a crank, a rest or a wait."""
        if self.notes.running:
            return self.notes.status()
        turned = self.conductor.turned()
        if turned is not None:
            crank = self.desk.situation.open_crank
            limit = crank.limit_s if crank else 0.0
            return f"{math.ceil(max(limit - turned, 0)):g}\nTHE STARTER TURNS: {turned:4.1f} s of {limit:g} s"
        rules, situation, now = self.desk.rules, self.desk.situation, self.desk.now
        words = rules.words(situation)
        holding = [h.say for h in hold_states(rules.library.safety, situation, words, now) if h.fresh]
        parts, left = [f"holding: {', '.join(holding) or 'nothing yet'}"], 0.0
        if rules.starts_by_motor(situation):
            permit = rules.permit(situation, now)
            parts.append(
                f"starter rested: {permit.seconds:.0f} s at most"
                if permit.allowed
                else f"starter rests {duration(permit.wait_s)}"
            )
            left = 0.0 if permit.allowed else permit.wait_s
        run = situation.run
        if run is not None and run.wait_until is not None:
            left = max((run.wait_until - now).total_seconds(), 0)
            parts.append(f"wait: {duration(left)}")
        figure = f"{int(left) // 60}:{int(left) % 60:02}\n" if left > 0 else ""
        return figure + " | ".join(parts)
