"""Ways round the gates and permits that were looked for with a hostile eye: each is shut."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import islice

import pytest
from job_desk import HOLDS, READ, clock_of, crank, fresh, meet, new_desk, ready_to_crank, set_clock, state, wait_of

from firststart.bench.desk import Desk, open_job, resume_job
from firststart.errors import InputError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.procedure.model import Procedure
from firststart.units import measured

NAN, INF = float("nan"), float("inf")


def turning(rules: Rules) -> Desk:
    """A job whose starter turns."""
    desk = ready_to_crank(rules)
    desk.submit(i.Go())
    return desk


def refused(desk: Desk, given: i.Input, words: str = ".") -> None:
    """`given` is refused in a sentence, and nothing is recorded of it."""
    before = desk.journal.read(desk.job)
    with pytest.raises(InputError, match=words):
        desk.submit(given)
    assert before == desk.journal.read(desk.job)


def make_safe(desk: Desk) -> None:
    """Answer what a stop leads to."""
    while desk.situation.run is not None and desk.situation.run.why == "stop":
        run = desk.situation.run
        desk.submit(i.Say(desk.rules.table(run.procedure, desk.situation).events(run.state)[0]))


# the profile -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "change",
    [
        i.SetProfile("starting", word="kick"),
        i.SetProfile("starting", word="recoil"),
        i.SetProfile("starting", word="hand"),
        i.SetProfile("starter-class", word="outboard"),
        i.SetProfile("starter-class", word="jet-drive"),
        i.SetProfile("kind", word="outboard"),
        i.SetProfile("air-temperature", number=measured(-40, "degC", "temperature")),
    ],
    ids=lambda c: f"{c.field} {c.word}",
)
def test_a_rest_that_is_owed_is_not_shortened_by_the_profile(spin_rules: Rules, change: i.SetProfile) -> None:
    """Calling the engine another one, or the day colder, ends no rest; it runs its time and then ends."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 12)
    owed = wait_of(desk)
    desk.submit(change)

    assert wait_of(desk) >= owed
    clock_of(desk).sleep(owed - 1)
    assert not spin_rules.permit(desk.situation, desk.now).allowed
    assert "permit" not in spin_rules.truths(desk.situation, desk.now)


def test_an_engine_that_is_kicked_needs_no_rest_once_the_old_one_is_over(spin_rules: Rules) -> None:
    """After the owed rest an engine that no motor turns is cranked again at once."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    owed = wait_of(desk)
    desk.submit(i.SetProfile("starting", word="kick"))
    clock_of(desk).sleep(owed + 1)
    for _ in range(3):
        meet(desk, *HOLDS, "clear-to-crank")
        desk.submit(i.Say("turned"))
        crank(desk, 10)

    assert 4 == len(desk.situation.cranks)


def test_cranks_of_a_kicked_engine_count_when_it_turns_out_to_have_a_starter(spin_rules: Rules) -> None:
    """Whoever says kick, cranks by the starter and then says electric has to rest for all of it."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.SetProfile("starting", word="kick"))
    meet(desk, *HOLDS, "clear-to-crank")
    crank(desk, 30)
    assert 0 == wait_of(desk)
    desk.submit(i.SetProfile("starting", word="electric"))

    assert wait_of(desk) > 120


@pytest.mark.parametrize("field", ["starter-class", "compression-rule"])
def test_a_word_that_nothing_knows_is_refused(spin_rules: Rules, field: str) -> None:
    """An unknown class or rule would stop all later work, and stop itself."""
    refused(new_desk(spin_rules), i.SetProfile(field, word="nonsense"), "nonsense")


def test_a_starter_class_that_is_gone_leaves_stop_and_permit_at_work(spin_rules: Rules) -> None:
    """A record that names a class which the library no longer has is read as if it named none."""
    desk = ready_to_crank(spin_rules)
    gone = f.ProfileNoted(at=desk.clock.now(), field="starter-class", word="no-longer-there")
    desk.journal.append(desk.job, desk.situation.count, (gone,))
    again = resume_job(spin_rules, desk.journal, desk.clock, desk.job)

    assert "motorcycle" == spin_rules.duty(again.situation).name
    again.submit(i.Stop())
    assert again.situation.stopped


