"""Invented jobs for the tests of the report, made through the conductor on a simulated clock.

The library beside this file and the judges below are invented too: the report must show what a record
holds, whatever the figures are.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor
from firststart.bench.desk import Desk, open_job, resume_job
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.judge.model import Context, Judge, Reading, Verdict
from firststart.procedure.catalogue import load_library
from firststart.report.build import build_report
from firststart.report.html import to_html
from firststart.report.model import DiagnosisPart, NextCheck, Report, Round, Shift, Suspect
from firststart.report.text import to_text
from firststart.units import measured

LIBRARY = Path(__file__).parent / "report_library"
START = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
PSI = 6894.757293168361


def _pressure(reading: Reading | None, _context: Context) -> Verdict:
    assert reading is not None
    low, high, si = 120 * PSI, 150 * PSI, reading.value.si
    word = "low" if si < low else "inside"
    return Verdict(
        word, f"{reading.value} is {word}. Expected 120 to 150 psi.", low, high, "psi", "pressure", "band.pressure",
        "an invented manual, page 12", "read", ("sea level assumed",),
    )  # fmt: skip


def _volts(reading: Reading | None, _context: Context) -> Verdict:
    assert reading is not None
    low = 12.4 if reading.name.endswith("rest") else 9.6
    word = "good" if reading.value.si >= low else "poor"
    return Verdict(
        word, f"{reading.value} is {word}.", low, None, "V", "voltage", f"band.{reading.name}", "an invented table",
        "read",
    )  # fmt: skip


def _pressure_set(_reading: Reading | None, context: Context) -> Verdict:
    series = [v.si for v in context.series("compression.dry").values()]
    word = "even" if min(series) >= 0.75 * max(series) else "uneven"
    return Verdict(
        word, f"The cylinders are {word}.", 0.75 * max(series), None, "psi", "pressure", "set.ratio",
        "an invented rule", "common practice, no source",
    )  # fmt: skip


JUDGES = {
    "pressure": Judge("pressure", "pressure", ("inside", "low"), _pressure),
    "volts": Judge("volts", "voltage", ("good", "poor"), _volts),
    "pressure-set": Judge("pressure-set", "", ("even", "uneven"), _pressure_set),
}


@cache
def rules() -> Rules:
    """The rules of the invented library."""
    return Rules(load_library(LIBRARY), JUDGES)


class Bench:
    """A person at the bench: words in, time passing, facts out."""

    def __init__(
        self, job: str = "green-twin-1", engine: str = "green twin", place: str = "barn", start: datetime = START
    ) -> None:
        self.journal, self.clock, self.job = MemoryJournal(), SimulatedClock(start), job
        self.desk = open_job(rules(), self.journal, self.clock, i.Open(job, engine, "0.1.0", place))
        self.conductor = Conductor(self.desk, Adviser(rules(), None))

    def say(self, *words: str, every_s: float = 20) -> None:
        """Say each of `words`, some time apart. A word such as "crank 4.2" turns the starter that long."""
        for word in words:
            self.clock.sleep(every_s)
            if word.startswith("crank "):
                self.crank(float(word[6:]))
            else:
                self.conductor.hear(word)

    def crank(self, seconds: float) -> None:
        self.conductor.hear("go")
        self.clock.sleep(seconds)
        self.conductor.release()

    def work(self, procedure: str, *words: str) -> None:
        """Begin a procedure and answer it."""
        self.clock.sleep(40)
        self.desk.submit(i.Begin(procedure, "plan"))
        self.say(*words)

    def give(self, *inputs: i.Input) -> None:
        for given in inputs:
            self.clock.sleep(15)
            self.desk.submit(given)

    def home(self, hours: float) -> None:
        """Leave the bench and come back: the date is right, and the place is the same."""
        self.clock.sleep(hours * 3600)
        self.desk = resume_job(rules(), self.journal, self.clock, self.job)
        self.conductor = Conductor(self.desk, Adviser(rules(), None))
        self.conductor.greet()
        if self.desk.situation.withheld_s:
            self.desk.submit(i.ConfirmDate(True))
        self.desk.submit(i.NamePlace(self.desk.situation.place))

    @property
    def facts(self) -> tuple[f.Fact, ...]:
        return self.journal.read(self.job)

    @property
    def situation(self) -> Desk:
        return self.desk


def _profile(bench: Bench, **numbers: tuple[float, str, str]) -> None:
    bench.give(i.SetProfile("kind", "motorcycle"), i.SetProfile("starting", "electric"), i.SetProfile("battery", "12"))
    for field, value in numbers.items():
        bench.give(i.SetProfile(field.replace("_", "-"), number=measured(*value)))


@cache
def weekend() -> Bench:
    """Two days on one engine: a weak battery mended, a low cylinder, a correction, a stop, no start."""
    bench = Bench()
    _profile(
        bench, cylinders=(2, "", "count"), displacement=(360, "ml", "volume"), ratio=(9.5, ":1", "ratio"),
        air_temperature=(12, "degC", "temperature"), years=(11, "year", "time"),
    )  # fmt: skip
    bench.work("place", "open air")
    bench.work("fire", "in the green")
    bench.work("oil", "done", "between the marks")
    bench.work("battery", "12.31 V", "all clear", "crank 3.4", "8.9 V")
    bench.give(i.Note("Battery is from 2019 by its label. <b>Charge</b> it overnight."))
    bench.home(22)
    bench.give(i.Mend("battery_flat"), i.TellCrank(2, 3, 60))
    bench.work("place", "open air")
    bench.work("fire", "in the green")
    bench.work("battery", "12.74 V", "all clear", "crank 3.2", "10.4 V")
    bench.work("compression", "all clear", "crank 5", "118 psi", "go back", "128 psi")
    bench.say("all clear", "crank 5", every_s=45)
    bench.say("96 psi", "done", "all clear", every_s=60)
    bench.say("crank 5", "124 psi", every_s=60)
    bench.work("first-crank", "all clear")
    bench.clock.sleep(300)
    bench.say("next", "all clear", "crank 8", "nothing at all")
    bench.give(i.Begin("oil", "asked"))
    bench.say("stop", "done", "carry on")
    return bench


def suspects() -> DiagnosisPart:
    """What a diagnosis might say after the weekend; names and figures invented."""
    at = START + timedelta(hours=24)
    return DiagnosisPart(
        ruled_out=(Suspect("battery_flat", "a flat battery", 0.01, "ruled out", "battery under load: good", at),),
        left=(
            Suspect("points_dirty", "dirty contact points", 0.46, "likely"),
            Suspect("tap_shut", "a shut fuel tap", 0.31, "possible"),
            Suspect("rings", "worn rings", 0.12, "possible"),
        ),
        next_check=NextCheck(
            "the spark at a test gap", "Fit a spark tester to cylinder one, and crank.",
            "it tells low tension from fuel supply", 4, "Not the carburettor: it tells less and takes 25 minutes.",
        ),
        reason="Check the spark at a test gap, about 4 minutes: it tells low tension from fuel supply.",
        outside=0.03,
        rounds=(
            Round("the battery under load", "good", at, (
                Shift("a flat battery", 0.38, 0.01), Shift("dirty contact points", 0.28, 0.41),
                Shift("a shut fuel tap", 0.19, 0.28), Shift("worn rings", 0.05, 0.08),
            )),
            Round("compression, dry", "low", at, (
                Shift("dirty contact points", 0.41, 0.46), Shift("a shut fuel tap", 0.28, 0.31),
                Shift("worn rings", 0.08, 0.12),
            )),
        ),
        names={"battery_flat": "a flat battery"},
    )  # fmt: skip


def golden_report() -> Report:
    """The weekend, six hours after its last word, with its diagnosis."""
    bench = weekend()
    return build_report(bench.facts, rules(), bench.clock.now() + timedelta(hours=6), suspects())


@cache
def golden_page() -> str:
    """The page of the weekend, made once."""
    return to_html(golden_report())


if __name__ == "__main__":
    print(to_text(golden_report()), end="")
