"""A lesson: a pupil at the bench, against a virtual engine with something hidden.

The same conductor, procedures and safety as at a real engine. What is not done by hand is told: what the pupil would
see, hear or read off an instrument, from the virtual engine, and the pupil enters and judges it. What comes next
while it does not start is the pupil's own choice: by part of the engine, a check, a repair or a try. A lesson is a pure
function of its beginning and of what the pupil entered, so that it is taken up again by entering the same once more.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Reply
from firststart.bench.trying import does_not_start
from firststart.diagnosis.book import Book
from firststart.errors import InputError
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.prompt.dialogue import KEYS, Dialogue, hear
from firststart.prompt.expect import Expectation
from firststart.prompt.prompt import Prompt
from firststart.rehearsal.answers import OF_THE_MACHINE
from firststart.rehearsal.firing import Answer
from firststart.rehearsal.kit import Kit
from firststart.rehearsal.lessonmenu import FINISH, GIVE_UP, HINT, Menu, menu_of
from firststart.rehearsal.person import Move, Person, state_now
from firststart.rehearsal.play import Played, Playing
from firststart.rehearsal.scenario import Scenario
from firststart.rehearsal.temper import Temper
from firststart.units import parse

EXACT = Temper(1.0, (0.0, 0.0), 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1e6)  # sees and reads without a slip
NEAR = 0.02  # a reading that differs by less than this share was read right
OVER_S = 1.0  # seconds past the count that are no risk yet


@dataclass(frozen=True)
class Entry:
    """What the pupil entered: the words, by which channel, and the seconds that the starter turned before it."""

    words: str
    channel: str = KEYS
    turned: float = 0.0


@dataclass
class Marks:
    """What the pupil's way is scored by, beside minutes and repairs."""

    misjudged: int = 0  # answers and readings other than the engine gave
    risks: list[str] | None = None
    hints: int = 0
    gave_up: bool = False

    def risk(self, what: str) -> None:
        """Keep that something was risked."""
        self.risks = [*(self.risks or ()), what]