def test_a_profile_that_takes_the_step_away_leads_back_to_the_first_gate(rules: Rules) -> None:
    """With one cylinder fewer the second cylinder's step is gone; the work begins again, gates and all."""
    desk = at_second_cylinder(rules)
    desk.submit(i.SetProfile("cylinders", number=measured(1, "", "count")))

    assert desk.situation.run is not None
    assert desk.situation.run.state in rules.table("compression", desk.situation).states
    assert ".2" not in desk.situation.run.state


def test_other_is_no_word_of_the_profile(spin_rules: Rules) -> None:
    """An answer of "other" leaves the field unknown and is not refused."""
    ask = Procedure.model_validate({
        "id": "spin", "title": "Ask for it", "purpose": "Ask for the kind.", "stage": "compression", "minutes": 1,
        "steps": {"ask": {"cmd": "What is it?", "why": "It tells.", "choices": {"car": None, "other": None},
                          "sets": "kind", "go": "done"}},
        "results": {"done": {"outcome": "ok", "say": "It was told."}},
    })  # fmt: skip
    asking = Rules(replace(spin_rules.library, procedures={**spin_rules.library.procedures, "spin": ask}))
    desk = new_desk(asking)
    desk.submit(i.Begin("spin"))
    desk.submit(i.Say("other"))

    assert desk.situation.profile.word("kind") is None


# while the starter turns -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "given",
    [i.Begin("place"), i.Leave(), i.Say("leave"), i.Say("cranked"), i.Go(), i.Back(), i.Fetch(), i.Tick(), i.Close()],
    ids=lambda g: type(g).__name__,
)
def test_nothing_else_happens_while_the_starter_turns(spin_rules: Rules, given: i.Input) -> None:
    """Work cannot be begun, left or closed around a crank, so that its end always finds its step."""
    desk = turning(spin_rules)
    refused(desk, given)
    clock_of(desk).sleep(3)
    desk.submit(i.Release(3))

    assert "spin:seen" == state(desk)
    assert 3 == desk.situation.cranks[-1].seconds


def test_a_step_that_is_gone_when_the_starter_stops_is_no_trap(rules: Rules) -> None:
    """The profile changed while it turned, and its step is no more: the crank is kept and the work stands."""
    desk = at_second_cylinder(rules)
    desk.submit(i.Go())
    desk.submit(i.SetProfile("cylinders", number=measured(1, "", "count")))
    clock_of(desk).sleep(2)
    desk.submit(i.Release(2))

    assert desk.situation.open_crank is None
    assert desk.situation.run is not None
    assert desk.situation.run.state in rules.table("compression", desk.situation).states


def at_second_cylinder(rules: Rules) -> Desk:
    """A job that stands at the crank of the second cylinder."""
    desk = new_desk(rules)
    desk.submit(i.SetProfile("cylinders", number=measured(2, "", "count")))
    meet(desk, *HOLDS, "clear-to-crank", "no-vapour", "leak-free", "stop-proven")
    desk.submit(i.Begin("compression"))
    for _ in range(60):
        current = rules.table("compression", desk.situation).states[state(desk).split(":")[1]]
        if current.sort == "crank" and current.cylinder == 2:
            return desk
        answer(desk, rules)
    raise AssertionError("the second cylinder was never reached")


def answer(desk: Desk, rules: Rules) -> None:
    """Whatever leads on, time for the starter and fresh hold points included."""
    meet(desk, *HOLDS, "clear-to-crank", "no-vapour", "leak-free", "stop-proven")
    run = desk.situation.run
    assert run is not None
    current = rules.table(run.procedure, desk.situation).states[run.state]
    if current.sort == "gate":
        clock_of(desk).sleep(max(run.wait_s, 1) + 1)
        desk.submit(i.Tick())
    elif current.sort == "crank":
        crank(desk, 1)
    elif current.step is not None and current.step.measure is not None:
        asked = current.step.measure
        desk.submit(i.Give(measured(asked.range[1] / 3, asked.unit, asked.quantity)))
    else:
        desk.submit(i.Say(rules.table(run.procedure, desk.situation).events(run.state)[0]))


