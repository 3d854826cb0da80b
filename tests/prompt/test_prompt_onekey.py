"""The whole job with one key."""

from __future__ import annotations

import pytest

from firststart.devices.hearable import hearable
from firststart.devices.pedal import Pedal
from firststart.job.rules import Rules
from firststart.machine.compile import events_of
from firststart.procedure.model import UNREAD
from firststart.prompt.dialogue import PEDAL, VOICE, Dialogue, hear
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.onekey import DOUBLE, HELD, SHORT, OneKey, Pressed, press, ring_of
from firststart.prompt.wording import CANNOT, DONE_PHRASES

ACTION = Expectation("action", (Option("done", DONE_PHRASES),))
CHOICE = Expectation("choice", (Option("strong", ("strong spark",)), Option("none", ("no spark",))))
PRESSURE = Expectation("measure", (Option(UNREAD, CANNOT),), "pressure", "psi", 0, 400, "compression.dry")
CRANK = Expectation("crank", (Option("go", ("go",), weighty=True),), high=5)


def presses(expects: Expectation, kinds: str, *, asked: bool = False) -> list[Pressed]:
    """What a row of presses leads to: s short, d double, h held."""
    state, out = OneKey(), []
    for kind in kinds:
        state, meant = press(state, {"s": SHORT, "d": DOUBLE, "h": HELD}[kind], expects, asked=asked)
        out.append(meant)
    return out


def test_a_short_press_does_the_one_thing_there_is_to_do() -> None:
    """Where there is one action, a short press says that it is done."""
    assert "done" == presses(ACTION, "s")[0].words


def test_short_presses_go_through_the_answers_and_a_double_press_takes_one() -> None:
    """Each short press says the next answer; a double press takes the one just said."""
    out = presses(CHOICE, "ssd")

    assert ["strong spark", "no spark"] == [p.say for p in out[:2]]
    assert "no spark" == out[2].words


def test_a_single_press_never_begins_a_crank() -> None:
    """Go is said at the first press and taken only by a double press."""
    out = presses(CRANK, "sd")

    assert "" == out[0].words
    assert "go" == out[1].words


def test_the_key_held_down_is_stop_everywhere() -> None:
    """Held down, the key is stop, whatever stands."""
    assert all(presses(e, "h")[0].stop for e in (ACTION, CHOICE, PRESSURE, CRANK))


def test_a_number_is_built_digit_by_digit() -> None:
    """Digits are gone through and taken one by one; the end of the number comes first in the list."""
    one = "ss" + "d"  # at an empty number the list begins with 0
    again = "sss" + "d"  # afterwards with the end, then 0
    eight = "s" * 10 + "d"
    end = "sd"
    out = presses(PRESSURE, one + again + eight + end)

    assert "118 psi" == out[-1].words


def test_a_read_back_is_answered_by_yes_or_no() -> None:
    """While something is read back the list is yes and no."""
    out = presses(PRESSURE, "ssd", asked=True)

    assert ("yes", "no", "no") == (out[0].say, out[1].say, out[2].words)


def test_the_general_words_are_reached_with_the_same_key() -> None:
    """Behind the answers lie why, go back, leave it and the rest."""
    state, meant = press(OneKey(), DOUBLE, ACTION)

    assert "say again" == meant.say
    assert "why" in ring_of(state, ACTION, asked=False)


def test_every_step_of_every_procedure_can_be_answered_with_one_key(rules: Rules) -> None:
    """For each event of each step of each procedure there is a row of presses that the dialogue takes for it."""
    missing = []
    for procedure in rules.library.procedures.values():
        for name, step in procedure.steps.items():
            if step.judge:
                continue
            for event in events_of(step, rules.judge_words):
                if not _reachable(step_expectation(step), event):
                    missing.append(f"{procedure.id}: {name}: {event}")

    assert [] == missing


def test_every_step_of_every_procedure_can_be_answered_by_voice(rules: Rules) -> None:
    """For each event of each step there is a phrase that the ears may hear and that the dialogue takes for it."""
    missing = []
    for procedure in rules.library.procedures.values():
        for name, step in procedure.steps.items():
            expects = step_expectation(step) if not step.judge else ACTION
            vocabulary = hearable(expects)
            for option in expects.options:
                said = [p for p, meaning in vocabulary.phrases.items() if meaning == option.event]
                if not any(hear(Dialogue(), p, expects, VOICE)[1].event == option.event for p in said):
                    missing.append(f"{procedure.id}: {name}: {option.event}")
            if expects.kind == "measure" and not vocabulary.numbers:
                missing.append(f"{procedure.id}: {name}: a number")

    assert [] == missing


def step_expectation(step: object) -> Expectation:
    """What a step expects, as the prompt makes it."""
    from firststart.procedure.model import Step

    assert isinstance(step, Step)
    if step.crank:
        return Expectation("turning", (Option("cranked", ("stop",)),))
    if step.measure:
        m = step.measure
        return Expectation("measure", (Option(UNREAD, CANNOT),), m.quantity, m.unit, m.range[0], m.range[1], m.name)
    if step.wait:
        return Expectation("wait", (Option("elapsed", ("next",)),))
    if step.choices:
        return Expectation("choice", tuple(Option(e, p) for e, p in step.choices.items()))
    return ACTION


def _reachable(expects: Expectation, event: str) -> bool:
    if expects.kind == "turning":
        return bool(presses(expects, "s")[0].words)
    if expects.kind == "measure" and event != UNREAD:
        return all(_built(expects, f"{value:.2f}") for value in (expects.low, (expects.low + expects.high) / 2))
    for count in range(1, len(expects.options) + 12):
        out = presses(expects, "s" * count + ("" if expects.kind in ("action", "wait") else "d"))[-1]
        if out.words and hear(Dialogue(), out.words, expects, PEDAL)[1].event == event:
            return True
    return False


def _built(expects: Expectation, number: str) -> bool:
    """Whether the figures of `number` can be taken one after the other, and then the whole."""
    state, words = OneKey(), ""
    for figure in (*number, "that is all"):
        wanted = {".": "point", "-": "minus"}.get(figure, figure)
        ring = ring_of(state, expects, asked=False)
        if wanted not in ring:
            return False
        state, meant = press(OneKey(ring.index(wanted), state.typed), DOUBLE, expects)
        words = meant.words
    pending, act = hear(Dialogue(), words, expects, PEDAL)
    value = act.value or (pending.pending.value if pending.pending else None)
    return value is not None


@pytest.mark.parametrize(
    ("times", "meant"),
    [([0.0], SHORT), ([0.0, 0.3], DOUBLE), ([0.0, 0.15], DOUBLE), ([0.0, 0.3, 0.6], DOUBLE)],
)
def test_presses_are_told_apart_by_time(times: list[float], meant: str) -> None:
    """One press is short, two within half a second are double."""
    pedal = Pedal()
    at_once = [pedal.pressed(t) for t in times]

    assert [None] * len(times) == at_once
    assert pedal.meant(times[-1] + 0.3) is None
    assert meant == pedal.meant(times[-1] + 0.6)


def test_a_key_held_down_is_told_while_it_is_held() -> None:
    """The repeats of a held key are faster than any foot: stop comes before it is let go."""
    pedal = Pedal()
    told = [pedal.pressed(t) for t in (0.0, 0.5, 0.53, 0.56, 0.59, 0.62)]

    assert HELD == told[-1] or HELD in told
