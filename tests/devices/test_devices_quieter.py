"""Steady noise is taken off a sound, and what comes new is left."""

from __future__ import annotations

import numpy as np
import pytest

from firststart.devices.endpoint import BLOCK, SECONDS, Endpointer
from firststart.devices.quieter import Quieter, quieter

SECOND = round(1 / SECONDS)


def test_steady_noise_is_taken_off_and_what_comes_new_is_left() -> None:
    """A hum that was there is 10 dB softer after a second; a tone that sets in then is not."""
    t = np.arange(3 * 16000) / 16000
    hum, tone = 3000 * np.sin(2 * np.pi * 440 * t), np.where(t > 2, 3000 * np.sin(2 * np.pi * 1500 * t), 0.0)
    quieter = Quieter()
    blocks = (hum + tone).astype(np.int16)[: len(t) // BLOCK * BLOCK].reshape(-1, BLOCK)
    out = np.array([quieter.feed(block) for block in blocks], float)
    before, after = (20 * np.log10(out[round(at * SECOND):][:8].std() / (3000 / np.sqrt(2))) for at in (1.5, 2.1))

    assert before < -10.0
    assert after > -3.0


def test_an_utterance_loses_the_noise_of_its_beginning() -> None:
    """The noise is several times softer where nothing is said, and the tone that stands for speech is as it was."""
    t = np.arange(40 * BLOCK) / 16000
    noise = np.random.default_rng(1).standard_normal(len(t)) * 0.02
    said = (noise + np.where(t > 0.26, 0.2 * np.sin(2 * np.pi * 1000 * t), 0.0)).astype(np.float32)
    out = quieter(said, 8)
    alone = noise[: 6 * BLOCK].std() / out[BLOCK:6 * BLOCK].std()

    assert len(said) == len(out)
    assert alone > 2.0
    assert np.abs(out[20 * BLOCK:30 * BLOCK] - 0.2 * np.sin(2 * np.pi * 1000 * t[20 * BLOCK:30 * BLOCK])).mean() < 0.02


@pytest.mark.parametrize("lead", [0, 1, 3])
def test_without_a_beginning_to_learn_from_nothing_is_changed(lead: int) -> None:
    """Somebody who speaks at once leaves no noise to learn."""
    said = np.random.default_rng(1).standard_normal(10 * BLOCK).astype(np.float32)

    assert said is quieter(said, lead)


def test_a_stretch_tells_how_much_of_it_came_before_the_speech() -> None:
    """Eight blocks when it was quiet for long, fewer when the speech came soon, none in what goes on after a cut."""
    leads = []
    for quiet in (20, 3, 0):
        ends = Endpointer()
        block = np.ones(BLOCK, np.int16)
        found = [ends.feed(block, chance) for chance in [0.0] * quiet + [0.9] * 5 + [0.0] * 12]
        leads += [each.lead for each in found if each is not None][-1:]

    assert [8, 3, 0] == leads