def test_saying_that_it_was_cranked_cranks_nothing(spin_rules: Rules) -> None:
    """A crank is no question: its event comes from a starter that turned and stood."""
    desk = ready_to_crank(spin_rules)
    refused(desk, i.Say("cranked"))
    desk.submit(i.Go())
    refused(desk, i.Say("cranked"))

    assert "spin:turn" == state(desk)


def test_a_wait_is_over_when_its_time_is_and_not_when_somebody_says_so(spin_rules: Rules) -> None:
    """Said too early, or looked at too early, nothing happens; at its end it goes on by itself."""
    wait = {
        "rest": {
            "cmd": "Wait for the oil to run down.", "why": "It hides.", "wait": {"minutes": 5, "for": "the oil"},
            "go": "done",
        },
    }  # fmt: skip
    made = Procedure.model_validate({**READ.model_dump(by_alias=True), "id": "pause", "steps": wait})
    library = replace(spin_rules.library, procedures={**spin_rules.library.procedures, "pause": made})
    desk = new_desk(Rules(library))
    desk.submit(i.Begin("pause"))
    clock_of(desk).sleep(299)
    for given in (i.Say("elapsed"), i.Tick()):
        desk.submit(given)
        assert "pause:rest" == state(desk)
    clock_of(desk).sleep(1)
    desk.submit(i.Tick())

    assert "done" == desk.situation.ended["pause"].result


@pytest.mark.parametrize("told", [0.1, 0.0, -5.0, NAN, -INF, INF])
def test_a_count_that_falls_short_of_the_clocks_is_not_believed(spin_rules: Rules, told: float) -> None:
    """Nine seconds by the clock are nine seconds, whatever the release says."""
    desk = turning(spin_rules)
    clock_of(desk).sleep(9)
    desk.submit(i.Release(told))

    assert 9 <= desk.situation.cranks[-1].seconds <= 10.001


def test_a_count_that_is_far_too_long_counts_and_moves_no_time(spin_rules: Rules) -> None:
    """A crank said to have lasted for ever counts as an hour that ends now; the clock does not run ahead by it."""
    desk = turning(spin_rules)
    clock_of(desk).sleep(1)
    desk.submit(i.Release(1e9))
    kept = desk.situation.cranks[-1]

    assert 3600 == kept.seconds
    assert desk.clock.now() == desk.now
    assert kept.start + kept.seconds == pytest.approx(desk.now.timestamp(), abs=1e-3)
    assert desk.submit(i.Note("later")) and not any(isinstance(x, f.ClockSet) for x in desk.last)


def test_a_crank_cut_off_by_a_crash_counts_as_the_longest(spin_rules: Rules) -> None:
    """Nobody saw it end, so it counts as thirty seconds, whatever the clock says of it."""
    journal = MemoryJournal()
    desk = ready_to_crank(spin_rules, journal)
    desk.submit(i.Go())
    clock_of(desk).sleep(1)
    again = resume_job(spin_rules, journal, desk.clock, "job")
    again.submit(i.Resume())

    assert 30 == again.situation.cranks[-1].seconds


# stop ------------------------------------------------------------------------------------------------------


def deep(rules: Rules) -> Desk:
    """So much work is waiting that no more may begin."""
    desk = new_desk(rules)
    names = (n for n, p in rules.library.procedures.items() if n != "make-safe" and not p.prereq)
    for name in islice(names, 40):
        if len(desk.situation.runs) < 20:
            desk.submit(i.Begin(name))
    refused(desk, i.Begin("spin"))
    return desk


def waiting_below(rules: Rules) -> Desk:
    """Making safe was asked for, and other work begun on top of it."""
    desk = new_desk(rules)
    desk.submit(i.Begin("make-safe"))
    desk.submit(i.Begin("place"))
    return desk


def asked_for(rules: Rules) -> Desk:
    """Making safe was asked for, and is under way."""
    desk = new_desk(rules)
    desk.submit(i.Begin("make-safe"))
    return desk


def finished(rules: Rules) -> Desk:
    """The job is closed."""
    desk = new_desk(rules)
    desk.submit(i.Close())
    return desk


