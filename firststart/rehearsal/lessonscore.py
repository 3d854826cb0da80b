"""What a pupil's way comes to, and the better path: the tool's own way through the same engine."""

from __future__ import annotations

from dataclasses import dataclass

from firststart.bench.advice import Adviser
from firststart.diagnosis.book import Book
from firststart.job import facts as f
from firststart.job.rules import Rules
from firststart.procedure.library import Library
from firststart.prompt.wording import duration
from firststart.rehearsal.conditions import Conditions
from firststart.rehearsal.kit import Kit
from firststart.rehearsal.lesson import Lesson, Marks
from firststart.rehearsal.play import Played, play
from firststart.rehearsal.scenario import Scenario

WRONG, MISJUDGED, RISK, HINT = 10, 5, 10, 3  # marks off a hundred for each (our own; a teacher may weigh otherwise)


@dataclass(frozen=True)
class Score:
    """A pupil's lesson in figures: `marks` of a hundred, minutes of the virtual clock."""

    runs: bool
    gave_up: bool
    minutes: float
    better: float  # the tool's own minutes on the same engine
    wrong: tuple[str, ...]
    misjudged: int
    risks: tuple[str, ...]
    hints: int

    @property
    def marks(self) -> int:
        """100 for the tool's own minutes or fewer, in proportion for more, 0 for an engine that does not run."""
        time = 100 * min(1.0, self.better / max(self.minutes, 1e-9)) if self.runs else 0.0
        off = WRONG * len(self.wrong) + MISJUDGED * self.misjudged + RISK * len(self.risks) + HINT * self.hints
        return max(0, round(time - off))


def better_path(rules: Rules, scenario: Scenario, kit: Kit, book: Book, seed: int) -> Played:
    """The same engine, led by the tool, with a patient person."""
    patient = scenario.model_copy(update={"when": scenario.when.model_copy(update={"person": "patient"})})
    return play(rules, patient, kit, seed=seed, adviser=Adviser(rules, book))


def score(lesson: Lesson, better: Played) -> Score:
    """What the lesson comes to so far."""
    return scored(lesson.result(), lesson.marks, _until_it_ran(better))


def scored(played: Played, marks: Marks, better: float) -> Score:
    """The score of a way through an engine."""
    return Score(
        played.runs, marks.gave_up, _until_it_ran(played), better, played.wrong, marks.misjudged,
        tuple(marks.risks or ()), marks.hints,
    )


def _until_it_ran(played: Played) -> float:
    """Minutes to the end of the try at which it ran: what comes after that is no fault-finding."""
    ran = [x.at for x in played.facts if isinstance(x, f.RunEnded) and x.procedure == "first-crank" and
           x.outcome == "ok"]  # fmt: skip
    if not ran:
        return played.minutes
    return min(played.minutes, (ran[0] - played.facts[0].at).total_seconds() / 60)


def score_lines(score: Score) -> tuple[str, ...]:
    """The score in calm sentences."""
    end = "It runs" if score.runs else "You gave it up" if score.gave_up else "It does not run yet"
    lines = [
        f"{end}, after {duration(score.minutes * 60)}. Led by its own advice the tool takes "
        f"{duration(score.better * 60)}.",
        f"Put right without need: {', '.join(_plain(w) for w in score.wrong) or 'nothing'}.",
        f"Entered other than it was: {score.misjudged or 'nothing'}. Hints: {score.hints or 'none'}.",
        f"Risks: {'; '.join(score.risks) or 'none'}.",
        f"Marks: {score.marks} of 100.",
    ]
    return tuple(lines)


def _plain(name: str) -> str:
    return name.replace("_", " ")


def answer_lines(scenario: Scenario, conditions: Conditions) -> tuple[str, ...]:
    """What was hidden."""
    if not scenario.given.hidden:
        return ("Nothing was wrong with it.",)
    lines = []
    for hidden in scenario.given.hidden:
        where = f", cylinder {hidden.cylinder}" if hidden.cylinder is not None else ""
        lines.append(f"Hidden: {conditions[hidden.condition].say}{where}.")
    return tuple(lines)


def path_lines(better: Played, library: Library) -> tuple[str, ...]:
    """The better path, one line a piece of work: minute, work, and what came of it."""
    start = better.facts[0].at
    lines, told = [], set[int]()
    for fact in better.facts:
        if isinstance(fact, f.RunStarted) and fact.why == "told":
            told.add(fact.run)
        if not isinstance(fact, f.RunEnded) or fact.run in told:
            continue
        procedure = library.procedures.get(fact.procedure)
        if procedure is None or _only_safety(fact, library):
            continue
        minute = (fact.at - start).total_seconds() / 60
        lines.append(f"{minute:4.0f} min  {procedure.title}: {fact.say}")
        if fact.procedure == "first-crank" and fact.outcome == "ok":
            break
    return tuple(lines)


def _only_safety(fact: f.RunEnded, library: Library) -> bool:
    """Quick questions of the last moment are left out of a path."""
    points = library.safety.hold_points
    procedure = library.procedures[fact.procedure]
    held = {h for r in procedure.results.values() for h in r.establishes}
    return bool(held) and all(points[h].quick for h in held if h in points)


def card_lines(scenario: Scenario) -> tuple[str, ...]:
    """The engine as its owner knows it: what a pupil may know before the work."""
    known = [f"{field.replace('-', ' ')} {text}" for field, text in scenario.given.profile.items()
             if field not in scenario.given.unknown]  # fmt: skip
    story = (scenario.story,) if scenario.story and not scenario.given.hidden else ()
    return (f"The engine: {', '.join(known)}.", *story)
