"""What happened, in order: the events worth a line, and each run as a span of time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from firststart.job import facts as f
from firststart.report.model import Event, Span
from firststart.report.walk import Entry, Walk
from firststart.report.wording import attachment_text, capital, label, one_line, reading_text, seconds_text

_AWAY = timedelta(hours=1)  # no entry for so long: nobody was at the bench
SORTS = ("job", "work", "reading", "crank", "hold", "refused", "stop", "repair", "note", "clock")


def timeline(w: Walk, names: dict[str, str]) -> tuple[Event, ...]:
    """The events of a job in the order of its facts.

    Routine questions before a crank are left out, and so is the beginning of work whose end is told.
    """
    ended = {fact.run for _, fact in w.each(f.RunEnded)}
    return tuple(
        Event(entry.number, entry.at, sort, text, _outcome(entry.fact))
        for entry in w.entries
        if not (isinstance(entry.fact, f.RunStarted) and entry.fact.run in ended)
        for sort, text in _told(w, entry, names)
    )


def _outcome(fact: f.Fact) -> str:
    return fact.outcome if isinstance(fact, f.RunEnded) else ""


def _told(w: Walk, entry: Entry, names: dict[str, str]) -> Iterator[tuple[str, str]]:
    """What one fact tells: at most one event."""
    match entry.fact:
        case f.JobOpened() as fact:
            yield "job", f"Job {one_line(fact.job)} opened"
        case f.JobClosed():
            yield "job", "Job finished"
        case f.PlaceNamed() as fact:
            yield "job", f"Place: {one_line(fact.place)}"
        case f.RunStarted() as fact if not w.routine(fact.run):
            yield "work", f"{w.title(fact.procedure)} began"
        case f.RunEnded() as fact if not w.routine(fact.run):
            yield "work", f"{w.title(fact.procedure)}: {one_line(fact.say)}"
        case f.ValueMeasured() as fact:
            yield "reading", _reading(fact)
        case f.CrankBegan() as fact if not _ended_next(w, entry):
            yield "crank", "Starter turned; its end is not in the record"
        case f.CrankEnded() as fact:
            yield "crank", f"Starter turned for {seconds_text(fact.seconds)}{'' if fact.sure else ' (estimated)'}"
        case f.CrankTold() as fact:
            yield "crank", f"Told: {seconds_text(fact.seconds)} of cranking, ended {seconds_text(fact.ago_s)} before"
        case _:
            yield from _other(w, entry.fact, names)


def _ended_next(w: Walk, entry: Entry) -> bool:
    """Does a crank that began have an end somewhere after it?"""
    return any(isinstance(e.fact, f.CrankEnded) for e in w.entries[entry.number :])


def _other(w: Walk, fact: f.Fact, names: dict[str, str]) -> Iterator[tuple[str, str]]:
    match fact:
        case f.HoldUndone() if not w.quick(fact.hold):
            yield "hold", f"{capital(_hold(w, fact.hold))} holds no longer: {one_line(fact.because)}"
        case f.StepRefused() if not all(w.quick(n) for n in fact.lacking):
            yield "refused", f"{w.title_of_run(fact.run)} had to wait"
        case f.Stopped():
            yield "stop", "Stop"
        case f.CarriedOn():
            yield "stop", "Carried on"
        case f.RepairDone():
            name = one_line(names.get(fact.suspect, label(fact.suspect)))
            yield "repair", f"{'Mended' if fact.success else 'Could not mend'}: {name}"
        case f.NoteAdded():
            yield "note", f"Note: {_short(one_line(fact.text))}"
        case f.AttachmentKept():
            told = f": {_short(one_line(fact.text))}" if fact.text.strip() else ""
            yield "note", f"{attachment_text(fact.attachment)}{told}"
        case f.ClockSet():
            yield "clock", f"Clock: {one_line(fact.note) or 'set; rests run on'}"
        case f.JobResumed():
            yield "job", f"Taken up again after {seconds_text(fact.gap_s)}"


def _reading(fact: f.ValueMeasured) -> str:
    cylinder = f", cylinder {fact.cylinder}" if fact.cylinder is not None else ""
    verdict = f" ({label(fact.judged.word)})" if fact.judged is not None else ""
    return f"{capital(label(fact.name))}{cylinder}: {reading_text(fact.value)}{verdict}"


def _hold(w: Walk, name: str) -> str:
    points = w.rules.library.safety.hold_points
    return one_line(points[name].say) if name in points else label(name)


def _short(text: str, most: int = 80) -> str:
    return text if len(text) <= most else text[: most - 3].rstrip() + "..."


def spans(w: Walk) -> tuple[Span, ...]:
    """Each run from its beginning to its end, or to the last fact while it is under way."""
    times = [entry.at for entry in w.entries]
    depths: dict[int, int] = {}
    began: dict[int, int] = {}
    found: dict[int, Span] = {}
    for entry in w.entries:
        match entry.fact:
            case f.RunStarted() as fact if not w.routine(fact.run):
                depths[fact.run] = depths[fact.parent] + 1 if fact.parent in depths else 0
                began[fact.run] = entry.number
            case f.RunEnded() as fact if fact.run in began:
                found[fact.run] = _span(w, fact.run, times[began[fact.run] - 1 : entry.number], fact.outcome, depths)
    for run, number in began.items():
        if run not in found:
            found[run] = _span(w, run, times[number - 1 :], "", depths)
    return tuple(found[run] for run in sorted(found))


def _span(w: Walk, run: int, times: Sequence[datetime], outcome: str, depths: dict[int, int]) -> Span:
    """A run through the times of its facts, cut where nobody was at the bench; a clock set back adds nothing."""
    pieces: list[tuple[datetime, datetime]] = []
    start = last = times[0]
    for time in times[1:]:
        if not timedelta(0) <= time - last <= _AWAY:
            pieces.append((start, last))
            start = time
        last = time
    pieces.append((start, last))
    return Span(run, w.title_of_run(run), times[0], times[-1], outcome, depths[run], tuple(pieces))
