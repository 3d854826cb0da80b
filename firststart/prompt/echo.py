"""What is said of the facts just recorded, before the next prompt: verdicts, ends, refusals, stale points."""

from __future__ import annotations

from collections.abc import Iterable

from firststart.job import facts as f
from firststart.procedure.library import Library
from firststart.prompt.wording import duration


def echo(facts: Iterable[f.Fact], library: Library) -> tuple[str, ...]:
    """The sentences to say about `facts`, in order, none twice."""
    said: list[str] = []
    for fact in facts:
        said += _sentences(fact, library)
    return tuple(dict.fromkeys(said))


def _sentences(fact: f.Fact, library: Library) -> list[str]:
    match fact:
        case f.ValueMeasured(judged=f.Judgement() as judged):
            return [judged.say]
        case f.SetJudged():
            return [fact.judged.say]
        case f.RunEnded():
            return [fact.say]
        case f.CrankEnded(sure=True):
            return [f"That was {fact.seconds:.0f} seconds of cranking."]
        case f.CrankEnded():
            return [f"A crank had no end in the record. It is counted as {duration(fact.seconds)}."]
        case f.HoldUndone() if fact.hold in library.safety.hold_points:
            point = library.safety.hold_points[fact.hold]
            return [] if point.quick else [f"{_capital(point.say)} no longer holds ({fact.because})."]
        case f.CrankTold():
            return [f"Counted: cranking of {duration(fact.seconds)}, told afterwards."]
        case f.ClockSet(withheld_s=0) if fact.shift_s > 0:
            return ["The clock was set back. Rests run on from the newest entry."]
        case f.ClockSet(shift_s=0):
            return ["The gap is not counted. Rests run on from the newest entry."]
        case f.Stopped():
            return ["Stopped."]
    return []


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