class Lesson(Playing):
    """One pupil at one hidden engine."""

    def __init__(self, rules: Rules, scenario: Scenario, kit: Kit, book: Book, seed: int) -> None:
        super().__init__(rules, scenario, kit, seed, Adviser(rules, None), None, talk=True)
        self.book = book
        self.person = Person(scenario, self.engine, random.Random(f"lesson {seed}"), EXACT)
        self.marks = Marks()
        self._menu: Menu | None = None
        self._dialogue = Dialogue()
        self._seen: tuple[tuple[int, str], Move, tuple[str, ...]] | None = None
        self._asked: Prompt | None = None  # the crank that was begun

    # what stands ------------------------------------------------------------------------------------------

    def greet(self) -> Reply:
        """The first words."""
        return self._with_own(self._heard(self.conductor.greet()))

    def prompt(self) -> Prompt:
        """What stands now: the pupil's own choice while the engine does not start, else the bench's prompt."""
        prompt = self.conductor.prompt()
        if prompt.expects.kind != "idle" or not does_not_start(self.desk.situation):
            self._menu = None
            return prompt
        if self._menu is None:
            self._menu = menu_of(self.desk, self.book)
        return self._menu.prompt()

    def shown(self) -> tuple[str, ...]:
        """What the pupil sees, hears or reads now; nothing where nothing is to be seen."""
        prompt = self.prompt()
        if self._menu is not None or prompt.expects.kind not in ("choice", "measure"):
            return ()
        if self.conductor.dialogue.pending is not None:
            return ()
        return self._looked(prompt)[1]

    @property
    def over(self) -> bool:
        """Did it run, was it given up, or is nothing left?"""
        situation = self.desk.situation
        ended = situation.ended.get("first-crank")
        ran = self.tally.runs and ended is not None and ended.outcome == "ok"
        return ran or self.marks.gave_up or self.conductor.prompt().expects.kind == "over"

    @property
    def minutes(self) -> float:
        """Minutes of work so far."""
        return self._minutes()

    def leaves(self, entry: Entry) -> bool:
        """Does this entry only leave the lesson? Then it is no part of it."""
        if self.desk.situation.open_crank is not None:
            return False
        expects = self.prompt().expects
        _, act = hear(Dialogue(), entry.words, expects, KEYS)
        return act.event in (FINISH, "finish") and act.kind in ("event", "general")

    def result(self) -> Played:
        """What came of it so far."""
        return self._played("goal" if self.tally.runs else "nothing left")

    # what the pupil does ----------------------------------------------------------------------------------

    def enter(self, entry: Entry) -> Reply:
        """Take what the pupil entered."""
        if self.desk.situation.open_crank is not None:
            return self._with_own(self._released(entry))
        prompt = self.prompt()
        if self._menu is not None:
            return self._with_own(self._chosen(entry))
        kind, event = self._meant(entry, prompt)
        if kind in ("event", "value"):
            self._spend(prompt, event)
            self._judge(entry, prompt, event)
        self._say("PUPIL", entry.words)
        stopped = kind == "general" and event == "stop"
        reply = self.conductor.stop(entry.channel) if stopped else self.conductor.hear(entry.words, entry.channel)
        if self.desk.situation.open_crank is not None:
            self._begun(prompt)
        return self._with_own(self._heard(reply))

    def _meant(self, entry: Entry, prompt: Prompt) -> tuple[str, str]:
        """What the words mean, before anything follows from them."""
        _, act = hear(self.conductor.dialogue, entry.words, prompt.expects, entry.channel)
        return act.kind, act.event

    def _spend(self, prompt: Prompt, event: str) -> None:
        """The minutes that it takes: of the work, or of a wait."""
        kind = prompt.expects.kind
        if kind == "gate":
            seconds = prompt.rest_s + 1 if event == "wait" else 3.0
        elif kind == "wait":
            seconds = prompt.wait_s + 1
        elif kind in ("action", "choice", "measure") and self.conductor.dialogue.pending is None:
            seconds = self._looked(prompt)[0].seconds
        else:
            seconds = 3.0
        self.clock.sleep(seconds)

    def _looked(self, prompt: Prompt) -> tuple[Move, tuple[str, ...]]:
        """What somebody who makes no slip would do here, and what that tells the pupil; worked out once a question."""
        key = (self.desk.situation.count, prompt.text)
        if self._seen is None or self._seen[0] != key:
            move = self.person.answer(self.desk, prompt, "")
            self._seen = (key, move, self._tells(prompt, move))
        return self._seen[1], self._seen[2]

    def _tells(self, prompt: Prompt, move: Move) -> tuple[str, ...]:
        state = state_now(self.desk)
        if state is None or state.step is None or prompt.expects.kind == "action":
            return ()
        if prompt.expects.kind == "measure":
            tool = state.step.measure.instrument if state.step.measure is not None else ""
            if move.words == "cannot measure":
                return ("You have no instrument for this: say cannot measure.",)
            return (f"The {tool or 'instrument'} shows {move.words}.",)
        if state.step.observe:
            return (f"You find: {move.words}.",)
        run = self.desk.situation.run
        if run is not None and (run.procedure, state.step_id) in OF_THE_MACHINE:
            return (f"On this engine: {move.words}.",)
        return ()  # what was done and what is to be done is the pupil's to know

    def _judge(self, entry: Entry, prompt: Prompt, event: str) -> None:
        """Was it entered as the engine shows it?"""
        state = state_now(self.desk)
        if state is None or state.step is None or self.conductor.dialogue.pending is not None:
            return
        right = self._looked(prompt)[0].words if prompt.expects.kind in ("choice", "measure") else ""
        if prompt.expects.kind == "measure" and right != "cannot measure" and not _near(entry.words, right, prompt):
            self._misjudged(state.step_id)
        elif prompt.expects.kind == "choice" and state.step.observe:
            _, meant = hear(Dialogue(), right, prompt.expects, KEYS)
            if meant.event != event:
                self._misjudged(state.step_id)

    def _misjudged(self, step: str) -> None:
        self.marks.misjudged += 1
        run = self.desk.situation.run
        procedure = self.desk.rules.library.procedures[run.procedure] if run is not None else None
        if procedure is not None and any(r.establishes for r in procedure.results.values()):
            self.marks.risk(f"{procedure.title}: {step.replace('-', ' ')} was not entered as it was")

    # cranking ---------------------------------------------------------------------------------------------

    def _begun(self, prompt: Prompt) -> None:
        """The starter turns: what it will do is settled now."""
        self._asked = prompt
        self.person.answer(self.desk, prompt, "")

    def heard_so_far(self, turned: float) -> str:
        """What is heard while the starter turns; empty while there is nothing new."""
        last = self.engine.sight.last_try
        if self.person.trying and last is not None and last.runs and turned >= last.after:
            return "It fires and runs: let go of the starter."
        word = self.engine.sight.turning().word
        return f"You hear and see: {word}." if turned > 0.2 else ""

    def _released(self, entry: Entry) -> Reply:
        """The pupil let go after so many seconds."""
        crank, seconds = self.desk.situation.open_crank, max(entry.turned, 0.5)
        limit = crank.limit_s if crank is not None else seconds
        if seconds > limit + OVER_S:
            self.marks.risk(f"the starter was held {seconds - limit:.0f} seconds too long")
        last = self.engine.sight.last_try
        if self.person.trying and last is not None and last.runs and seconds < last.after:
            self.engine.sight.last_try = last = Answer("silent")  # let go before it fired
        self.engine.turn(seconds)
        self.clock.sleep(seconds)
        if self.person.trying and last is not None and last.runs:
            self.tally.runs = True
        if self._meant(entry, self.conductor.prompt()) == ("general", "stop") and entry.words != "stop":
            return self._heard(self.conductor.stop(entry.channel))
        self._say("PUPIL", "it stands")
        return self._heard(self.conductor.release())

    # the pupil's own choice -------------------------------------------------------------------------------

    def _chosen(self, entry: Entry) -> Reply:
        menu = self._menu
        assert menu is not None  # the caller looked
        self._dialogue, act = hear(Dialogue(), entry.words, menu.prompt().expects, KEYS)
        self._say("PUPIL", entry.words)
        if act.kind == "general" and act.event == "stop":
            return self._heard(self.conductor.stop(entry.channel))
        if act.kind == "general" and act.event in ("back", "leave"):
            self._menu = None
            return Reply((), self.prompt())
        if act.kind != "event":
            say = act.say or "Say one of the numbers."
            return Reply((say,), menu.prompt(), repeat=act.kind == "general")
        self.clock.sleep(5.0)
        return self._taken(menu, act.event)

    def _taken(self, menu: Menu, event: str) -> Reply:
        if event == HINT:
            self.marks.hints += 1
            given = Adviser(self.desk.rules, self.book).advice(self.desk.situation)
            return Reply((given.spoken if given is not None else "There is no hint.",), menu.prompt())
        if event == GIVE_UP:
            self.marks.gave_up = True
            return Reply(("Given up. Here is how it was.",), menu.prompt(), repeat=False, finished=True)
        if event == FINISH:
            return Reply(("Until next time. The lesson is kept.",), menu.prompt(), repeat=False, finished=True)
        if event in menu.pages:
            self._menu = replace(menu, page=event)
            return Reply((), self.prompt())
        self._menu = None
        try:
            self.desk.submit(i.Begin(event, "chosen"))
        except InputError as error:
            return Reply((str(error),), self.prompt())
        return self._heard(Reply((), self.conductor.prompt()))

    def _with_own(self, reply: Reply) -> Reply:
        """The reply with the pupil's own choice in the place of the bench's offer."""
        return reply if reply.finished else replace(reply, prompt=self.prompt())


def _near(words: str, right: str, prompt: Prompt) -> bool:
    """Was the reading entered as shown, within a reading error?"""
    expects: Expectation = prompt.expects
    try:
        entered = parse(words, expects.quantity, expects.unit, "reading").si
        shown = parse(right, expects.quantity, expects.unit, "reading").si
    except InputError:
        return False
    return abs(entered - shown) <= NEAR * max(abs(shown), 1e-12)
