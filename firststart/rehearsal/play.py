"""Plays a scenario: the real conductor and record on a virtual clock, a virtual engine and a virtual person."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor, Reply
from firststart.bench.desk import Desk, open_job
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.rehearsal.engine import CHARGED, Present, VirtualEngine
from firststart.rehearsal.kit import Kit
from firststart.rehearsal.person import Person
from firststart.rehearsal.prepared import prepare
from firststart.rehearsal.scenario import Scenario
from firststart.starter.permit import heat_series

AWAY = 3600.0  # a wait longer than this is not spent at the engine
TURNS = 6000  # answers after which a play is called endless
AFTER_START = ("first-run", "shut-down")
SAME = 60  # answers without any new fact after which it is called stuck


@dataclass(frozen=True)
class Event:
    """One line of the transcript: the second of the play, who (TOOL, PERSON, ENGINE), and what."""

    at: float
    clock: str
    who: str
    text: str

    def line(self) -> str:
        """The event as a line of the transcript."""
        return f"{self.clock}  {self.who:<6}  {self.text}"


@dataclass(frozen=True)
class Played:
    """What came of it. Seconds and minutes are of the virtual clock; `hottest` kelvin."""

    scenario: str
    seed: int
    lines: tuple[str, ...]
    facts: tuple[f.Fact, ...]
    minutes: float
    cranked: float
    hottest: float
    refused: tuple[str, ...]
    found: tuple[str, ...]  # hidden conditions that were put right
    left: tuple[str, ...]  # hidden conditions still there
    wrong: tuple[str, ...]  # repairs of what was not broken
    runs: bool
    stopped: bool
    checks: int
    warnings: int
    ended: str  # why the play ended: goal, nothing left, hours, stuck, endless
    virtual_s: float = field(default=0.0, compare=False)  # of the processor, for the virtual engine and person
    unmodelled: tuple[str, ...] = ()
    unmatched: tuple[str, ...] = ()


def play(
    rules: Rules,
    scenario: Scenario,
    kit: Kit,
    *,
    seed: int = 1,
    adviser: Adviser | None = None,
    on_event: Callable[[Event], None] | None = None,
    talk: bool = True,
    ticks: Callable[[], float] = lambda: 0.0,
) -> Played:
    """Play `scenario` to its goal or its end. The same seed gives the same play, word for word.

    `talk` False: what was said is not kept, for studies of thousands of plays. `ticks` tells seconds of the processor,
    where it is to be told apart what the virtual engine and person take.
    """
    return Playing(rules, scenario, kit, seed, adviser or Adviser(rules, None), on_event, talk, ticks).run()


@dataclass
class Tally:
    """What is counted while a play goes on."""

    found: list[Present] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    mended: list[f.RepairDone] = field(default_factory=list)  # of the run that is about to end
    refused: dict[str, int] = field(default_factory=dict)
    warnings: int = 0
    checks: int = 0
    runs: bool = False
    stopped: bool = False


class Playing:
    """A play under way: the desk, the virtual engine and person, and what came of it so far."""

    def __init__(
        self, rules: Rules, scenario: Scenario, kit: Kit, seed: int, adviser: Adviser,
        on_event: Callable[[Event], None] | None, talk: bool, ticks: Callable[[], float] = lambda: 0.0,
    ) -> None:  # fmt: skip
        self.ticks, self.virtual = ticks, 0.0
        self.scenario, self.seed, self.on_event, self.talk = scenario, seed, on_event, talk
        self.clock = SimulatedClock()
        self.start = self.clock.now()
        self.journal = MemoryJournal()
        opening = i.Open("rehearsal", scenario.given.engine, "rehearsal", "yard")
        self.desk: Desk = open_job(rules, self.journal, self.clock, opening)
        self.adviser = adviser
        if scenario.given.prepared:
            prepare(self.desk, scenario.told)
        self.conductor = Conductor(self.desk, adviser)
        self.nights = 0.0  # seconds not spent at the engine
        given = scenario.given
        self.engine = VirtualEngine.of(
            scenario.truth, given.hidden, kit.conditions, kit.repairs, seed, given.prepared
        )
        self.person = Person.of(scenario, self.engine, seed)
        self.tally = Tally()
        self.events: list[Event] = []
        self.counted = 0
        self.stops = list(scenario.when.stop_after)

    # the loop --------------------------------------------------------------------------------------------

    def run(self) -> Played:
        """Play to the end, or until nothing moves any more."""
        reply = self.conductor.greet()
        self._heard(reply)
        ended, idle = "endless", 0
        for _ in range(TURNS):
            if reply.finished and self.person.sleepy:
                reply = self._next_day()
            over = self._over(reply)
            if over:
                ended = over
                break
            before = self.counted
            reply = self._turn(reply)
            idle = idle + 1 if self.counted == before else 0
            if idle > SAME:
                ended = "stuck"
                break
        return self._played(ended)

    def _over(self, reply: Reply) -> str:
        if reply.finished or reply.prompt.expects.kind == "over":
            return "nothing left"
        if self.scenario.when.goal == "runs" and self._had_its_run():
            return "goal"
        if self._minutes() > self.scenario.when.hours * 60:
            return "hours"
        return ""

    def _next_day(self) -> Reply:
        """The person went to bed: the job is taken up again the next morning, as at any later day."""
        now = self.clock.now()
        morning = now.replace(hour=9, minute=0, second=0, microsecond=0) + timedelta(days=1)
        night = (morning - now).total_seconds()
        self.clock.sleep(night)
        self.nights += night
        self.conductor = Conductor(self.desk, self.adviser)
        self.person.wake()
        return self._heard(self.conductor.greet())

    def _had_its_run(self) -> bool:
        """Did it run, and was it looked at and shut down after that, as far as there is work for it?"""
        if not self.tally.runs or self.desk.situation.run is not None:
            return False
        wanted = [p for p in AFTER_START if p in self.desk.rules.library.procedures]
        return all(p in self.desk.situation.ended for p in wanted)

    def _turn(self, reply: Reply) -> Reply:
        if self.stops and self._minutes() >= self.stops[0] and reply.prompt.expects.kind not in ("stopped", "over"):
            self.stops.pop(0)
            self._say("PERSON", "stop")
            return self._heard(self.conductor.stop("voice"))
        pending = self.conductor.dialogue.pending
        began = self.ticks()
        move = self.person.answer(self.desk, reply.prompt, pending.say if pending else "")
        self.virtual += self.ticks() - began
        self.clock.sleep(move.seconds)
        if move.seconds > AWAY:
            self.nights += move.seconds
            self.person.wake()
        else:
            self.person.work(move.seconds)
        self._say("PERSON", move.words if move.channel == "voice" else f"[{move.words}]")
        after = self._heard(self.conductor.hear(move.words, move.channel))
        return after if self.desk.situation.open_crank is None else self._crank()

    def _crank(self) -> Reply:
        """The permit stands and "go" was taken: press the starter for as long as the person meant to."""
        seconds = self.person.pressing
        trying = self.person.trying
        began = self.ticks()
        turning = self.engine.turn(seconds)
        self.virtual += self.ticks() - began
        self.clock.sleep(seconds)
        last = self.engine.sight.last_try
        heard = last.word if trying and last is not None and turning.turns else turning.word
        self._say("ENGINE", f"{heard}, cranked for {seconds:.1f} seconds")
        if trying and last is not None and last.runs:
            self.tally.runs = True
        self._say("PERSON", "it stands")
        return self._heard(self.conductor.release())

    # what follows ----------------------------------------------------------------------------------------

    def _heard(self, reply: Reply) -> Reply:
        self._take_facts()
        self.person.hear(reply.say)
        for sentence in reply.say:
            self._say("TOOL", sentence)
        if reply.repeat:
            self.tally.warnings += len(reply.prompt.spoken_cautions)
            for sentence in reply.prompt.spoken():
                self._say("TOOL", sentence)
        return reply

    def _take_facts(self) -> None:
        facts = self.journal.read("rehearsal", self.counted)
        for fact in facts:
            self._take(fact)
        self.counted += len(facts)

    def _take(self, fact: f.Fact) -> None:
        match fact:
            case f.RepairDone(success=True):
                self.tally.found += self.engine.mend(fact.suspect)
                self.tally.mended.append(fact)
            case f.RunEnded():
                self._judge_repairs()
            case f.StepRefused():
                for name in fact.lacking:
                    self.tally.refused[name] = self.tally.refused.get(name, 0) + 1
            case f.AnswerGiven(observe=str()) | f.ValueMeasured():
                self.tally.checks += 1
            case f.Stopped():
                self.tally.stopped = True
            case _:
                return

    def _judge_repairs(self) -> None:
        """A piece of work that was decided on by diagnosis and put right nothing that was broken is a wrong call."""
        mended, self.tally.mended = self.tally.mended, []
        if mended and all(self._is_guess(x) and not self._was_broken(x.suspect) for x in mended):
            self.tally.wrong.append(mended[0].suspect)

    def _is_guess(self, fact: f.RepairDone) -> bool:
        """Was it decided on by diagnosis? Ordinary care and the main line of work condemn nothing."""
        procedure = self.desk.rules.library.procedures.get(fact.procedure)
        return procedure is not None and procedure.line == "asked" and fact.suspect not in CHARGED

    def _was_broken(self, repair: str) -> bool:
        """Was anything that this repair puts right hidden at the start?"""
        hidden = {h.condition for h in self.scenario.given.hidden}
        return bool(hidden & set(self.engine.repairs.get(repair, ())))

    def _say(self, who: str, text: str) -> None:
        if not self.talk and self.on_event is None:
            return
        moment = self.clock.now()
        days = (moment.date() - self.start.date()).days
        clock = f"{f'day {days + 1} ' if days else ''}{moment:%H:%M:%S}"
        event = Event((moment - self.start).total_seconds(), clock, who, text)
        self.events.append(event)
        if self.on_event is not None:
            self.on_event(event)

    def _minutes(self) -> float:
        """Minutes of the play, nights left out."""
        return (self.clock.now() - self.start) / timedelta(minutes=1) - self.nights / 60

    def _played(self, ended: str) -> Played:
        situation, tally = self.desk.situation, self.tally
        hidden = {h.condition for h in self.scenario.given.hidden}
        left = tuple(p.name for p in self.engine.left())
        air = self.engine.body.air
        duty = self.desk.rules.duty(situation)
        until = self.clock.now().timestamp()
        hottest = max((row[1] for row in heat_series(situation.cranks, duty, until, air, 3600.0)), default=air)
        return Played(
            scenario=self.scenario.name or self.scenario.title, seed=self.seed,
            lines=tuple(e.line() for e in self.events), facts=self.journal.read("rehearsal"),
            minutes=self._minutes(), cranked=sum(c.seconds for c in situation.cranks), hottest=hottest,
            refused=tuple(sorted(tally.refused)), found=tuple(sorted(hidden - set(left))), left=left,
            wrong=tuple(tally.wrong), runs=tally.runs, stopped=tally.stopped, checks=tally.checks,
            warnings=tally.warnings, ended=ended, virtual_s=self.virtual,
            unmodelled=tuple(sorted(self.person.unmodelled)), unmatched=tuple(sorted(self.person.unmatched)),
        )
