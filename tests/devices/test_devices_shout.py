"""A shout while the starter turns: any voice but the tool's own, soon, and nothing for steady noise."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from firststart.devices.ears import OWN, Heard, Vocabulary
from firststart.devices.endpoint import BLOCK, SECONDS, Block
from firststart.devices.hearable import hearable
from firststart.devices.listener import Listener
from firststart.devices.shout import LASTS, Shout
from firststart.prompt.expect import Expectation, Option

TURNING = hearable(Expectation("turning", (Option("release", ("stop", "released")),)))
SECOND = round(1 / SECONDS)
SOFT, LOUD = 1000.0, 2000.0


class Told:
    """A detector that is told when there is a voice."""

    def __init__(self, voiced: Sequence[bool] = ()) -> None:
        self.voiced, self.resets = list(voiced), 0

    def __call__(self, _block: Block) -> float:
        return 0.9 if self.voiced and self.voiced.pop(0) else 0.1

    def reset(self) -> None:
        self.resets += 1


def _block(level: float = SOFT) -> Block:
    return np.where(np.arange(BLOCK) % 2, level, -level).astype(np.int16)


def _scene(*parts: tuple[float, bool, bool, float]) -> list[tuple[bool, bool, float]]:
    """Blocks of (a voice is there, the tool speaks, loudness) from parts with their seconds."""
    return [(voice, own, level) for seconds, voice, own, level in parts for _ in range(round(seconds * SECOND))]


def _shouts(shout: Shout, detector: Told, *parts: tuple[float, bool, bool, float]) -> list[float]:
    """The seconds in which a shout is told."""
    scene = _scene(*parts)
    detector.voiced = [voice for voice, _, _ in scene]
    shout.begin()
    told = [shout.feed(_block(level), own) for _, own, level in scene]
    return [round(index * SECONDS, 1) for index, found in enumerate(told) if found]


COUNT = ((0.9, False, False, SOFT), (0.4, True, True, SOFT), (0.7, False, False, SOFT))  # "one", heard as it is said


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        (((3.0, False, False, SOFT),), []),
        (((1.0, False, False, SOFT), (0.4, True, False, SOFT), (1.0, False, False, SOFT)), [1.1]),
        (((1.0, False, False, SOFT), (0.1, True, False, SOFT), (1.0, False, False, SOFT)), []),
        (((0.4, True, False, SOFT), (1.0, False, False, SOFT)), []),
        ((*COUNT, *COUNT), []),
        ((*COUNT, (0.4, True, True, LOUD), (0.6, False, False, SOFT)), [2.0]),
        ((*COUNT, (0.4, True, False, SOFT), (0.6, False, False, SOFT)), [2.1]),
    ],
    ids=["noise", "a voice", "a click", "before the starter is known", "the count", "over the count", "after it"],
)
def test_a_shout_is_a_voice_that_is_not_the_tools_own(
    parts: tuple[tuple[float, bool, bool, float], ...], expected: list[float]
) -> None:
    """Told within a fifth of a second of its beginning, over the count by its loudness; never for anything else."""
    detector = Told()
    found = _shouts(Shout(detector, detector.reset), detector, *parts)

    assert expected[:1] == found[:1]
    assert LASTS * SECONDS < 0.2


def test_a_loudspeaker_that_is_late_is_learnt() -> None:
    """The count that comes a quarter of a second late is no shout, in the first crank or later, also behind the tone
    for go; a voice still is."""
    detector = Told()
    shout = Shout(detector, detector.reset)
    late = ((0.9, False, False, SOFT), (0.25, False, True, SOFT), (0.2, True, True, SOFT), (0.25, True, False, SOFT),
            (0.4, False, False, SOFT))  # fmt: skip
    tone = ((0.1, False, False, SOFT), (0.3, False, True, SOFT), (0.3, False, False, LOUD))
    cranks = [_shouts(shout, detector, *tone, *late, *late) for _ in range(2)]
    voice = _shouts(shout, detector, *late, (0.6, False, False, SOFT), (0.5, True, False, SOFT))

    assert [[], []] == cranks
    assert voice


def test_a_count_that_is_not_heard_shuts_nobody_out() -> None:
    """With a headset the tool does not hear itself: a voice right behind its word is a shout then."""
    detector = Told()
    shout = Shout(detector, detector.reset)
    word = ((0.6, False, False, SOFT), (0.4, False, True, SOFT), (0.8, False, False, SOFT))

    assert [] == _shouts(shout, detector, *word * 3)
    assert _shouts(shout, detector, *word, *word[:2], (0.1, False, False, SOFT), (0.3, True, False, SOFT))


class Nothing:
    """A recogniser that is never asked."""

    def readings(self, vocabulary: Vocabulary, samples: object) -> object:
        raise AssertionError


@pytest.mark.parametrize(("vocabulary", "expected"), [(TURNING, Heard("stop", "release")), (Vocabulary({}), None)])
def test_a_shout_means_stop_while_the_starter_turns_and_nothing_else(
    vocabulary: Vocabulary, expected: Heard | None
) -> None:
    """The ears report it as "stop" with the meaning that this has at the step; elsewhere a shout is no answer."""
    detector, quiet = Told(), Told()
    listener = Listener(Nothing(), quiet, shout=Shout(detector, detector.reset))  # type: ignore[arg-type]
    listener.listen_for(vocabulary)
    detector.voiced = [False] * SECOND + [True] * 10
    heard = [found for _ in range(SECOND + 10) if (found := listener.feed(_block())) is not None]

    assert expected == (heard[0] if heard else None)
    assert OWN not in [found.meaning for found in heard]
