"""A bench that speaks a language: its tongue, and a stage and a mouth that use it. English needs no catalogue."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable

from firststart.devices.mouth import Mouth
from firststart.devices.stage import Event, Poll, Stage
from firststart.devices.tones import Tone
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.interpret import words_from
from firststart.prompt.language import ENGLISH, Language, english
from firststart.prompt.prompt import Prompt


def load_language(arguments: argparse.Namespace, code: str | None) -> Language:
    """The language called `code`, English for None. Raises UnknownName, DataError."""
    if code in (None, ENGLISH):
        return english()
    from firststart.cli.language import load_catalogue  # all that reads and checks catalogues comes with it

    return Language(str(code), load_catalogue(arguments, str(code)))


class Tongue:
    """The language of a bench: the one asked for, else that of the job, once it is known which job it is."""

    def __init__(self, language: Language) -> None:
        self.language = language

    def text(self, sentence: str) -> str:
        """A sentence of ours in this language."""
        return self.language.text(sentence)

    def english(self, typed: str, *phrases: str) -> str:
        """What was typed, in English, when it means yes, no, or one of the English `phrases`."""
        return words_from(self.language, typed, Expectation("text", tuple(Option(p, (p,)) for p in phrases)))

    def spoken(self, text: str) -> str:
        """`text` as words for the ear."""
        from firststart.prompt.spoken import spoken  # its rules are needed by a voice only

        return spoken(text) if self.language.english else self.language.spoken(text)


class StageIn:
    """A stage whose own lines are put into a language; the prompts it is given are in it already."""

    def __init__(self, stage: Stage, text: Callable[[str], str]) -> None:
        self._stage, self._text = stage, text

    def tell(self, line: str) -> None:
        self._stage.tell(self._text(line))

    def show(self, prompt: Prompt) -> None:
        self._stage.show(prompt)

    def next_event(self, prompt: Prompt, status: Callable[[], str], poll: Poll) -> Event:
        return self._stage.next_event(prompt, lambda: self._status(status()), poll)

    def _status(self, status: str) -> str:
        figure, line_break, line = status.rpartition("\n")
        return figure + line_break + " | ".join(map(self._text, line.split(" | ")))


class MouthIn:
    """A mouth that puts what it says into a language first; what is in it already stays as it is."""

    def __init__(self, mouth: Mouth, text: Callable[[str], str]) -> None:
        self._mouth, self._text = mouth, text

    def say(self, text: str, *, priority: bool = False) -> None:
        self._mouth.say(self._text(text), priority=priority)

    def sound(self, kind: Tone, *, priority: bool = False) -> None:
        self._mouth.sound(kind, priority=priority)

    def prepare(self, texts: Iterable[str]) -> None:
        self._mouth.prepare([self._text(text) for text in texts])

    def silence(self) -> None:
        self._mouth.silence()

    def busy(self) -> bool:
        return self._mouth.busy()

    def wait(self, timeout: float) -> bool:
        return self._mouth.wait(timeout)

    def close(self) -> None:
        self._mouth.close()