@pytest.mark.parametrize("make", [new_desk, deep, waiting_below, asked_for, finished, turning, ready_to_crank])
def test_stop_is_never_refused_and_leads_to_making_safe_and_out_again(
    spin_rules: Rules, make: Callable[[Rules], Desk]
) -> None:
    """However the work stands, stop is obeyed; making safe is answered, and carrying on is possible."""
    desk = make(spin_rules)
    desk.submit(i.Stop())
    run = desk.situation.run

    assert desk.situation.stopped
    assert desk.situation.open_crank is None
    assert run is not None
    assert ("make-safe", "stop") == (run.procedure, run.why)
    make_safe(desk)
    assert desk.situation.stopped
    desk.submit(i.CarryOn())
    assert not desk.situation.stopped


@pytest.mark.parametrize("seconds", [None, NAN, INF, -1.0, 1e12, 0.0])
def test_stop_is_obeyed_whatever_it_says_of_the_seconds(spin_rules: Rules, seconds: float | None) -> None:
    """A count that is none, or nonsense, stops no stop; the clock's own count stands."""
    desk = turning(spin_rules)
    clock_of(desk).sleep(4)
    desk.submit(i.Stop("pedal", seconds))

    assert desk.situation.stopped
    assert desk.situation.cranks[-1].seconds >= 4


def test_stop_twice_goes_on_with_the_same_making_safe(spin_rules: Rules) -> None:
    """A second stop while things are made safe begins nothing new."""
    desk = new_desk(spin_rules)
    desk.submit(i.Stop())
    desk.submit(i.Say("done"))
    before = state(desk)
    desk.submit(i.Stop())

    assert before == state(desk)
    assert 1 == len(desk.situation.runs)


@pytest.mark.parametrize(
    "given",
    [i.Begin("place"), i.Leave(), i.Say("leave"), i.Go(), i.Fetch(), i.CarryOn(), i.Close()],
    ids=lambda g: type(g).__name__,
)
def test_making_safe_cannot_be_left_out(spin_rules: Rules, given: i.Input) -> None:
    """While things are made safe nothing leads away from it."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Stop())

    refused(desk, given)


@pytest.mark.parametrize(
    "given",
    [i.Say("turned"), i.Leave(), i.Say("leave"), i.Back(), i.Go(), i.Fetch(), i.Begin("place"), i.Tick(), i.Close()],
    ids=lambda g: type(g).__name__,
)
def test_while_stopped_only_carrying_on_goes_on(spin_rules: Rules, given: i.Input) -> None:
    """When things are safe the work stands still until somebody carries on."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Stop())
    make_safe(desk)

    refused(desk, given, "carry on")


