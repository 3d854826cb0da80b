"""A person who answers anything, in any order: who lies, corrects, repairs, waits, restarts and sets the clock."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from job_watch import Starter, Tally, Watched

from firststart.engine.profile import NUMBERS, UNKNOWN, WORDS
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.procedure.model import UNREAD
from firststart.units import KINDS, Measured, from_si, measured

PAUSES = (0.2, 1.0, 1.0, 3.0, 8.0, 8.0, 30.0, 65.0, 400.0)
GAPS = (1.0, 20.0, 70.0, 900.0, 5000.0, 40000.0, 500000.0)
CRANKING_WORK = 0.35  # of all work begun, that which cranks


def live(rules: Rules, seed: int, answers: int, tally: Tally) -> None:
    """One life at the bench of so many things done; at its end the record folds the same and a way leads out."""
    who = Anybody(rules, Random(seed), tally)
    for number in range(answers):
        try:
            who.act()
        except Exception as error:
            raise AssertionError(f"life {seed}, act {number}: {type(error).__name__}: {error}") from error
    who.job.check_refold()
    who.job.check_way_out()


class Anybody:
    """Drives one watched job. Every choice is taken from `r`, so a seed tells the whole story."""

    def __init__(self, rules: Rules, r: Random, tally: Tally) -> None:
        self.rules, self.r = rules, r
        self.job = Watched(rules, Starter(), tally)
        self.others: list[Watched] = []
        self.names = list(rules.library.procedures)
        self.cranking = [n for n, p in rules.library.procedures.items() if any(s.crank for s in p.steps.values())]
        self.luck = r.choice((0.6, 0.9, 0.97))  # how often the answer is the one that leads on
        self.wild = r.choice((0.02, 0.1, 0.3))  # how often something else comes in between
        for name, word in engine(r).items():
            self.job.submit(i.SetProfile(name, word=word))
        if r.random() < 0.7:
            self.job.submit(i.SetProfile("cylinders", number=measured(r.randint(1, 4), "", "count")))

    def act(self) -> None:
        """One thing the person does."""
        self.job.sleep(self.r.choice(PAUSES))
        if self.job.desk.situation.withheld_s > 60 and self.r.random() < 0.7:
            self.job.submit(i.ConfirmDate(self.job.yes_is_true() and self.r.random() < 0.95))
        elif self.job.desk.situation.place_doubted and self.r.random() < 0.7:
            self.job.submit(i.NamePlace(self.job.desk.situation.place if self.r.random() < 0.8 else self._word()))
        elif self.r.random() < self.wild:
            self.r.choice(ODD)(self)
        else:
            self.fit()

    def fit(self) -> None:
        """What the state asks for, mostly; now and then it has to wait first."""
        situation = self.job.desk.situation
        run = situation.run
        if situation.stopped and (run is None or run.why != "stop"):
            self.job.submit(i.CarryOn())
        elif situation.open_crank is not None:
            self.release()
        elif run is None:
            names = self.cranking if self.r.random() < CRANKING_WORK else self.names
            self.job.submit(i.Begin(self.r.choice(names)))
        else:
            self._answer()

    def _answer(self) -> None:
        situation = self.job.desk.situation
        assert situation.run is not None
        table = self.rules.table(situation.run.procedure, situation)
        state = table.states.get(situation.run.state)
        if state is None:
            self.job.submit(i.Tick())
        elif state.sort == "gate":
            self._at_gate()
        elif state.sort == "crank":
            self.job.submit(i.Go())
        elif state.sort == "wait":
            self.job.sleep(3600 * self.r.random())
            self.job.submit(i.Say("elapsed"))
        elif state.sort == "measure" and state.step is not None and self.r.random() < 0.7:
            assert state.step.measure is not None
            asked = state.step.measure
            low, high = asked.range
            value = low + (high - low) * self.r.choice((0.0, 0.1, 0.3, 0.5, 0.7, 1.0))
            self.job.submit(i.Give(measured(value, asked.unit, asked.quantity)))
        else:
            events = [e for e in table.events(state.name) if e != "leave"]
            self.job.submit(i.Say(events[0] if self.r.random() < self.luck else self.r.choice(events)))

    def _at_gate(self) -> None:
        situation = self.job.desk.situation
        wait = situation.run.wait_s if situation.run is not None else 0.0
        roll = self.r.random()
        if wait > 0 and roll < 0.6:
            self.job.sleep(max(wait + self.r.choice((-2.0, 0.0, 1.0)), 0.1))
            self.job.submit(i.Tick())
        elif roll < 0.9:
            self.job.submit(i.Fetch())
        else:
            self.job.submit(self.r.choice((i.Leave(), i.Go(), i.Back(), i.Say("done"))))

    def release(self) -> None:
        """It turned for a while, sometimes far too long, sometimes with a lie about it."""
        began = self.job.turning
        self.job.sleep(self.r.choice((0.3, 2.0, 4.9, 9.0, 14.0, 31.0)))
        true = self.job.truth - (began if began is not None else self.job.truth)
        lie = self.r.random() < 0.1 and true > 2
        self.job.submit(i.Release(self.r.choice((0.0, 0.1, -3.0, float("nan"))) if lie else true))

    # odd things --------------------------------------------------------------------------------------

    def stop(self) -> None:
        self.job.submit(i.Stop(self.r.choice(("voice", "pedal", "keys")), None))

    def any_input(self) -> None:
        """Whatever an input can be, at the wrong time and with nonsense in it."""
        r = self.r
        number = measured(round(r.uniform(-50, 50), 1), "degC", "temperature")
        self.job.submit(
            r.choice((
                i.Begin(r.choice(self.names)), i.Begin("make-safe"), i.Begin("no-such-work"), i.Begin("spin", "stop"),
                i.Say(self._event()), i.Say("leave"), i.Say(""), i.Say("cranked"), i.Say("elapsed"), i.Give(number),
                i.Give(self._nonsense()), i.Go(), i.Go(), i.Tick(), i.CarryOn(), i.Leave(), i.Fetch(),
                i.Back(), i.Resume(), i.Resume(True), i.NamePlace(self._word()), i.Note("x" * r.choice((1, 9000))),
                i.Mend(self._word(), r.random() < 0.5), i.ShiftClock(r.uniform(-9999, 9999)), i.ConfirmDate(False),
                i.Open("job", "other", "test"),
            ))
        )  # fmt: skip

    def tell(self) -> None:
        r = self.r
        times, seconds = r.choice((-1, 0, 1, 2, 60)), r.choice((-1.0, 0.0, 5.0, 12.0))
        self.job.submit(i.TellCrank(times, seconds, r.choice((0.0, 40.0))))

    def profile(self) -> None:
        r = self.r
        field = r.choice((*WORDS, "starting", "starter-class", "kind"))
        classes = self.rules.library.duties.by_name if field == "starter-class" else ()
        self.job.submit(i.SetProfile(field, word=r.choice((*WORDS[field], *classes, UNKNOWN, "nonsense", None))))

    def number(self) -> None:
        field = self.r.choice(("air-temperature", "cylinders", "displacement", *NUMBERS))
        kind, unit, low, high = NUMBERS[field]
        value = self.r.choice((low, high, (low + high) / 2, high * 3))
        if field == "cylinders":
            value = float(self.r.randint(1, 4))
        self.job.submit(i.SetProfile(field, number=self.r.choice((measured(value, unit, kind), None))))

    def wait(self) -> None:
        self.job.sleep(self._gap())

    def _gap(self) -> float:
        """A while; nobody lets the starter turn for an hour."""
        return self.r.choice(GAPS if self.job.turning is None else GAPS[:3])

    def restart(self) -> None:
        r = self.r
        set_s = r.choice((0.0, 0.0, 0.0, 7200.0, 300000.0, -7200.0, -1e6))
        self.job.restart(r.choice(GAPS), set_s, r.uniform(0, 30))

    def set_clock(self) -> None:
        self.job.set_clock(self.r.choice((5.0, 45.0, 900.0, 90000.0, -5.0, -70.0, -90000.0)))

    def suspend(self) -> None:
        self.job.suspend(self._gap())

    def other_job(self) -> None:
        """Go over to another job on the same engine, a new one or one that was begun before."""
        if self.job.turning is not None:
            return
        old = self.job
        if self.others and self.r.random() < 0.8:
            number = self.r.randrange(len(self.others))
            if not self.others[number].take_up(old.truth):
                return
            self.job, self.others[number] = self.others[number], old
        elif len(self.others) < 3:
            name = f"{old.job}'{len(self.others)}"
            self.job = Watched(self.rules, old.starter, old.tally, old.truth, name, old.clock, old.journal)
            self.others.append(old)
            for field, word in engine(self.r).items():
                self.job.submit(i.SetProfile(field, word=word))

    def closing(self) -> None:
        """Close the job for good, try to go on with it, and begin another on the same engine."""
        if self.r.random() > 0.15 or not self.job.submit(i.Close()):
            return
        self.any_input()
        old = self.job
        self.job = Watched(
            self.rules, old.starter, old.tally, old.truth, f"{old.job}+", old.clock, old.journal
        )  # fmt: skip
        for name, word in engine(self.r).items():
            self.job.submit(i.SetProfile(name, word=word))

    def _event(self) -> str:
        situation = self.job.desk.situation
        events = ("yes", "no", "done", "unknown", UNREAD)
        if situation.run is not None:
            table = self.rules.table(situation.run.procedure, situation)
            events += table.events(situation.run.state) if situation.run.state in table.states else ()
        return self.r.choice(events)

    def _nonsense(self) -> Measured:
        kind = self.r.choice(list(KINDS))
        unit = self.r.choice(KINDS[kind].units).symbol
        return from_si(self.r.choice((0.0, -1.0, 1e12, 3.0)), unit, kind)

    def _word(self) -> str:
        return self.r.choice(("shed", "yard", "road", "", "battery_flat", "spark_timing"))


def engine(r: Random) -> dict[str, str]:
    """The words of some engine: any kind, and more or less known of it."""
    known = r.choice((0.3, 0.7, 1.0))
    words = {name: r.choice(values) for name, values in WORDS.items() if values and r.random() < known}
    words.update(kind=r.choice(WORDS["kind"]), starting=r.choice(("electric",) * 8 + WORDS["starting"]))
    return words


ODD: tuple[Callable[[Anybody], None], ...] = (
    Anybody.stop, Anybody.any_input, Anybody.any_input, Anybody.any_input, Anybody.tell, Anybody.profile,
    Anybody.number, Anybody.other_job, Anybody.other_job, Anybody.wait, Anybody.restart, Anybody.set_clock,
    Anybody.suspend, Anybody.closing,
)  # fmt: skip
