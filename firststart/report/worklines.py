"""What was checked and what was not, what each run found, the hold points, and what is left."""

from __future__ import annotations

from datetime import datetime

from firststart.job import facts as f
from firststart.job.holds import HoldState, hold_states
from firststart.job.plan import plan
from firststart.procedure.model import Procedure
from firststart.report.model import Answer, Finding, HoldLine, Refusal, RepairLine, Stand, Todo, WorkLine
from firststart.report.walk import Walk
from firststart.report.wording import label, one_line

_STANDS: dict[str, Stand] = {
    "ok": "checked", "bad": "found wanting", "undecided": "undecided", "left": "left for later",
}  # fmt: skip


def work_lines(w: Walk) -> tuple[WorkLine, ...]:
    """The main work that applies to this engine, and whatever else was done, in the order of the stages."""
    applicable = w.rules.library.applicable(w.rules.words(w.situation))
    touched = {fact.procedure for _, fact in w.each(f.RunStarted)}
    return tuple(_work(w, p) for p in applicable if p.line == "main" or p.id in touched)


def _work(w: Walk, procedure: Procedure) -> WorkLine:
    ended = w.situation.ended.get(procedure.id)
    times = sum(1 for _, fact in w.each(f.RunEnded) if fact.procedure == procedure.id)
    stage = w.rules.library.stages[procedure.stage].title
    title = one_line(procedure.title)
    if any(r.procedure == procedure.id for r in w.situation.runs):
        return WorkLine(procedure.id, title, stage, "under way", times=times)
    if ended is None:
        return WorkLine(procedure.id, title, stage, "not done")
    at = w.entry(ended.number).at
    return WorkLine(procedure.id, title, stage, _STANDS.get(ended.outcome, "undecided"), one_line(ended.say), at, times)


def findings(w: Walk) -> tuple[Finding, ...]:
    """Every run that came to a result, in order; the routine question before a crank is left to the work's counts."""
    found = []
    for entry, fact in w.each(f.RunEnded):
        if w.routine(fact.run) and fact.outcome == "ok":
            continue
        started = w.runs.get(fact.run)
        today = w.rules.library.digests.get(fact.procedure, "")
        changed = started is not None and bool(today) and started.digest != today
        found.append(
            Finding(
                entry.number, fact.run, entry.at, fact.procedure, w.title(fact.procedure), fact.outcome,
                one_line(fact.say), changed,
            )
        )  # fmt: skip
    return tuple(found)


def hold_lines(w: Walk) -> tuple[HoldLine, ...]:
    """Every hold point that applies, with its freshness at the moment of the report."""
    states = hold_states(w.rules.library.safety, w.situation, w.rules.words(w.situation), w.now)
    return tuple(_hold(w, state) for state in states)


def _hold(w: Walk, state: HoldState) -> HoldLine:
    held = w.situation.holds.get(state.name)
    because = one_line(state.because)
    if held is None:
        return HoldLine(state.name, state.say, state.fresh, because, quick=w.quick(state.name))
    since = _undone_at(w, state.name, held.number) if held.undone else w.at(state.since)
    return HoldLine(
        state.name, state.say, state.fresh, because, w.entry(held.number).at, since, w.at(state.expires),
        one_line(held.place), w.title(held.by), w.quick(state.name),
    )


def _undone_at(w: Walk, hold: str, met: int) -> datetime | None:
    """When a hold point was undone, by the clock of that moment."""
    undone = (e.at for e, fact in w.each(f.HoldUndone) if fact.hold == hold and e.number > met)
    return next(undone, None)


def refusals(w: Walk) -> tuple[Refusal, ...]:
    """Every step that was refused, with what it lacked; the routine question before a crank is no refusal."""
    points = w.rules.library.safety.hold_points

    def said(name: str) -> str:
        if name == "permit":
            return "the starter's rest"
        return points[name].say if name in points else label(name)

    return tuple(
        Refusal(
            e.number, e.at, w.title_of_run(fact.run), tuple(said(n) for n in fact.lacking), one_line(fact.reason),
            fact.wait_s,
        )
        for e, fact in w.each(f.StepRefused)
        if not all(w.quick(n) for n in fact.lacking)
    )  # fmt: skip


def repairs(w: Walk, names: dict[str, str]) -> tuple[RepairLine, ...]:
    """Every repair, by the suspect's name where one is known."""
    return tuple(
        RepairLine(
            e.number, e.at, fact.suspect, one_line(names.get(fact.suspect, label(fact.suspect))), fact.success,
            w.title(fact.procedure) if fact.procedure else "",
        )
        for e, fact in w.each(f.RepairDone)
    )  # fmt: skip


def todos(w: Walk) -> tuple[Todo, ...]:
    """What is left of the plan, in order."""
    stages = w.rules.library.stages
    items = plan(w.rules.library, w.situation, w.rules.words(w.situation), w.now)
    return tuple(Todo(i.procedure, one_line(i.title), stages[i.stage].title, i.minutes, one_line(i.why)) for i in items)


def answers(w: Walk) -> tuple[Answer, ...]:
    """Every answer to a question with choices, in order, with why it counts no longer; routine ones left out."""
    stale = {o.number: o.stale for o in w.situation.observed}
    lines = []
    for entry, fact in w.each(f.AnswerGiven):
        if w.routine(fact.run):
            continue
        state = w.state(fact.run, fact.state)
        step = state.step if state is not None else None
        if step is not None and not step.choices:
            continue
        phrase = step.choices.get(fact.event, ())[:1] if step is not None else ()
        lines.append(
            Answer(
                entry.number, entry.at, fact.run, w.title_of_run(fact.run),
                _question(step.cmd if step is not None else fact.state, fact.cylinder),
                one_line(phrase[0] if phrase else label(fact.event)), fact.observe or "", fact.cylinder,
                one_line(stale.get(entry.number, "")),
            )
        )  # fmt: skip
    return tuple(lines)


def _question(cmd: str, cylinder: int | None) -> str:
    text = cmd.replace("{cylinder}", str(cylinder) if cylinder is not None else "it")
    return one_line(text) if "{" not in text else one_line(_bare(text))


def _bare(text: str) -> str:
    """A command without its placeholders' braces: "{amount:oil}" reads "oil"."""
    before, _, rest = text.partition("{")
    name, _, after = rest.partition("}")
    plain = before + label(name.split(":")[-1]) + after
    return _bare(plain) if "{" in plain and "}" in plain else plain