@pytest.mark.parametrize(
    "given",
    [i.SetProfile("fuel", word="diesel"), i.NamePlace("yard"), i.TellCrank(1, 5), i.Resume()],
    ids=lambda g: type(g).__name__,
)
def test_what_is_told_while_stopped_begins_no_work(spin_rules: Rules, given: i.Input) -> None:
    """The profile, the place and cranking can be told, but no question jumps up by it."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Stop())
    make_safe(desk)
    before = [r.run for r in desk.situation.runs]
    desk.submit(given)

    assert before == [r.run for r in desk.situation.runs]


def test_carrying_on_needs_a_stop(spin_rules: Rules) -> None:
    """Nothing was stopped, so nothing carries on."""
    refused(new_desk(spin_rules), i.CarryOn(), "not stopped")


# facts that come back --------------------------------------------------------------------------------------


def test_a_place_check_does_not_come_back_with_the_place(spin_rules: Rules) -> None:
    """Out into the yard and back into the shed: the extinguisher may have stayed behind."""
    desk = new_desk(spin_rules)
    meet(desk, "fire-ready", "pre-lubed")
    desk.submit(i.NamePlace("yard"))
    desk.submit(i.NamePlace("shed"))

    assert not fresh(desk, "fire-ready")
    assert fresh(desk, "pre-lubed")


def test_a_start_makes_the_ignition_live_again(spin_rules: Rules) -> None:
    """Whoever tries to start has undone what made the ignition dead, though no step says so.

    Nor does one say that the engine may run then, and must be stopped: it is demanded all the same.
    """
    start = SPIN_TO_START
    rules = Rules(replace(spin_rules.library, procedures={**spin_rules.library.procedures, "spin": start}))
    refused(ready_to_crank(rules), i.Go())  # it still stands at the gate
    desk = new_desk(rules)
    meet(desk, *HOLDS, "clear-to-crank", "no-vapour", "leak-free", "stop-proven")
    desk.submit(i.Begin("spin"))
    assert fresh(desk, "ignition-dead")
    desk.submit(i.Go())

    assert not fresh(desk, "ignition-dead")


SPIN_TO_START = Procedure.model_validate({
    "id": "spin", "title": "Try to start it", "purpose": "Try to start the engine.", "stage": "compression",
    "minutes": 1, "steps": {"turn": {"cmd": "Start it.", "why": "It shows.", "hazard": "cranking",
                       "crank": {"purpose": "start", "seconds": 5}, "go": "done"}},
    "results": {"done": {"outcome": "ok", "say": "It was tried."}},
})  # fmt: skip


def test_told_cranking_undoes_all_that_cranking_can(spin_rules: Rules) -> None:
    """Nobody knows with what key position it was cranked: all clear and dead ignition are asked again."""
    desk = new_desk(spin_rules)
    meet(desk, *HOLDS, "clear-to-crank")
    desk.submit(i.TellCrank(1, 3))

    assert not fresh(desk, "clear-to-crank")
    assert not fresh(desk, "ignition-dead")


@pytest.mark.parametrize(
    "given", [i.TellCrank(0, 5), i.TellCrank(-1, 5), i.TellCrank(10**9, 5), i.TellCrank(1, 0), i.TellCrank(1, NAN),
              i.TellCrank(1, 1e9), i.TellCrank(1, 5, -1), i.TellCrank(1, 5, INF), i.TellCrank(1, 5, NAN)],
    ids=str,
)  # fmt: skip
def test_cranking_that_cannot_be_is_refused(spin_rules: Rules, given: i.TellCrank) -> None:
    """No cranks, too many, no time or time to come: each in a sentence."""
    refused(new_desk(spin_rules), given)


def test_going_back_passes_over_a_question_put_twice(spin_rules: Rules) -> None:
    """Back leads to another question, also when the same one was put twice in a row."""
    desk = new_desk(spin_rules)
    desk.submit(i.Begin("place"))
    first = state(desk)
    desk.submit(i.Say("open"))
    second = state(desk)
    run = desk.situation.runs[-1]
    twice = f.StepEntered(at=desk.clock.now(), run=run.run, state=run.state)
    desk.journal.append(desk.job, desk.situation.count, (twice,))
    again = resume_job(spin_rules, desk.journal, desk.clock, desk.job)
    again.submit(i.Back())

    assert first != second
    assert first == state(again)


# jobs beside each other ------------------------------------------------------------------------------------


def test_cranking_in_a_job_that_is_open_elsewhere_counts_at_once(spin_rules: Rules) -> None:
    """Two benches, two jobs, one starter: what one cranks the other has to rest for, without being opened anew."""
    journal = MemoryJournal()
    one = ready_to_crank(spin_rules, journal, "one")
    two = ready_to_crank(spin_rules, journal, "two")
    crank(one, 10)
    clock_of(two).sleep(10)

    refused(two, i.Go(), "rest")


def test_a_crank_under_way_in_another_job_is_waited_for(spin_rules: Rules) -> None:
    """While the starter turns in one job it cannot be begun in another."""
    journal = MemoryJournal()
    one = ready_to_crank(spin_rules, journal, "one")
    two = ready_to_crank(spin_rules, journal, "two")
    one.submit(i.Go())

    refused(two, i.Go())


@pytest.mark.parametrize("name", ["Green Twin", " green  twin ", "GREEN TWIN"])
def test_capitals_and_spaces_make_no_other_starter(spin_rules: Rules, name: str) -> None:
    """The engine is the same one however its name is typed, and so is its starter."""
    journal = MemoryJournal()
    first = new_desk(spin_rules, journal, "one", "green twin")
    first.submit(i.TellCrank(1, 10))
    second = open_job(spin_rules, journal, first.clock, i.Open("two", name, "test"))

    assert "green twin" == second.situation.engine
    assert wait_of(second) > 0


@pytest.mark.parametrize("seconds", [-7200.0, 7200.0])
def test_a_clock_set_between_two_jobs_neither_frees_nor_locks_the_starter(spin_rules: Rules, seconds: float) -> None:
    """The rest of the first job holds in the second, and it ends."""
    journal = MemoryJournal()
    first = ready_to_crank(spin_rules, journal, "one")
    crank(first, 10)
    set_clock(first, seconds)
    first.submit(i.Note("the clock was set"))
    second = open_job(spin_rules, journal, first.clock, i.Open("two", "twin", "test"))
    second.submit(i.SetProfile("kind", word="motorcycle"))
    wait = wait_of(second)

    assert wait > 50
    clock_of(second).sleep(wait + 1)
    second.share()
    assert 0 == wait_of(second)


# jobs and procedures that end ------------------------------------------------------------------------------


def test_a_job_is_opened_once(spin_rules: Rules) -> None:
    """Opening it again under another engine's name would part it from its starter."""
    refused(new_desk(spin_rules), i.Open("job", "another engine", "test"), "open already")


