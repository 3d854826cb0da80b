"""Decisions: gates, permits, stop, staleness, going back; all from facts alone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from job_desk import HOLDS, clock_of, crank, meet, new_desk, ready_to_crank, state

from firststart.bench.desk import open_job, resume_job
from firststart.engine.profile import NUMBERS
from firststart.errors import InputError, RangeError
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.draft import Draft
from firststart.job.fold import fold_all
from firststart.job.holds import hold_states
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.prompt.prompt import present
from firststart.units import measured


@pytest.mark.parametrize("missing", [h for h in HOLDS if h not in ("ignition-dead", "bilge-clear")])
def test_no_crank_while_a_hold_point_is_missing(spin_rules: Rules, missing: str) -> None:
    """With any one hold point missing the gate stays shut and go is refused."""
    desk = new_desk(spin_rules)
    meet(desk, *(h for h in (*HOLDS, "clear-to-crank") if h != missing))
    desk.submit(i.Begin("spin"))

    assert "spin:turn.gate" == state(desk)
    with pytest.raises(InputError):
        desk.submit(i.Go())
    assert missing in desk.situation.runs[0].refused


def test_the_gate_opens_when_everything_holds(spin_rules: Rules) -> None:
    """With all hold points fresh and a rested starter the crank step is entered, and go begins a crank."""
    desk = ready_to_crank(spin_rules)

    assert "spin:turn" == state(desk)
    facts = desk.submit(i.Go())
    assert [f.CrankBegan] == [type(x) for x in facts]


def test_a_hold_point_that_expires_shuts_the_gate_again(spin_rules: Rules) -> None:
    """Five hours later the fire check is stale and the crank step falls back to its gate."""
    desk = ready_to_crank(spin_rules)
    clock_of(desk).sleep(5 * 3600)
    facts = desk.submit(i.Go())

    assert not any(isinstance(x, f.CrankBegan) for x in facts)
    assert "spin:turn.gate" == state(desk)
    assert "fire-ready" in desk.situation.runs[0].refused


def test_moving_to_another_place_makes_place_checks_stale(spin_rules: Rules) -> None:
    """Fire readiness holds for one place."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.NamePlace("yard"))
    states = {h.name: h for h in hold_states(spin_rules.library.safety, desk.situation, {}, desk.now)}

    assert not states["fire-ready"].fresh
    assert "another place" in states["fire-ready"].because
    assert states["pre-lubed"].fresh


def test_all_clear_is_asked_before_every_crank(spin_rules: Rules) -> None:
    """A crank undoes the all-clear, and the question for it comes by itself."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 2)
    clock_of(desk).sleep(600)
    desk.submit(i.Say("turned"))

    assert "clear-to-crank" == desk.situation.runs[-1].procedure


def test_a_starter_that_must_rest_is_refused_and_allowed_after_the_rest(spin_rules: Rules) -> None:
    """After a full crank the permit is withheld for the whole rest, to the second, and then given."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = spin_rules.permit(desk.situation, desk.now).wait_s

    assert wait > 20
    clock_of(desk).sleep(wait - 1)
    assert not spin_rules.permit(desk.situation, desk.now).allowed
    clock_of(desk).sleep(1.5)
    assert spin_rules.permit(desk.situation, desk.now).allowed


def test_an_over_run_lengthens_the_rest(spin_rules: Rules) -> None:
    """Cranking longer than allowed costs more rest than a crank within the limit."""
    short, long = ready_to_crank(spin_rules), ready_to_crank(spin_rules)
    crank(short, 5)
    crank(long, 15)
    waits = [spin_rules.permit(d.situation, d.now).wait_s for d in (short, long)]

    assert waits[0] < waits[1]


