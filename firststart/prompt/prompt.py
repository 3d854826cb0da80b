"""present(rules, situation, now) -> what to say and show, and what may be answered.

Pure: a prompt is a value. Cautions come before the action they belong to, in speech and on the screen.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from firststart.errors import InputError
from firststart.job.holds import hold_states
from firststart.job.plan import LATER, Item, filler
from firststart.job.rules import Rules
from firststart.job.situation import Run, Situation
from firststart.machine.table import GATE, LEAVE, PERMIT, State, Table
from firststart.procedure.model import DONE, ELAPSED, UNREAD, Note
from firststart.procedure.needs import hazards_of
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.wording import CANNOT, DONE_PHRASES, duration

PLACEHOLDER = re.compile(r"\{([a-z]+)(?::([a-z0-9.-]+))?\}")


@dataclass(frozen=True)
class Prompt:
    """What to say and show now.

    `cautions` are said first, then `text`. `big` are two or three words for the large letters.
    `place` says where in the work this is; `rest_s` how long the starter must still rest.
    """

    text: str
    big: str
    expects: Expectation
    cautions: tuple[Note, ...] = ()
    spoken_cautions: tuple[Note, ...] = ()
    info: str = ""
    why: str = ""
    place: str = ""
    rest_s: float = 0
    wait_s: float = 0
    offer: str = ""  # procedure that fits in a rest, or that comes next
    signals: Mapping[str, str] = field(default_factory=dict)  # the signal words in another language than English

    def signal(self, note: Note) -> str:
        """The signal word of a caution, as it is shown."""
        return self.signals.get(note.signal, note.signal)

    def spoken(self) -> tuple[str, ...]:
        """The sentences to say, in order: cautions with their signal word, then the action."""
        said = tuple(f"{self.signal(n).capitalize()}. {n.text}" for n in self.spoken_cautions)
        return (*said, self.text)


def present(rules: Rules, situation: Situation, wall: datetime) -> Prompt:
    """The prompt for a situation at the time of day `wall`."""
    now = situation.effective(wall)
    run = situation.run
    if situation.closed and not situation.stopped:
        return Prompt("This job is finished. Its record is kept.", "finished", Expectation("over"))
    if situation.stopped and (run is None or run.why != "stop"):
        return _stopped()
    if run is None:
        return _idle(rules, situation, now)
    table = rules.table(run.procedure, situation)
    state = table.states.get(run.state) or table.states[table.initial]
    place = _place(rules, run, state)
    if state.sort == GATE:
        return _gate(rules, situation, state, now, place)
    return _step(rules, situation, run, state, now, place)


def _stopped() -> Prompt:
    options = (Option("carry-on", ("carry on", "continue", "go on")), Option("finish", ("finish for today",)))
    return Prompt(
        "Work is stopped. When all is well, say carry on.",
        "stopped",
        Expectation("stopped", options),
        why="After a stop, what may have changed is asked again.",
    )


_DEPENDS = "What comes after it depends on your engine."


def _idle(rules: Rules, situation: Situation, now: datetime) -> Prompt:
    """Nothing is under way: offer the next work of the plan."""
    items = rules.plan(situation, now)
    if not items:
        only = Option("finish", ("finish for today",))
        return Prompt("All planned work is done.", "all done", Expectation("idle", (only,)))
    options = (
        Option("begin", ("yes", "next", "do it", "begin")),
        Option("other", ("something else", "other work", "another one")),
        Option("finish", ("finish for today", "no")),
    )
    item = items[0]
    lead = "Only work left for later is open. " if item.why == LATER else ""
    return Prompt(
        f"{lead}Next is {_lower(item.title)}. Shall we begin?",
        item.title,
        Expectation("idle", options),
        info=_plan_lines(items) if situation.ended else f"{_plan_line(1, item)}\n{_DEPENDS}",
        why=rules.library.procedures[item.procedure].purpose,
        offer=item.procedure,
        place=rules.library.stages[item.stage].title,
    )


def _plan_line(number: int, item: Item) -> str:
    return f"{number}. {item.title} ({duration(item.minutes * 60)}): {item.why}"


def _plan_lines(items: tuple[Item, ...]) -> str:
    total = sum(i.minutes for i in items)
    lines = [_plan_line(n, item) for n, item in enumerate(items[:8], 1)]
    more = f"and {len(items) - 8} more" if len(items) > 8 else ""
    return "\n".join([*lines, *([more] if more else []), f"About {duration(total * 60)} of work is left."])


def _place(rules: Rules, run: Run, state: State) -> str:
    title = rules.library.procedures[run.procedure].title
    return f"{title}, cylinder {state.cylinder}" if state.cylinder else title


def _failed(rules: Rules, situation: Situation, hold: str) -> bool:
    """Was this hold point tried for since the run on top began, and not met? Quick ones are just asked again."""
    run, library = situation.run, rules.library
    if run is None or library.safety.hold_points[hold].quick:
        return False
    ended = [situation.ended[p] for p in library.establishers(hold, rules.words(situation)) if p in situation.ended]
    newest = max(ended, key=lambda e: e.number, default=None)
    return newest is not None and newest.run > run.run and newest.outcome in ("bad", "undecided")


def _gate(rules: Rules, situation: Situation, state: State, now: datetime, place: str) -> Prompt:
    """A shut gate: what is missing, and how to get it."""
    truths = rules.truths(situation, now)
    lacking = tuple(n for n in state.needs if n not in truths)
    points = rules.library.safety.hold_points
    missing = [
        h for h in hold_states(rules.library.safety, situation, rules.words(situation), now) if h.name in lacking
    ]
    leave = Option(LEAVE, ("leave it",))
    if PERMIT in lacking:  # a question of the last moment is not asked before the rest is over
        missing = [h for h in missing if not points[h.name].quick]
    if missing:
        first = missing[0]
        lines = "\n".join(f"- {h.say}: {h.because}" for h in missing)
        text, fetch = f"Not yet. First comes {first.say}. Shall we do it?", Option("fetch", ("yes", "do it"))
        if _failed(rules, situation, first.name):  # asking for the same again would lead round in a circle
            text = f"Not yet: {first.say} could not be had. Shall we leave this work?"
            fetch, leave = Option("fetch", ("do it",)), Option(LEAVE, ("yes", "leave it"))
        return Prompt(
            text,
            first.say,
            Expectation("gate", (fetch, leave, Option("wait", ("wait", "look again")))),
            info=f"Not yet: this step waits for\n{lines}",
            why=points[first.name].why,
            place=place,
        )
    permit = rules.permit(situation, now)
    if PERMIT in lacking:
        items = rules.plan(situation, now)
        fits = filler(rules.library, items, permit.wait_s)
        options = (Option("meanwhile", ("meanwhile", "do it")), leave) if fits else (leave,)
        offer = f" Meanwhile you can do {_lower(fits.title)}." if fits else ""
        return Prompt(
            f"The starter must rest for {duration(permit.wait_s)}.{offer}",
            "starter rests",
            Expectation("gate", (Option("wait", ("wait", "next", "is it ready")), *options)),
            info=permit.reason,
            why="A starter that is cranked hot burns its winding.",
            place=place,
            rest_s=permit.wait_s,
            offer=fits.procedure if fits else "",
        )
    return Prompt(
        "The way is clear now. Shall we go on?",
        "clear",
        Expectation("gate", (Option("wait", ("yes", "next", "go on")), leave)),
        place=place,
    )


def _step(rules: Rules, situation: Situation, run: Run, state: State, now: datetime, place: str) -> Prompt:
    step = state.step
    assert step is not None  # gates, judge steps and ends are not presented
    fill = _Filler(rules, situation, state)
    classes = [rules.library.safety.hazards[h] for h in hazards_of(step)]
    cautions = (*(n for z in classes for n in z.cautions), *(_filled(n, fill) for n in step.note))
    new = [rules.library.safety.hazards[h] for h in hazards_of(step) if h not in run.cautioned]
    spoken = (*(n for z in new for n in z.cautions), *(_filled(n, fill) for n in step.note))
    wait_s = max((run.wait_until - now).total_seconds(), 0.0) if run.wait_until else 0.0
    text = fill(step.cmd)
    expects = _expects(rules, situation, state, now)
    if expects.kind == "crank":
        text = f"{text} Say go when you begin."
    if expects.kind == "turning":
        text, spoken = "The starter is turning. Say stop when it stands.", ()
    return Prompt(
        text,
        step.key or _headline(step.cmd),
        expects,
        _once(cautions),
        _once(spoken),
        fill(step.info),
        fill(step.why),
        place,
        wait_s=wait_s,
    )


def _expects(rules: Rules, situation: Situation, state: State, now: datetime) -> Expectation:
    step = state.step
    assert step is not None  # as in _step
    if situation.open_crank is not None:
        return Expectation(
            "turning", (Option("release", ("stop", "released", "it stands")),), high=situation.open_crank.limit_s
        )
    if step.crank is not None:
        limit = step.crank.seconds
        if rules.starts_by_motor(situation):
            limit = min(limit, rules.permit(situation, now, limit).seconds)
        return Expectation("crank", (Option("go", ("go", "go now"), weighty=True),), high=limit)
    if step.measure is not None:
        m = step.measure
        return Expectation("measure", (Option(UNREAD, CANNOT),), m.quantity, m.unit, m.range[0], m.range[1], m.name)
    if step.wait is not None:
        return Expectation("wait", (Option(ELAPSED, ("next", "is it over", "ready")),), high=step.wait.minutes * 60)
    if step.choices:
        meeting = _table(rules, situation).meeting
        return Expectation(
            "choice", tuple(Option(e, p, (state.name, e) in meeting) for e, p in step.choices.items())
        )
    return Expectation("action", (Option(DONE, DONE_PHRASES),))


def _table(rules: Rules, situation: Situation) -> Table:
    run = situation.run
    assert run is not None  # a step is presented only of a run
    return rules.table(run.procedure, situation)


class _Filler:
    """Fills {cylinder}, {amount:NAME} and {profile:FIELD} into a text."""

    def __init__(self, rules: Rules, situation: Situation, state: State) -> None:
        self.rules, self.situation, self.state = rules, situation, state

    def __call__(self, text: str) -> str:
        return PLACEHOLDER.sub(self._one, text) if "{" in text else text

    def _one(self, match: re.Match[str]) -> str:
        kind, name = match[1], match[2]
        if kind == "cylinder":
            return str(self.state.cylinder)
        if kind == "amount":
            from firststart.judge.registry import AMOUNTS  # all the calculators come with them

            try:
                return AMOUNTS[name](self.rules.context(self.situation))
            except InputError:  # an older record may hold figures that no engine can have together
                return "what the manual gives"
        profile = self.rules.profile(self.situation.profile)
        number = profile.numbers.get(name)
        return str(number) if number is not None else profile.words.get(name, "not known")


def _once(notes: tuple[Note, ...]) -> tuple[Note, ...]:
    return tuple(dict.fromkeys(notes)) if len(notes) > 1 else notes


def _filled(note: Note, fill: _Filler) -> Note:
    return note.model_copy(update={"text": fill(note.text)}) if "{" in note.text else note


def _headline(cmd: str) -> str:
    return " ".join(cmd.rstrip(".?").split()[:3]).lower()


def _lower(title: str) -> str:
    return title[0].lower() + title[1:]