@pytest.mark.parametrize("given", [i.Begin("place"), i.SetProfile("kind", word="car"), i.TellCrank(1, 5), i.Back()])
def test_a_finished_job_is_finished(spin_rules: Rules, given: i.Input) -> None:
    """Nothing is done any more in a job that was closed; a note may still be left."""
    desk = finished(spin_rules)
    refused(desk, given, "finished")

    assert desk.submit(i.Note("sold"))


def test_work_whose_procedure_is_gone_is_left(spin_rules: Rules) -> None:
    """A procedure of a user's own folder that is no more does not keep its job from being opened."""
    desk = ready_to_crank(spin_rules)
    without = Rules(replace(
        spin_rules.library, procedures={n: p for n, p in spin_rules.library.procedures.items() if n != "spin"}
    ))  # fmt: skip
    again = resume_job(without, desk.journal, desk.clock, desk.job)
    again.submit(i.Resume())

    assert again.situation.run is None
    assert "left" == again.situation.ended["spin"].outcome


def test_a_question_that_cannot_be_fetched_stops_nothing(spin_rules: Rules) -> None:
    """The all clear can come from nowhere: the crank before it still ends, and the work can be left."""
    library = spin_rules.library
    rules = Rules(replace(library, procedures={n: p for n, p in library.procedures.items() if n != "clear-to-crank"}))
    desk = ready_to_crank(rules)
    crank(desk, 2)
    clock_of(desk).sleep(600)
    desk.submit(i.Say("turned"))

    assert "spin:turn.gate" == state(desk)
    refused(desk, i.Fetch(), "clear-to-crank")
    desk.submit(i.Leave())
    assert desk.situation.run is None


@pytest.mark.parametrize(
    ("text", "words"),
    [("x" * 4001, "has 4001 characters, and 4000 fit"), (" ", "needs words"), ("\udcff", "bytes in it that are no")],
)
def test_a_note_that_does_not_fit_is_refused_whole(text: str, words: str, spin_rules: Rules) -> None:
    """A page of talk is refused with its length and what to do; nothing of it is cut off unseen."""
    desk = new_desk(spin_rules)
    facts = desk.submit(i.Note("x" * 4000))

    assert [4000] == [len(x.text) for x in facts if isinstance(x, f.NoteAdded)]
    with pytest.raises(InputError, match=words):
        desk.submit(i.Note(text))


def test_taking_up_at_an_open_bench_counts_all_that_it_saw(spin_rules: Rules) -> None:
    """The bench was there all the time: a starter that turned for minutes has turned for minutes."""
    desk = turning(spin_rules)
    clock_of(desk).sleep(400)
    desk.submit(i.Resume())

    assert 400 <= desk.situation.cranks[-1].seconds


@pytest.mark.parametrize("name", ["", " ", "\x1b[31mred", "two\nlines", "\udcff", "x" * 121])
def test_a_name_that_cannot_be_shown_opens_no_job(spin_rules: Rules, name: str) -> None:
    """What a terminal would obey, bytes that are no text, and a page of letters are no name of a job or an engine."""
    for opening in (i.Open(name, "twin", "test", "shed"), i.Open("job", name, "test", "shed")):
        with pytest.raises(InputError, match="name must have 1 to 120 letters that can be shown"):
            open_job(spin_rules, MemoryJournal(), clock_of(ready_to_crank(spin_rules)), opening)
