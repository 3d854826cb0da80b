"""What came of a play, in words: a summary, and an outline of the whole job."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from firststart.job import facts as f
from firststart.procedure.library import Library
from firststart.rehearsal.play import Played
from firststart.rehearsal.scenario import Scenario
from firststart.rehearsal.verdict import ZERO_C


def summary(scenario: Scenario, played: Played) -> tuple[str, ...]:
    """The end of a play in a few lines."""
    yes = "It runs." if played.runs else "It does not run."
    lines = [
        f"{scenario.title}",
        f"{yes} {played.minutes:.0f} minutes at the engine, {played.checks} answers that tell of it.",
        _cranked(scenario, played),
        f"{played.warnings} cautions were spoken. Refused until made right: {_listed(played.refused)}.",
        f"Put right: {_listed(played.found)}. Still there: {_listed(played.left)}.",
    ]
    if played.wrong:
        lines.append(f"Put right without need: {_listed(played.wrong)}.")
    if played.ended not in ("goal", "nothing left"):
        lines.append(f"The rehearsal ended early: {_ENDED.get(played.ended, played.ended)}.")
    return tuple(lines)


def _cranked(scenario: Scenario, played: Played) -> str:
    """The seconds, and the heat where a motor turned the engine: a cord has no winding."""
    if scenario.given.profile.get("starting", "electric") not in ("electric", "unknown"):
        return f"Turned by hand for {played.cranked:.0f} seconds in all."
    hottest = f"{played.hottest - ZERO_C:.0f}"
    return f"Cranked {played.cranked:.0f} seconds in all; the winding reached {hottest} degrees at most."


_ENDED = {
    "hours": "the person's time was up",
    "stuck": "nothing new happened any more",
    "endless": "it went on and on",
}


def _listed(names: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(names)) or "nothing"


def outline(played: Played, library: Library) -> tuple[str, ...]:
    """The job in one line a piece of work, crank, refusal and repair: short enough to read, whole enough to compare."""
    start = played.facts[0].at
    return tuple(f"{_clock(start, at)}  {text}" for at, text in _events(played.facts, library))


def _events(facts: Iterable[f.Fact], library: Library) -> Iterator[tuple[datetime, str]]:
    told: set[int] = set()
    for fact in facts:
        if isinstance(fact, f.RunStarted) and fact.why == "told":
            told.add(fact.run)
        before = isinstance(fact, f.RunStarted | f.RunEnded) and fact.run in told
        text = "" if before else _event(fact, library)
        if text:
            yield fact.at, text


def _event(fact: f.Fact, library: Library) -> str:
    match fact:
        case f.RunStarted():
            return f"begins   {_title(fact.procedure, library)}"
        case f.RunEnded():
            return f"{fact.outcome:<9}{_title(fact.procedure, library)}: {fact.result}"
        case f.CrankEnded():
            return f"cranked  {fact.seconds:g} s"
        case f.StepRefused():
            return f"refused  {', '.join(fact.lacking)}"
        case f.RepairDone():
            return f"repair   {fact.suspect}"
        case f.AnswerGiven(observe=str(name)):
            return f"seen     {name}{_where(fact.cylinder)}: {fact.event}"
        case f.ValueMeasured(judged=f.Judgement() as judged):
            return f"read     {fact.name}{_where(fact.cylinder)}: {fact.value}, {judged.word}"
        case f.Stopped():
            return "stopped"
    return ""


def _where(cylinder: int | None) -> str:
    return f" {cylinder}" if cylinder is not None else ""


def _title(procedure: str, library: Library) -> str:
    known = library.procedures.get(procedure)
    return known.title.lower() if known else procedure


def _clock(start: datetime, at: datetime) -> str:
    days = (at.date() - start.date()).days
    return f"{f'day {days + 1} ' if days else ''}{at:%H:%M:%S}"


def twin_text(scenario: Scenario, played: Played, library: Library) -> str:
    """The golden twin of a scenario: the whole talk where it asks for that, else the outline; and the summary."""
    body = played.lines if scenario.then.transcript == "whole" else outline(played, library)
    return "\n".join([*body, "", *summary(scenario, played)]) + "\n"
