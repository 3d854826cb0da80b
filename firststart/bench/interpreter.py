"""A conductor heard and answered in another language. The work, the record and the conductor itself stay English."""

from __future__ import annotations

from dataclasses import replace

from firststart.bench.byear import Beat, Overheard
from firststart.bench.conductor import Conductor, Reply
from firststart.job.inputs import Keep
from firststart.prompt.dialogue import KEYS, Dialogue
from firststart.prompt.interpret import prompt_in, words_from
from firststart.prompt.language import Language
from firststart.prompt.prompt import Prompt


def _quoted(words: str) -> str:
    """The person's words as a sentence quotes them back."""
    return repr(words.strip()[:30])


class Interpreter:
    """Stands between the person and a conductor, and has the same ways in and out."""

    def __init__(self, conductor: Conductor, language: Language) -> None:
        self.conductor, self.language = conductor, language

    @property
    def dialogue(self) -> Dialogue:
        """Where the talk stands."""
        return self.conductor.dialogue

    def prompt(self) -> Prompt:
        """What stands now, in the person's language."""
        return prompt_in(self.language, self.conductor.prompt())

    def greet(self) -> Reply:
        """The first words after a job is opened or taken up again."""
        return self._out(self.conductor.greet())

    def hear(self, text: str, channel: str = KEYS, *, sure: bool = True) -> Reply:
        """Words from the person, in their language or in English."""
        english = words_from(self.language, text, self.conductor.prompt().expects)
        reply = self.conductor.hear(english, channel, sure=sure)
        return self._out(replace(reply, say=tuple(s.replace(_quoted(english), _quoted(text)) for s in reply.say)))

    def stop(self, channel: str = KEYS) -> Reply:
        """Stop, obeyed before anything else."""
        return self._out(self.conductor.stop(channel))

    def tick(self) -> Reply | None:
        """Time has passed; None when nothing changed."""
        reply = self.conductor.tick()
        return None if reply is None else self._out(reply)

    def turned(self) -> float | None:
        """How long the starter has been turning; None when it is not."""
        return self.conductor.turned()

    def beat(self) -> Beat | None:
        """What the newest crank sounds like, as far as it is known."""
        return self.conductor.beat()

    def overheard(self, heard: Overheard) -> Reply:
        """What the microphone made of the newest crank."""
        return self._out(self.conductor.overheard(heard))

    def release(self) -> Reply:
        """The starter has stopped."""
        return self._out(self.conductor.release())

    def keep(self, given: Keep) -> Reply:
        """A photo or sound that lies in the drawer, now in the record too."""
        return self._out(self.conductor.keep(given))

    def _out(self, reply: Reply) -> Reply:
        said = tuple(self.language.text(sentence) for sentence in reply.say)
        return replace(reply, say=said, prompt=prompt_in(self.language, reply.prompt))
