"""Between the person and the bench: prompts into the person's language, the person's words into English. Pure."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from firststart.procedure.model import SIGNALS, Note
from firststart.prompt.dialogue import normal
from firststart.prompt.expect import GENERAL, Expectation, Option
from firststart.prompt.language import Language
from firststart.prompt.prompt import Prompt

_NUMBER_AND_UNIT = re.compile(r"([+-]?\d[\d.]*)\s*([^\W\d].*)")
NOTE = "note"


def prompt_in(language: Language, prompt: Prompt) -> Prompt:
    """`prompt` in another language; its answers are understood in that language and in English."""
    if language.english:
        return prompt
    text = language.text
    return replace(
        prompt,
        text=text(prompt.text),
        big=text(prompt.big),
        expects=expectation_in(language, prompt.expects),
        cautions=tuple(_note(text, n) for n in prompt.cautions),
        spoken_cautions=tuple(_note(text, n) for n in prompt.spoken_cautions),
        info=text(prompt.info),
        why=text(prompt.why),
        place=text(prompt.place),
        signals={signal: text(signal) for signal in SIGNALS},
    )


def _note(text: Callable[[str], str], note: Note) -> Note:
    return note.model_copy(update={"text": text(note.text)})


def expectation_in(language: Language, expects: Expectation) -> Expectation:
    """The same answers with the phrases of the language first; the English ones stay understood."""
    return replace(expects, options=tuple(_option(language, option) for option in expects.options))


def _option(language: Language, option: Option) -> Option:
    here = [phrase for english in option.phrases for phrase in language.phrases(english)]
    return replace(option, phrases=tuple(dict.fromkeys((*here, *option.phrases))))


def words_from(language: Language, text: str, expects: Expectation) -> str:
    """What the person said, in English. `expects` is the English expectation; what is not known stays as it is."""
    words = normal(text)
    if language.english or not words:
        return text
    answers = _answers(language, expects)
    for english, phrases in answers:
        if words in map(normal, phrases):
            return english
    loose = {english for english, phrases in answers if words in (_bare(language, p) for p in phrases)}
    if len(loose) == 1:
        return loose.pop()
    return _note_of(language, text) or _quantity(language, text) or text


def _answers(language: Language, expects: Expectation) -> list[tuple[str, tuple[str, ...]]]:
    """(English, what means it here): stop first, then the answers of the moment, then the general words."""
    general = [(phrases[0], language.always(meaning)) for meaning, phrases in GENERAL.items()]
    general += [(word, language.always(word)) for word in ("yes", "no")]
    stop = [pair for pair in general if pair[0] == GENERAL["stop"][0]] if expects.kind != "turning" else []
    answers = [(phrase, language.phrases(phrase)) for option in expects.options for phrase in option.phrases]
    return [*stop, *answers, *general]


def _bare(language: Language, phrase: str) -> str:
    """A phrase without the small word before it, as many type it: "Motorrad" for "ein Motorrad"."""
    first, _, rest = normal(phrase).partition(" ")
    return rest if first in language.catalogue.field("X-Small-Words") else ""


def _note_of(language: Language, text: str) -> str:
    """A note begins with its word; what follows is kept as it was said."""
    first, _, rest = text.strip().partition(" ")
    return f"{NOTE} {rest}" if rest and normal(first) in language.always(NOTE) else ""


def _quantity(language: Language, text: str) -> str:
    """A number with the name of its unit here, as a number with the unit's symbol."""
    match = _NUMBER_AND_UNIT.fullmatch(text.strip())
    symbol = language.units.get(" ".join(match[2].lower().split())) if match else None
    return f"{match[1]} {symbol}" if match and symbol else ""
