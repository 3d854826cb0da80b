"""`firststart voice` and the options of mouth and ears: tried, told, remembered, and used again by the bench."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from firststart.cli import main
from firststart.cli import voice as command
from firststart.cli.common import read_settings
from firststart.cli.sounding import advice, ear_options, reminder, voice_options
from firststart.devices.ears import DeafEars, Ears, Levels, ScriptedEars
from firststart.devices.mouth import SilentMouth
from firststart.errors import InputError, RangeError

NOTHING = dict.fromkeys(("speed", "voice", "loudness", "loudspeaker", "microphone"))


class _Mouth(SilentMouth):
    """A mouth that is taken for one with a voice."""


class _Room(ScriptedEars):
    """Ears that hear words in a room of a known loudness."""

    def __init__(self, words: list[str], levels: Levels) -> None:
        super().__init__(words)
        self._levels = levels

    def levels(self) -> Levels:
        return self._levels


Try = Callable[..., tuple[int, str, dict[str, str]]]


@pytest.fixture
def tried(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Try:
    """Run the command with these ears: its status, what it printed, and what it remembered."""
    for name in ("QUIET_S", "TALK_S", "POLL_S"):
        monkeypatch.setattr(command, name, 0.02)
    monkeypatch.setattr(command, "SilentMouth", type("NoMouth", (), {}))

    def run(ears: Ears, *words: str) -> tuple[int, str, dict[str, str]]:
        monkeypatch.setattr(command, "open_mouth", lambda *_: _Mouth())
        monkeypatch.setattr(command, "open_ears", lambda *_: ears)
        status = main(["voice", "--home", str(tmp_path), *words])
        return status, capsys.readouterr().out, read_settings(argparse.Namespace(home=tmp_path))

    return run


def test_a_good_room_is_told_and_remembered(tried: Try) -> None:
    """The noise, how far the person is over it, and how many words were understood; all of it kept for the bench."""
    status, out, kept = tried(_Room(["yes", "no", "stop"], Levels(-55.0, -31.0)))

    assert 0 == status
    assert "the room is at -55 dB of full scale" in out
    assert "understood 3 of 7. You are 24 dB over the noise; that will do." in out
    assert {"speech over noise dB": "24", "noise dB": "-55"} == kept


def test_a_weak_voice_is_told_what_to_change(tried: Try) -> None:
    """A headset, or so many times as near; the bench says it again when it opens."""
    _, out, kept = tried(_Room(["yes"], Levels(-40.0, -31.0)))

    assert "only 9 dB over the noise, and 15 are wanted: use a headset, or come 2.0 times as near" in out
    assert reminder(kept).startswith("When the voice was tried: You are only 9 dB")
    assert "" == reminder({"speech over noise dB": "20"}) == reminder({}) == reminder({"speech over noise dB": "x"})


def test_nothing_heard_is_told_and_nothing_of_the_room_is_kept(tried: Try) -> None:
    """Silence gives advice on the cable, exit status 1, and no figure."""
    status, out, kept = tried(_Room([], Levels(-60.0, None)))

    assert (1, {}) == (status, kept)
    assert "Nothing was heard; look at the microphone's cable, its mute switch" in out


def test_without_ears_there_is_one_line(tried: Try) -> None:
    """The keys and the pedal are named."""
    status, out, _ = tried(DeafEars())

    assert 1 == status
    assert "Ears: none here. Answer by keys or pedal." in out


def test_what_was_chosen_is_remembered_and_used_by_the_bench(tried: Try) -> None:
    """Speed, voice, loudness and devices go from the trial into the settings, and from there into mouth and ears."""
    chosen = ("--speed", "140", "--voice", "en-gb", "--loudness", "80", "--microphone", "usb", "--loudspeaker", "box")
    _, out, kept = tried(_Room(["yes"], Levels(-55.0, -31.0)), *chosen)
    options = voice_options(argparse.Namespace(**NOTHING), kept, "en")

    assert "Remembered for the bench: " in out
    assert (140, 0.8, "en-gb", "box") == (options.rate, options.volume, options.voice, options.device)
    assert "usb" == ear_options(argparse.Namespace(**NOTHING), kept).device


def test_an_argument_goes_before_what_was_remembered() -> None:
    """And a remembered English voice is not used for another language."""
    arguments = argparse.Namespace(**{**NOTHING, "speed": 200})
    kept = {"speed": "120", "voice": "en-gb"}

    assert 200 == voice_options(arguments, kept, "en").rate
    assert voice_options(arguments, kept, "de").voice is None


@pytest.mark.parametrize(("name", "value"), [("speed", 9999), ("loudness", 300), ("speed", -1)])
def test_impossible_options_are_refused(name: str, value: int) -> None:
    """A speed or a loudness that cannot be is one sentence."""
    with pytest.raises(RangeError):
        voice_options(argparse.Namespace(**{**NOTHING, name: value}), {}, "en")


def test_a_remembered_number_that_is_none_is_told() -> None:
    """Settings that somebody edited are named, with what to do."""
    with pytest.raises(InputError, match="The speed remembered is 'fast', no number; give --speed anew"):
        voice_options(argparse.Namespace(**NOTHING), {"speed": "fast"}, "en")


def test_another_language_speaks_and_is_answered_by_keys(tried: Try) -> None:
    """One clear line says that the ears understand English only."""
    _, out, _ = tried(_Room(["yes"], Levels(-55.0, -31.0)), "--language", "de")

    assert "with --language de the bench speaks it, and you answer by keys or pedal" in out


def test_the_advice_follows_the_distance() -> None:
    """6 dB are half the distance (inverse distance law)."""
    assert "2.0 times as near" in advice(9.0)
    assert "3.2 times as near" in advice(5.0)


def test_the_settings_are_plain(tried: Try, tmp_path: Path) -> None:
    """One small file of names and words, that a person can read and mend."""
    tried(_Room(["yes"], Levels(-55.0, -31.0)), "--speed", "150")

    assert "150" == json.loads((tmp_path / "settings.json").read_text())["speed"]