def test_a_clock_set_back_never_shortens_the_rest(spin_rules: Rules) -> None:
    """Setting the clock back is noticed; the rest runs on from the newest entry."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 10)
    wait = spin_rules.permit(desk.situation, desk.now).wait_s
    clock_of(desk).set(desk.clock.now() - timedelta(hours=3))
    facts = desk.submit(i.Note("the clock is wrong"))

    assert isinstance(facts[0], f.ClockSet)
    assert wait - 1 <= spin_rules.permit(desk.situation, desk.now).wait_s <= wait + 1
    clock_of(desk).sleep(wait + 1)
    assert spin_rules.permit(desk.situation, desk.now).allowed


def test_a_restart_keeps_the_rest(spin_rules: Rules) -> None:
    """Folding the record again gives the same rest."""
    journal = MemoryJournal()
    desk = ready_to_crank(spin_rules, journal)
    crank(desk, 10)
    again = resume_job(spin_rules, journal, desk.clock, "job")

    assert spin_rules.permit(desk.situation, desk.now) == spin_rules.permit(again.situation, again.now)


def test_another_job_on_the_same_engine_shares_the_rest(spin_rules: Rules) -> None:
    """A second job on the engine cannot crank while its starter still rests from the first."""
    journal = MemoryJournal()
    first = ready_to_crank(spin_rules, journal)
    crank(first, 10)
    clock = first.clock
    second = open_job(spin_rules, journal, clock, i.Open("job 2", "twin", "test", "shed"))
    other = open_job(spin_rules, journal, clock, i.Open("job 3", "another engine", "test", "shed"))

    assert not spin_rules.permit(second.situation, second.now).allowed
    assert spin_rules.permit(other.situation, other.now).allowed


def test_a_crank_cut_off_by_a_crash_is_counted(spin_rules: Rules) -> None:
    """A crank that began and never ended is closed at the resume, at least to its limit, and marked unsure."""
    journal = MemoryJournal()
    desk = ready_to_crank(spin_rules, journal)
    desk.submit(i.Go())
    clock_of(desk).sleep(3600)
    again = resume_job(spin_rules, journal, desk.clock, "job")
    again.submit(i.Resume())
    crank_kept = again.situation.cranks[-1]

    assert not crank_kept.sure
    assert crank_kept.seconds >= 10


def test_told_cranking_counts(spin_rules: Rules) -> None:
    """Cranking told afterwards heats the starter and undoes the all-clear like any other."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.TellCrank(2, 10))

    assert 2 == len(desk.situation.cranks)
    assert not spin_rules.permit(desk.situation, desk.now).allowed
    assert desk.situation.holds["clear-to-crank"].undone


