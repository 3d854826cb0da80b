"""Answers that later work has made stale are named, with the day and the work."""

from __future__ import annotations

from firststart.bench.desk import open_job
from firststart.bench.gone import gone_evidence
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal


def test_what_counts_no_more_is_told_once_until_it_is_asked_again(rules: Rules) -> None:
    """The look at the plugs is old since the plugs were changed; asked again it is no longer missed."""
    clock = SimulatedClock()
    desk = open_job(rules, MemoryJournal(), clock, i.Open("job", "twin", "test", "shed"))
    run = f.RunStarted(at=clock.now(), run=1, procedure="plugs", digest="", why="plan", parent=None)
    entered = f.StepEntered(at=clock.now(), run=1, state="look.1", question=True, hazards=())

    def seen(word: str, cylinder: int) -> f.AnswerGiven:
        return f.AnswerGiven(
            at=clock.now(), run=1, state=f"look.{cylinder}", event=word, observe="plug.look", cylinder=cylinder
        )

    for fact in (run, entered, seen("dry", 1), seen("wet", 2)):
        desk.take(fact)
    assert () == gone_evidence(rules.library, desk.situation)
    clock.sleep(60)
    desk.take(f.EvidenceStaled(at=clock.now(), observe="plug.look", because="New plugs"))
    (gone,) = gone_evidence(rules.library, desk.situation)

    assert ("New plugs", desk.now) == (gone.because, gone.since)
    assert gone.say
    assert "." not in gone.say
    for cylinder in (1, 2):
        desk.take(seen("dry", cylinder))
    assert () == gone_evidence(rules.library, desk.situation)
