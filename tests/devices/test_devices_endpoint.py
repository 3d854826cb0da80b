"""Where utterances begin, pause and end; and what is wrong with a microphone."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from firststart.devices.endpoint import BLOCK, SECONDS, Endpointer, Mark, Patience, Stretch
from firststart.devices.trouble import Trouble


def _feed(endpointer: Endpointer, chances: list[float]) -> list[tuple[int, Stretch]]:
    """Feed one block for each chance; every block holds its own number, so that a stretch shows which it has."""
    found = []
    for index, chance in enumerate(chances):
        stretch = endpointer.feed(np.full(BLOCK, index, np.int16), chance)
        if stretch is not None:
            found.append((index, stretch))
    return found


def _blocks(stretch: Stretch) -> list[int]:
    return stretch.samples[::BLOCK].tolist()


def test_an_utterance_is_given_at_its_pause_and_at_its_end() -> None:
    """Five silent blocks are a pause, ten the end; both give the same sound, a little more than the speech."""
    (at_pause, pause), (at_end, end) = _feed(Endpointer(), [0.0] * 20 + [0.9] * 6 + [0.0] * 20)

    assert (at_pause, pause.mark, at_end, end.mark) == (30, Mark.PAUSE, 35, Mark.END)
    assert list(range(12, 30)) == _blocks(pause) == _blocks(end)
    assert pytest.approx(pause.silence) == 5 * SECONDS
    assert pytest.approx(end.speech) == 6 * SECONDS


def test_speech_that_goes_on_after_a_pause_is_one_utterance() -> None:
    """A second part after a pause gives a second pause with all of it, and one end."""
    found = _feed(Endpointer(), [0.9] * 6 + [0.0] * 7 + [0.9] * 6 + [0.0] * 20)

    assert [stretch.mark for _, stretch in found] == [Mark.PAUSE, Mark.PAUSE, Mark.END]
    assert _blocks(found[1][1]) == _blocks(found[2][1])
    assert pytest.approx(found[2][1].speech) == 12 * SECONDS


def test_a_weak_middle_does_not_split_a_word() -> None:
    """Chances that fall under the onset but not under the hold keep an utterance going."""
    found = _feed(Endpointer(), [0.9] * 3 + [0.4] * 12 + [0.9] * 3 + [0.0] * 12)

    assert [stretch.mark for _, stretch in found] == [Mark.PAUSE, Mark.END]


def test_a_click_is_nothing() -> None:
    """One block of speech is a click and gives no stretch."""

    assert not _feed(Endpointer(), [0.0] * 5 + [0.9] + [0.0] * 30)


def test_talk_without_end_is_cut() -> None:
    """After six seconds the stretch is given as it is, and the next begins."""
    found = _feed(Endpointer(), [0.9] * 400)

    assert [stretch.mark for _, stretch in found] == [Mark.CUT, Mark.CUT]


def test_a_cut_can_overlap_so_that_no_word_is_split() -> None:
    """With an overlap, the end of each cut is heard again at the beginning of the next."""
    patience = Patience(longest=1.5, overlap=0.75)
    first, second = (_blocks(stretch) for _, stretch in _feed(Endpointer(patience), [0.9] * 75))

    assert first[-23:] == second[:23]


def test_what_was_understood_at_a_pause_is_not_heard_again() -> None:
    """After `taken`, the rest of the utterance gives nothing, and the next utterance is heard."""
    endpointer = Endpointer()
    assert [s.mark for _, s in _feed(endpointer, [0.9] * 6 + [0.0] * 5)] == [Mark.PAUSE]
    endpointer.taken()

    assert not _feed(endpointer, [0.9] * 5 + [0.0] * 12)
    assert [s.mark for _, s in _feed(endpointer, [0.9] * 6 + [0.0] * 12)] == [Mark.PAUSE, Mark.END]


def test_a_longer_hang_waits_longer() -> None:
    """The time to the end is the hang that was set, as number steps need it."""
    endpointer = Endpointer(Patience(hang=0.64))
    found = _feed(endpointer, [0.9] * 6 + [0.0] * 30)

    assert pytest.approx(found[-1][1].silence) == 0.64


@given(st.lists(st.floats(0, 1), max_size=300))
def test_every_stretch_holds_blocks_in_order_and_none_twice_after_an_end(chances: list[float]) -> None:
    """Whatever the detector says, a stretch is a run of blocks, and ends never overlap in their speech."""
    found = _feed(Endpointer(Patience(longest=1.0)), chances)
    runs = [_blocks(stretch) for _, stretch in found]
    ends = [_blocks(stretch) for _, stretch in found if stretch.mark is not Mark.PAUSE]

    assert all(run == list(range(run[0], run[0] + len(run))) for run in runs)
    assert all(a[-1] - b[0] < 12 for a, b in itertools.pairwise(ends))


LOUD = np.where(np.arange(BLOCK) % 20 == 0, 32767, 5000).astype(np.int16)
ROOM = np.random.default_rng(1).integers(-50, 50, BLOCK).astype(np.int16)
ZERO = np.zeros(BLOCK, np.int16)


def _tell(trouble: Trouble, block: np.ndarray, speaking: bool, seconds: float, deaf: bool = False) -> list[str]:
    return [said for _ in range(int(seconds / SECONDS)) if (said := trouble.feed(block, speaking, deaf))]


@pytest.mark.parametrize(
    ("block", "speaking", "sentence"),
    [
        (ZERO, False, "The microphone gives only silence, so it may be muted"),
        (LOUD, True, "The voice is too loud for the microphone, so speak softer or turn it down"),
        (ROOM, True, "There is talk or music without a pause, so nothing can be understood"),
    ],
)
def test_each_trouble_is_told_once(block: np.ndarray, speaking: bool, sentence: str) -> None:
    """A muted microphone, shouting, and talk without end each get one sentence, not one for every block."""
    told = _tell(Trouble(), block, speaking, 30)

    assert sentence == told[0]
    assert told.count(sentence) == 1


def test_a_quiet_room_is_no_trouble() -> None:
    """A minute of a quiet room gives no sentence."""

    assert not _tell(Trouble(), ROOM, False, 60)


def test_a_trouble_that_went_away_is_told_again_when_it_comes_back() -> None:
    """Muted, unmuted, muted again: two sentences."""
    trouble = Trouble()
    told = [*_tell(trouble, ZERO, False, 6), *_tell(trouble, ROOM, False, 1), *_tell(trouble, ZERO, False, 6)]

    assert len(told) == 2


def test_the_tools_own_voice_is_no_endless_talk() -> None:
    """While the ears are shut on purpose, long speech is not the person's."""

    assert not _tell(Trouble(), ROOM, True, 30, deaf=True)


def test_a_lost_microphone_is_told_once_until_it_is_back() -> None:
    """Lost twice in a row is one sentence; lost again after sound came is another."""
    trouble = Trouble()
    told = [trouble.lost(), trouble.lost(), trouble.feed(ROOM, False), trouble.lost()]

    assert told == ["The microphone no longer answers", None, None, "The microphone no longer answers"]
