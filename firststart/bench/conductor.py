"""Leads the talk at the bench: what was heard becomes an input, what follows becomes sentences and a prompt.

It knows nothing of screens, loudspeakers or key codes, so the real bench, the tests and the rehearsal
all run through it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from firststart.bench.advice import Adviser
from firststart.bench.byear import KEEP, Beat, Overheard, beat_of, believed, with_offer
from firststart.bench.choosing import MORE, Choice, choice_of
from firststart.bench.desk import Desk
from firststart.bench.earlier import NONE, same_as_before
from firststart.bench.keeping import Keeper, kept_text
from firststart.bench.questions import Telling, answered, standing, tell
from firststart.engine.profile import AIRCRAFT, of_aircraft
from firststart.errors import FirststartError, InputError, RecordError
from firststart.job import inputs as i
from firststart.job.holds import HoldState, hold_states
from firststart.job.situation import Situation
from firststart.procedure.model import UNREAD
from firststart.prompt.dialogue import KEYS, Act, Dialogue, hear, options_line
from firststart.prompt.echo import echo
from firststart.prompt.expect import Expectation
from firststart.prompt.prompt import Prompt, present
from firststart.prompt.told import Told
from firststart.prompt.wording import duration

_LASTING = ("action", "choice", "measure")  # prompts of steps that no clock changes
_HOURS_S = 7200.0  # a longer span is told in whole hours


@dataclass(frozen=True)
class Reply:
    """What to say (sentences before the prompt), the prompt that stands now, and a tone for the ear.

    `repeat` is False when the prompt has not changed and need not be said again. `record`: a note of no words was
    asked for, so that it may be spoken now, where there is a microphone.
    """

    say: tuple[str, ...]
    prompt: Prompt
    repeat: bool = True
    tone: str = ""
    finished: bool = False
    record: bool = False


class Conductor:
    """One person at one job. Without a `keeper` notes are of words alone."""

    def __init__(self, desk: Desk, adviser: Adviser, keeper: Keeper | None = None) -> None:
        self.desk, self.adviser, self.keeper = desk, adviser, keeper
        self.dialogue = Dialogue()
        self._began: float | None = None
        self._choosing: Choice | None = None
        self._shown: tuple[Situation, Prompt] | None = None
        self._telling: Telling | None = None
        self._beat: Beat | None = None  # what the newest crank sounds like
        self._overheard: Overheard | None = None  # and what was heard of it, while it may be kept

    # the prompt ------------------------------------------------------------------------------------

    def prompt(self) -> Prompt:
        """What stands now: a question of date or place before all work; at a choice of work, the list of it."""
        asked = standing(self.desk)
        if asked is not None:
            return asked
        if self._telling is not None:
            return self._telling.prompt()
        if self._choosing is not None:
            expects = self._choosing.expects
            say = "Which work? Say its number, or type its name."
            return Prompt(say, "which work", expects, info=_numbered(expects))
        prompt = self._work()
        return prompt if self._overheard is None else replace(prompt, expects=with_offer(prompt.expects))

    def _work(self) -> Prompt:
        """The prompt of the work itself. What does not change with the clock is kept while nothing happens."""
        situation = self.desk.situation
        if self._shown is None or self._shown[0] is not situation or self._shown[1].expects.kind not in _LASTING:
            self._shown = (situation, self._presented(situation))
        return self._shown[1]

    def _presented(self, situation: Situation) -> Prompt:
        def plain() -> Prompt:
            return present(self.desk.rules, situation, self.desk.wall)

        if situation.run is None and not situation.stopped and not situation.closed:
            return self.adviser.lead(self.desk, plain)
        return plain()

    def greet(self) -> Reply:
        """The first words after a job is opened or taken up again."""
        facts = self.desk.submit(i.Resume())
        said = echo(facts, self.desk.rules.library)
        known, quick = self.desk.situation.holds, self._quick()
        stale = [self._gone(h) for h in self._holds() if not h.fresh and h.name in known and h.name not in quick]
        if stale:
            said = (*said, f"Gone stale: {', '.join(stale)}.")
        return Reply(said, self.prompt())

    def _gone(self, hold: HoldState) -> str:
        """What has gone stale, since when and because of what. A span is right by whatever clock it is told."""
        if hold.since is None:
            return f"{hold.say} ({hold.because})"
        ago = max((self.desk.situation.latest(self.desk.now) - hold.since).total_seconds(), 0.0)
        told = duration(ago if ago < _HOURS_S else round(ago / 3600) * 3600)
        return f"{hold.say} {told} ago ({hold.because})"

    # what comes in -----------------------------------------------------------------------------------

    def hear(self, text: str, channel: str = KEYS, *, sure: bool = True) -> Reply:
        """Words from the person, by voice, keys or pedal; `sure` False: half heard, to be read back."""
        if self._choosing is not None:
            self._choosing = self._choosing.named(text)
        prompt = self.prompt()
        self.dialogue, act = hear(self.dialogue, text, prompt.expects, channel, sure=sure)
        if act.kind == "miss" and of_aircraft(text):
            return Reply((AIRCRAFT,), self.prompt(), repeat=False, tone="not-understood")
        try:
            return self._act(act, prompt)
        except FirststartError as error:
            if not isinstance(error, InputError | LookupError):
                raise
            return Reply((str(error),), self.prompt(), repeat=False, tone="not-understood")

    def stop(self, channel: str = KEYS) -> Reply:
        """Stop, from a key, a held pedal or Ctrl-C: obeyed before anything else."""
        self.dialogue, self._choosing, self._telling = Dialogue(), None, None
        seconds = self.turned()
        self._began = None
        try:
            facts = self.desk.submit(i.Stop(channel, seconds))
        except RecordError as error:  # the person stops all the same
            return Reply(("Stop now. Turn the key off.", str(error)), self.prompt(), repeat=False, tone="stop")
        return Reply(echo(facts, self.desk.rules.library), self.prompt(), tone="stop")

    def tick(self) -> Reply | None:
        """Time has passed: a wait may be over. None when nothing changed."""
        if self.desk.situation.stopped or self.desk.situation.run is None or self.desk.situation.open_crank:
            return None
        facts = self.desk.submit(i.Tick())
        if not facts:
            return None
        return Reply(echo(facts, self.desk.rules.library), self.prompt(), tone="wait-over")

    def turned(self) -> float | None:
        """How long the starter has been turning by the steady clock; None when it is not."""
        return None if self._began is None else self.desk.clock.monotonic() - self._began

    def beat(self) -> Beat | None:
        """What the newest crank sounds like; None while the starter turns, and where nothing can be told."""
        return self._beat if self._began is None else None

    def overheard(self, heard: Overheard) -> Reply:
        """What the microphone made of the newest crank: offered, and kept only when the person says so."""
        if self._beat is None or self._began is not None or not believed(self._beat, heard):
            return Reply((), self.prompt(), repeat=False)
        self._overheard = heard
        return Reply((self._overheard.sentence(),), self.prompt(), repeat=False)

    # acts --------------------------------------------------------------------------------------------

    def _act(self, act: Act, prompt: Prompt) -> Reply:
        if act.kind == "value" and act.value is not None:
            if self._telling is not None and standing(self.desk) is None:
                return self._tell_on(self._telling.heard(act.value.si))
            return self._submit(i.Give(act.value, act.said, act.channel))
        if act.kind == "told" and act.told is not None:
            return self._tell_on(Telling(act.told))
        if act.kind == "event":
            return self._event(act, prompt)
        if act.kind == "general":
            return self._general(act, prompt)
        if act.kind == "nothing":
            return Reply((), prompt, repeat=False)
        return Reply((act.say,), prompt, repeat=False, tone="not-understood" if act.kind == "miss" else "")

    def _submit(self, given: i.Input) -> Reply:
        facts = self.desk.submit(given)
        return Reply(echo(facts, self.desk.rules.library), self.prompt())

    def _event(self, act: Act, prompt: Prompt) -> Reply:
        kind, event = prompt.expects.kind, act.event
        given = answered(self.desk, prompt.expects.name, event)
        if given is not None:
            return self._submit(given)
        if self._telling is not None:
            return self._tell_unknown(event, prompt)
        if self._choosing is not None:
            self._choosing = self._choosing.next_page() if event == MORE else None
            return Reply((), self.prompt()) if event == MORE else self._submit(i.Begin(event))
        if event == "leave":
            return self._submit(i.Leave())
        if event == KEEP and self._overheard is not None:
            kept, self._overheard = self._overheard.kept(), None
            self.desk.submit(kept)
            return Reply(("Noted.",), self.prompt(), repeat=False)
        special = _SPECIAL.get((kind, event))
        if special is not None:
            return special(self, prompt)
        return self._submit(i.Say(event, act.said, act.channel))

    def _go(self, _prompt: Prompt) -> Reply:
        self._overheard, self._beat = None, beat_of(self.desk)
        facts = self.desk.submit(i.Go())
        turning = self.desk.situation.open_crank is not None
        self._began = self.desk.clock.monotonic() if turning else None
        return Reply(echo(facts, self.desk.rules.library), self.prompt(), tone="go" if turning else "")

    def release(self, _prompt: Prompt | None = None) -> Reply:
        """The starter has stopped."""
        seconds = self.turned()
        self._began = None
        if seconds is None:
            return self._submit(i.Resume())
        self._beat = replace(self._beat, seconds=seconds) if self._beat is not None else None
        return self._submit(i.Release(seconds))

    def _tell_on(self, telling: Telling) -> Reply:
        """Cranking told: kept when it is whole, else the next question about it."""
        self._telling = None if telling.told.whole else telling
        if self._telling is not None:
            return Reply((), self.prompt())
        return self._submit(tell(telling.told))

    def _tell_unknown(self, event: str, prompt: Prompt) -> Reply:
        """Never mind drops it; what is not known counts for the worst, or is guessed."""
        telling = self._telling.unknown() if self._telling is not None and event == UNREAD else None
        if telling is not None:
            return self._tell_on(telling)
        if event == UNREAD:
            return Reply(("Say your best guess, or never mind.",), prompt, repeat=False)
        self._telling = None
        return Reply(("Nothing is kept.",), self.prompt())

    def _finish(self, prompt: Prompt) -> Reply:
        return Reply(("Until next time. Everything is recorded.",), prompt, repeat=False, finished=True)

    def _begin_offer(self, prompt: Prompt) -> Reply:
        return self._submit(i.Begin(prompt.offer, "plan" if prompt.expects.kind == "idle" else "meanwhile"))

    def _other(self, prompt: Prompt) -> Reply:
        items = self.desk.rules.plan(self.desk.situation, self.desk.now)
        choice = choice_of(self.desk.rules.library, items, self._words())
        if not choice.work:
            return Reply(("There is no other work in the plan.",), prompt)
        self._choosing = choice
        return Reply((), self.prompt())

    def _look_again(self, _prompt: Prompt) -> Reply:
        return self._submit(i.Tick())

    def _fetch(self, _prompt: Prompt) -> Reply:
        return self._submit(i.Fetch())

    def _carry_on(self, _prompt: Prompt) -> Reply:
        return self._submit(i.CarryOn())

    def _tick_now(self, prompt: Prompt) -> Reply:
        return self.tick() or Reply((f"Not yet: {duration(prompt.wait_s)} to go.",), prompt, repeat=False)

    def _general(self, act: Act, prompt: Prompt) -> Reply:
        match act.event:
            case "stop":
                return self.stop(act.channel)
            case "back" | "leave" if self._aside(prompt):
                self._choosing, self._telling = None, None
                return Reply((), self.prompt())
            case "back":
                return self._submit(i.Back())
            case "leave":
                return self._submit(i.Leave())
            case "tell-crank":
                return self._tell_on(Telling(act.told or Told()))
            case "same":
                return self._same(act, prompt)
            case "finish":
                return self._finish(prompt)
            case "note":
                return self._note(act, prompt)
            case "repeat":
                return Reply((), prompt)
            case _:
                return Reply((self._tell(act.event, prompt),), prompt, repeat=False)

    def _note(self, act: Act, prompt: Prompt) -> Reply:
        """Words are noted, a photo or sound that they name is kept; no words, and they may be spoken."""
        if not act.said:
            spoken = self.keeper is not None and prompt.expects.kind != "turning"
            return Reply((self._tell("note", prompt),), prompt, repeat=False, record=spoken)
        given = self.keeper.told(act.said) if self.keeper is not None and act.channel == KEYS else None
        return self.keep(given) if given is not None else self._noted(i.Note(act.said), "Noted.")

    def keep(self, given: i.Keep) -> Reply:
        """A photo or sound that lies in the drawer, now in the record too."""
        return self._noted(given, kept_text(given.attachment))

    def _noted(self, given: i.Input, said: str) -> Reply:
        self.desk.submit(given)
        return Reply((said,), self.prompt(), repeat=False)

    def _same(self, act: Act, prompt: Prompt) -> Reply:
        """What was answered here before, read back."""
        if self._aside(prompt):
            return Reply((NONE,), prompt, repeat=False)
        found = same_as_before(self.desk.rules, self.desk.situation, prompt.expects)
        found = replace(found, said=act.said, channel=act.channel)
        if found.value is not None or found.kind == "event":
            self.dialogue = Dialogue(pending=found)
        return Reply((found.say,), prompt, repeat=False)

    def _aside(self, prompt: Prompt) -> bool:
        """Is this a question beside the work? Back and leave then lead back to the work and change nothing in it."""
        beside = self._choosing is not None or self._telling is not None
        return beside or answered(self.desk, prompt.expects.name, "") is not None

    def _tell(self, what: str, prompt: Prompt) -> str:
        match what:
            case "why":
                return prompt.why or "It comes next in the order of the work."
            case "help":
                return f"{options_line(prompt.expects)} Also: say again, why, go back, leave it, status, stop."
            case "status":
                return self._status()
            case "how-long":
                return self._how_long(prompt)
            case "note":
                return "Say note, and then what to keep."
            case "sleep":
                return "I do not listen now, but for stop. Say listen to wake me."
            case _:
                return "I am listening."

    def _status(self) -> str:
        items = self.desk.rules.plan(self.desk.situation, self.desk.now)
        fresh = [h.say for h in self._holds() if h.fresh]
        left = sum(x.minutes for x in items)
        return (
            f"{len(items)} pieces of work are left, about {duration(left * 60)}. "
            f"Holding now: {', '.join(fresh) or 'nothing'}."
        )

    def _how_long(self, prompt: Prompt) -> str:
        if prompt.rest_s > 0:
            return f"The starter must rest for {duration(prompt.rest_s)}."
        if prompt.wait_s > 0:
            return f"{duration(prompt.wait_s)} to go."
        run = self.desk.situation.run
        minutes = self.desk.rules.library.procedures[run.procedure].minutes if run else 0
        return f"This work takes about {duration(minutes * 60)}." if run else "Nothing is running."

    def _words(self) -> dict[str, str]:
        return self.desk.rules.words(self.desk.situation)

    def _holds(self) -> tuple[HoldState, ...]:
        return hold_states(self.desk.rules.library.safety, self.desk.situation, self._words(), self.desk.now)

    def _quick(self) -> set[str]:
        return {n for n, p in self.desk.rules.library.safety.hold_points.items() if p.quick}


def _numbered(expects: Expectation) -> str:
    return "\n".join(f"{n}. {o.phrases[0]}" for n, o in enumerate(expects.options, 1))


_SPECIAL: dict[tuple[str, str], Callable[[Conductor, Prompt], Reply]] = {
    ("crank", "go"): Conductor._go,
    ("turning", "release"): Conductor.release,
    ("idle", "begin"): Conductor._begin_offer,
    ("idle", "other"): Conductor._other,
    ("idle", "finish"): Conductor._finish,
    ("stopped", "finish"): Conductor._finish,
    ("stopped", "carry-on"): Conductor._carry_on,
    ("gate", "fetch"): Conductor._fetch,
    ("gate", "wait"): Conductor._look_again,
    ("gate", "meanwhile"): Conductor._begin_offer,
    ("wait", "elapsed"): Conductor._tick_now,
}