def test_stop_is_obeyed_while_the_starter_turns(spin_rules: Rules) -> None:
    """Stop ends the crank, keeps its seconds, and leads to making things safe."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Go())
    clock_of(desk).sleep(4)
    desk.submit(i.Stop("pedal", seconds=4.0))

    assert desk.situation.stopped
    assert 4.0 == desk.situation.cranks[-1].seconds
    assert "make-safe" == desk.situation.runs[-1].procedure
    with pytest.raises(InputError, match="carry on"):
        desk.submit(i.Begin("place"))


def test_stop_is_obeyed_in_every_state(rules: Rules) -> None:
    """In every state of every procedure a stop is recorded at once and leads to making things safe."""
    for name in rules.library.procedures:
        desk = new_desk(rules)
        desk.submit(i.Begin(name))
        desk.submit(i.Stop())

        assert desk.situation.stopped
        assert "make-safe" == desk.situation.runs[-1].procedure


def test_carrying_on_asks_again_what_may_have_changed(spin_rules: Rules) -> None:
    """After a stop and carry on, the all-clear has to be given anew."""
    desk = ready_to_crank(spin_rules)
    desk.submit(i.Stop())
    while desk.situation.run is not None and desk.situation.run.procedure == "make-safe":
        desk.submit(i.Say(spin_rules.table("make-safe", desk.situation).events(desk.situation.run.state)[0]))
    desk.submit(i.CarryOn())

    assert not desk.situation.stopped
    assert "clear-to-crank" == desk.situation.runs[-1].procedure


def test_going_back_undoes_what_the_work_had_established(spin_rules: Rules) -> None:
    """Going back over an answer makes what it told stale, and the question stands again."""
    desk = ready_to_crank(spin_rules)
    crank(desk, 1)
    clock_of(desk).sleep(300)
    desk.submit(i.Say("turned"))
    desk.submit(i.Leave())
    assert desk.situation.newest("cranking") is not None
    desk.submit(i.Back())

    assert "spin:seen" == state(desk)
    assert desk.situation.newest("cranking") is None


def test_a_reading_out_of_range_is_refused(spin_rules: Rules) -> None:
    """A reading that cannot be is refused with its bounds, and nothing is recorded."""
    desk = new_desk(spin_rules)
    desk.submit(i.Begin("read"))
    before = desk.situation

    with pytest.raises(RangeError) as caught:
        desk.submit(i.Give(measured(90, "V", "voltage")))
    assert (90, 0, 30) == (caught.value.value, caught.value.low, caught.value.high)
    with pytest.raises(InputError, match="voltage"):
        desk.submit(i.Give(measured(90, "psi", "pressure")))
    assert before == desk.situation


@pytest.mark.parametrize(
    ("known", "value", "told"),
    [
        ({"stroke": 100.0}, ("rod", 45.0), "rod is 45 mm, but must be more than 50 mm"),
        ({"rod": 45.0}, ("stroke", 100.0), "stroke is 100 mm, but must be at most 90 mm"),
        ({}, ("cylinders", 2.5), "a whole number"),
        ({}, ("firing-order", 1332), "1332 is no firing order"),
        ({"cylinders": 6}, ("firing-order", 1342), "not the order of 6 cylinders"),
    ],
)
def test_figures_that_no_engine_can_have_are_refused_when_told(
    rules: Rules, known: dict[str, float], value: tuple[str, float], told: str
) -> None:
    """Impossible geometry is refused as it is told, and not met later in the middle of work."""
    desk = new_desk(rules)
    draft = Draft(rules, desk.situation, clock_of(desk).now())
    for field, number in known.items():
        draft.note_profile(field, number=measured(number, NUMBERS[field][1], NUMBERS[field][0]))
    field, number = value

    with pytest.raises(InputError, match=told):
        draft.note_profile(field, number=measured(number, NUMBERS[field][1], NUMBERS[field][0]))


@pytest.mark.parametrize(("count", "asked"), [(1, False), (2, False), (4, True)])
def test_the_firing_order_is_asked_where_there_is_more_than_one(rules: Rules, count: int, asked: bool) -> None:
    """One cylinder or two have one order; of more it is asked once, and what needs it says it from then on."""
    desk = new_desk(rules)
    desk.submit(i.SetProfile("manual", word="at-hand"))
    desk.submit(i.SetProfile("cylinders", number=measured(count, "", "count")))
    desk.submit(i.Begin("workshop-figures"))

    assert ("workshop-figures:firing-order" if asked else "workshop-figures:timing") == state(desk)
    if asked:
        desk.submit(i.Give(measured(1243, "", "count")))
        assert (1, 2, 4, 3) == desk.situation.profile.firing_order
        assert "workshop-figures:timing" == state(desk)


def test_older_figures_that_cannot_go_together_stop_no_work(rules: Rules) -> None:
    """A record that holds a rod shorter than half the stroke is led on: its prompts defer to the manual."""
    desk = new_desk(rules)
    told = {"stroke": ("length", "mm", 100.0), "rod": ("length", "mm", 45.0), "timing": ("angle", "deg", 10.0)}
    facts = tuple(
        f.ProfileNoted(at=clock_of(desk).now(), field=name, number=measured(number, unit, kind))
        for name, (kind, unit, number) in told.items()
    )
    desk.journal.append(desk.job, desk.situation.count, facts)
    desk.situation = fold_all(facts, desk.situation)
    meet(desk, *HOLDS)
    desk.submit(i.Begin("timing"))

    assert "It fires at what the manual gives." in present(rules, desk.situation, clock_of(desk).now()).info


def test_a_reading_is_recorded_with_unit_instrument_and_si(spin_rules: Rules) -> None:
    """The fact keeps the number as given, its unit, the SI value, the instrument and its resolution."""
    desk = new_desk(spin_rules)
    desk.submit(i.Begin("read"))
    facts = desk.submit(i.Give(measured(12400, "mV", "voltage"), said="twelve thousand four hundred"))
    fact = facts[0]

    assert isinstance(fact, f.ValueMeasured)
    assert ("mV", 12.4, "meter", 0.01) == (fact.value.unit, fact.value.si, fact.instrument, fact.resolution)


def test_a_wrong_answer_is_refused_and_names_the_right_ones(rules: Rules) -> None:
    """An event the state does not answer is refused with the closed list."""
    desk = new_desk(rules)
    desk.submit(i.Begin("place"))

    with pytest.raises(InputError, match="open"):
        desk.submit(i.Say("sideways"))
