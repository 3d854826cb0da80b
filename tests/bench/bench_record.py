"""A record made fact by fact, for tests of what the diagnosis makes of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from firststart.job import facts as f
from firststart.job.fold import fold_all
from firststart.job.situation import Situation

BEGAN = datetime(2025, 5, 3, 10, 0, tzinfo=UTC)
MOWER = {
    "kind": "mower", "fuel": "petrol", "cycle": "four-stroke", "starting": "recoil", "ignition": "magneto",
    "feed": "gravity", "battery": "none", "storage": "damp",
}


class Record:
    """Facts of a job on a mower, a minute apart."""

    def __init__(self) -> None:
        self.facts: list[f.Fact] = [f.JobOpened(at=BEGAN, job="job", engine="mower", tool="test")]
        self.runs = 0
        for field, word in MOWER.items():
            self.add(f.ProfileNoted, field=field, word=word)

    def add(self, kind: type[f.Fact], *, later: bool = True, **more: object) -> Record:
        """One fact, a minute later or at the same moment as the one before."""
        at = BEGAN + timedelta(minutes=len(self.facts)) if later else self.facts[-1].at
        self.facts.append(kind(at=at, **more))
        return self

    def work(self, procedure: str, result: str, outcome: str, *told: tuple[str, str], hold: str = "") -> Record:
        """One piece of work from its beginning to its end, and what was told in it."""
        self.runs += 1
        self.add(f.RunStarted, run=self.runs, procedure=procedure, digest="", why="asked")
        for name, word in told:
            self.add(f.AnswerGiven, run=self.runs, state="x", event=word, observe=name)
        if hold:
            self.add(f.HoldUndone, hold=hold, because="it failed")
        return self.add(f.RunEnded, run=self.runs, procedure=procedure, result=result, outcome=outcome, say="")

    def no_start(self, *told: tuple[str, str]) -> Record:
        """A try to start that gave silence, and what was told beside it."""
        return self.work("first-crank", "look", "bad", ("cranking", "normal"), ("firing", "silent"), *told)

    def mended(self, suspect: str, *stale: str) -> Record:
        """A repair, and what it made stale at the same moment."""
        self.add(f.RepairDone, suspect=suspect)
        for name in stale:
            self.add(f.EvidenceStaled, later=False, observe=name, because="a repair")
        return self

    @property
    def situation(self) -> Situation:
        """Where the job stands."""
        return fold_all(self.facts)
