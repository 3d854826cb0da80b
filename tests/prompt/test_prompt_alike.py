"""Answers that sound alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from firststart.errors import DataError
from firststart.procedure.catalogue import data_folder, load_library
from firststart.prompt.alike import sound_alike, sound_key
from firststart.prompt.lint import lint_wording


@pytest.mark.parametrize(
    ("one", "other"),
    [("weak", "week"), ("pass", "bass"), ("stiff", "stop"), ("sticks", "status"), ("brake it", "break it")],
)
def test_words_that_noise_makes_one_sound_alike(one: str, other: str) -> None:
    """The same sounds, or a short word that differs in one of them."""
    assert sound_alike(one, other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("strong spark", "weak spark"), ("it sticks", "status"), ("clean", "damaged"), ("oil drips", "fuel drips")],
)
def test_words_that_differ_enough_do_not(one: str, other: str) -> None:
    """Another word in the phrase, or most sounds of a short one, is enough."""
    assert not sound_alike(one, other)


def test_a_silent_end_is_no_sound() -> None:
    """What is written and not said does not tell two words apart."""
    assert sound_key("brake") == sound_key("break")


@pytest.mark.parametrize(
    ("choices", "sentence"),
    [
        ("{good: [pass], bad: [bass]}", "'pass' and 'bass' sound alike; use phrases of two words"),
        ("{good: [smooth], bad: [stiff]}", "'stiff' and 'stop' sound alike; use phrases of two words"),
        ("{good: [help one], bad: [halp one]}", "'help one' and 'halp one' sound alike"),
    ],
)
def test_verify_refuses_answers_that_sound_alike(tmp_path: Path, choices: str, sentence: str) -> None:
    """In one step, among its answers, and against the words that can always be said."""
    (tmp_path / "work").mkdir()
    (tmp_path / "work" / "look-at-it.yaml").write_text(
        "id: look-at-it\ntitle: Look at it\npurpose: See how it is.\nstage: plugs\nline: asked\nminutes: 2\n"
        "steps:\n  look:\n    cmd: Look at it.\n    why: It tells much.\n"
        f"    choices: {choices}\n    observe: plug.look\n    go: {{good: seen, bad: seen}}\n"
        "results:\n  seen: {outcome: ok, say: It was looked at.}\n",
        encoding="utf-8",
    )
    try:
        problems = lint_wording(load_library(data_folder("procedures"), (tmp_path,)), {"look-at-it"})
    except DataError as error:
        problems = list(error.problems)

    assert [p for p in problems if sentence in str(p)]
