"""A crank as the microphone hears it: kept around the crank, measured, offered, recorded when the person says so."""

from __future__ import annotations

import numpy as np
import pytest
from devices_handsfree import HandsfreeStage, Pedal, Player
from test_devices_cranking import RATE, cranked

from firststart.bench.byear import KEEP, Beat, Overheard, believed, with_offer
from firststart.cli.byear import overheard
from firststart.devices.ears import DeafEars
from firststart.devices.endpoint import BLOCK, SECONDS, Block
from firststart.devices.mouth import SilentMouth
from firststart.devices.overhear import AFTER, BEFORE, MOST, Overhearing
from firststart.job import facts as f
from firststart.job.rules import Rules
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt

RPM = 280.0


def _sound(seconds: float) -> Block:
    samples = cranked(RPM, 1, seconds)
    return (samples / np.abs(samples).max() * 20000).astype(np.int16)


def _fed(overhearing: Overhearing, seconds: float, turning: bool, value: int = 1) -> None:
    for _ in range(round(seconds / SECONDS)):
        overhearing.feed(np.full(BLOCK, value, np.int16), turning)


def test_the_sound_around_a_crank_is_kept_and_nothing_else() -> None:
    """Some seconds before, the crank, a moment after; given once, when it is whole."""
    kept = Overhearing()
    _fed(kept, 20, turning=False, value=1)
    _fed(kept, 4, turning=True, value=2)

    assert kept.taken() is None

    _fed(kept, 20, turning=False, value=3)
    whole = kept.taken()

    assert whole is not None
    lengths = [np.count_nonzero(whole == value) / RATE for value in (1, 2, 3)]
    assert pytest.approx(lengths, abs=2 * SECONDS) == [BEFORE, 4.0, AFTER]
    assert kept.taken() is None


def test_a_crank_without_end_does_not_fill_the_memory() -> None:
    """After the longest that any starter may turn, what was kept is closed."""
    kept = Overhearing()
    _fed(kept, MOST + 10, turning=True)
    whole = kept.taken()

    assert whole is not None
    assert len(whole) / RATE <= MOST + BEFORE + 1


def test_speed_and_seconds_come_from_the_sound() -> None:
    """A crank of three seconds at 280 rpm is heard as that; silence, no engine and no crank are nothing."""
    heard = overheard(_sound(3.0), Beat(1, 4, 3.0))

    assert heard is not None
    assert pytest.approx(heard.rpm, rel=0.05) == RPM
    assert abs(heard.rpm - RPM) < 3 * heard.rpm_u
    assert pytest.approx(heard.seconds, abs=0.4) == 3.0
    assert overheard(np.zeros(5 * RATE, np.int16), Beat(1, 4, 3.0)) is None
    assert overheard(None, Beat(1, 4, 3.0)) is None
    assert overheard(_sound(3.0), None) is None


def test_another_sound_is_not_taken_for_the_crank_that_was_counted() -> None:
    """What lasted much longer or shorter than the count is not believed."""
    heard = Overheard(3.0, 0.1, RPM, 5.0)

    assert believed(Beat(1, 4, 3.5), heard)
    assert not believed(Beat(1, 4, 6.0), heard)


def test_the_offer_stands_beside_the_answers_and_never_at_a_crank() -> None:
    """It is one more answer; where a crank begins, runs or was stopped there is none."""
    choice = Expectation("choice", (Option("yes", ("yes",)),))

    assert ["yes", KEEP] == [o.event for o in with_offer(choice).options]
    for kind in ("crank", "turning", "stopped", "over"):
        assert KEEP not in [o.event for o in with_offer(Expectation(kind)).options]


class _Hearing(DeafEars):
    """Ears that understand nothing, and hear every crank of the job."""

    def __init__(self, player: Player) -> None:
        self._player, self._known = player, 0

    def cranked(self) -> Block | None:
        cranks = self._player.desk.situation.cranks
        if len(cranks) == self._known:
            return None
        self._known = len(cranks)
        return _sound(cranks[-1].seconds)


@pytest.mark.parametrize("keeps", [True, False])
def test_the_speed_is_offered_and_recorded_only_when_it_is_kept(rules: Rules, keeps: bool) -> None:
    """After a crank the speed is told with its uncertainty; kept, it is a reading of the microphone; no crank, permit
    or rest differs for it."""
    player, mouth = Player(rules), SilentMouth()

    def answer(prompt: Prompt, asked: str) -> str:
        offered = any(o.event == KEEP for o in prompt.expects.options)
        return "keep it" if offered and keeps else player.answer(prompt, asked)

    stage = HandsfreeStage(Pedal(mouth), answer, player.over)
    player.bench(stage, mouth, _Hearing(player)).run()
    told = [line for line in stage.told if line.startswith("By ear the starter turned")]
    read = [fact for fact in player.facts() if isinstance(fact, f.ValueMeasured) and fact.name == "cranking-speed"]

    assert ("", []) == (stage.tally.given_up, stage.tally.wrong if not keeps else [])
    assert told
    assert all("rpm, give or take" in line for line in told)
    assert keeps == bool(read)
    assert all(fact.instrument == "microphone" and "standard uncertainty" in fact.said for fact in read)
    assert [fact.seconds for fact in player.facts() if isinstance(fact, f.CrankEnded)] == pytest.approx(
        [crank.seconds for crank in player.desk.situation.cranks]
    )
