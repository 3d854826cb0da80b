"""One fact of every kind with every field told, for samples and tests. Engines and people are invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from firststart.job import facts as f
from firststart.job.attachment import Attachment
from firststart.units import Measured

AT = datetime(2026, 5, 2, 9, 0, 0, 123456, tzinfo=UTC)
PSI = Measured(118.0, "psi", "pressure", 813581.3604)
JUDGED = f.Judgement(
    judge="compression", word="low", say="Low for this engine.", low=830000.0, high=1130000.0, unit="psi",
    limit="compression.band", source="an invented handbook, table 1", mark="computed", details=("cold", "500 m"),
)  # fmt: skip

PHOTO = Attachment(
    sort="photo", digest="ab" * 32, size=120_345, name="plug 2.jpg", width=1600, height=1200,
    taken="2026-05-02T11:00:00", removed=("where it was taken",),
)  # fmt: skip

EVERY: tuple[f.Fact, ...] = (
    f.JobOpened(at=AT, job="twin", engine="green twin", tool="0.1.0", language="en"),
    f.PlaceNamed(at=AT, place="the shed — behind the house"),
    f.ProfileNoted(at=AT, field="kind", word="motorcycle", rest_s=0),
    f.ProfileNoted(at=AT, field="displacement", number=Measured(650.0, "ml", "volume", 0.00065), rest_s=12.5),
    f.RunStarted(at=AT, run=1, procedure="own-work", digest="0123456789abcdef", why="plan", parent=None),
    f.StepEntered(at=AT, run=1, state="crank-1", question=True, hazards=("cranking",)),
    f.AnswerGiven(
        at=AT, run=1, state="look-1", event="dry", said="dry and grey", channel="voice", observe="plug.look", cylinder=1
    ),
    f.ValueMeasured(
        at=AT, run=1, state="read-1", name="compression", value=PSI, instrument="compression gauge",
        resolution=17236.89, cylinder=1, judged=JUDGED, said="one one eight", channel="voice", corrects=3,
    ),
    f.SetJudged(at=AT, run=1, state="judge", judged=JUDGED),
    f.StepRefused(at=AT, run=1, state="crank-2", lacking=("fire-ready",), wait_s=61.5, reason="Let it rest."),
    f.CrankBegan(at=AT, run=1, state="crank-2", limit_s=5.0),
    f.CrankEnded(at=AT, run=1, seconds=4.75, sure=False),
    f.CrankTold(at=AT, seconds=5.0, ago_s=30.0),
    f.WaitBegan(at=AT, run=1, state="cool", seconds=120.0),
    f.HoldMet(at=AT, hold="fire-ready", by="fire-readiness"),
    f.HoldUndone(at=AT, hold="fire-ready", because="the work moved to another place"),
    f.WentBack(at=AT, run=1, state="crank-1"),
    f.RunEnded(at=AT, run=1, procedure="own-work", result="low", outcome="fault", say="It is low."),
    f.Stopped(at=AT, channel="pedal"),
    f.CarriedOn(at=AT),
    f.RepairDone(at=AT, suspect="ring_gap", success=False, procedure="mend-top-end"),
    f.EvidenceStaled(at=AT, observe="compression", because="the engine was opened"),
    f.ClockSet(at=AT, shift_s=-60.0, note="the clock was put forward", withheld_s=60.0),
    f.JobResumed(at=AT, gap_s=86400.0),
    f.NoteAdded(at=AT, text="Ölfleck: \"links\"\nunter dem Zylinder; it's 12,6 \\ 0"),
    f.AttachmentKept(at=AT, attachment=PHOTO, text="the plug of cylinder 2"),
    f.JobClosed(at=AT),
)  # fmt: skip


FIRST = tuple(fact for fact in EVERY if not isinstance(fact, f.AttachmentKept))
"""The facts of the samples that were made before there were photos and sounds."""


def job_of(length: int, name: str = "twin", engine: str = "green twin", text: str = "") -> list[f.Fact]:
    """A job of that many entries in which every kind comes up again and again; nothing lies beside its record."""
    opened = f.JobOpened(at=AT, job=name, engine=engine, tool="test")
    rest = FIRST[1:-1]
    facts: list[f.Fact] = [opened]
    for number in range(1, length):
        fact = rest[number % len(rest)].model_copy(update={"at": AT + timedelta(seconds=number)})
        if isinstance(fact, f.NoteAdded):
            fact = fact.model_copy(update={"text": f"{number}: {text or fact.text}"})
        facts.append(fact)
    return facts
