"""The ears: what the bench needs of them, the words they may hear, their twins, and how they are opened.

    microphone -> speech or not -> where an utterance ends -> recogniser on a closed list -> accept, ask or reject
    (capture)     (listener)       (endpoint)                 (moonshine, closed_decoder)   (zones)

Only what this step allows can be heard: its phrases, numbers where a number is asked, the general words. The heavy
libraries are loaded when ears are opened, and not before.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING, Protocol, TypeVar

from firststart.units import kind_of

if TYPE_CHECKING:
    from firststart.devices.endpoint import Block
    from firststart.devices.tape import Tape

_T = TypeVar("_T")

NUMBER = "number"
"""The meaning of every spoken number; its value is in `Heard.text`."""

OWN = "own"
"""The meaning of the tool's own words when it listens while it speaks; they are never reported."""


def oldest(waiting: deque[_T]) -> _T | None:
    """The oldest of what waits, taken; None when nothing does. Another thread may fill it meanwhile."""
    try:
        return waiting.popleft()
    except IndexError:
        return None


class Zone(Enum):
    """How sure the ears are."""

    ACCEPT = "accept"
    ASK = "ask"


@dataclass(frozen=True)
class Vocabulary:
    """What may be heard now.

    `phrases`: phrase to meaning; several phrases may share one. `numbers`: whether a number may be said, and `units`
    the spoken names that may follow it. `safety`: meanings that act even when the ears are half sure, since acting is
    the safe side ("stop", "pause"). `rare`: meanings seldom said here; they must be a little clearer.
    `while_speaking`: keep listening while the mouth speaks (counting a crank). `quantity`, `unit`, `low`, `high`: what
    a number must be to be plausible, `unit` being the usual one; no quantity, no limits. `about`: which question it
    belongs to; while that stays, what earlier tries at its answer told is remembered. `urgent`: something dangerous is
    going on or about to, so that a safety word acts at the least sign of it; else one half heard is asked back.
    """

    phrases: Mapping[str, str]
    numbers: bool = False
    safety: frozenset[str] = frozenset()
    units: tuple[str, ...] = ()
    rare: frozenset[str] = frozenset()
    while_speaking: bool = False
    quantity: str = ""
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    about: str = ""
    urgent: bool = True

    @property
    def key(self) -> tuple[object, ...]:
        """Equal for equal vocabularies, and fit for a dictionary."""
        limits = (self.quantity, self.unit, self.low, self.high)
        return (*self.sounds, self.safety, self.rare, self.while_speaking, *limits, self.about, self.urgent)

    @property
    def sounds(self) -> tuple[object, ...]:
        """Equal for vocabularies in which the same things can be heard."""
        return (tuple(sorted(self.phrases.items())), self.numbers, self.units)


def spoken_units(kind: str) -> tuple[str, ...]:
    """The spoken names of all units of a kind of quantity, for `Vocabulary.units`."""
    return tuple(dict.fromkeys(unit.spoken for unit in kind_of(kind).units if unit.spoken))


@dataclass(frozen=True)
class Heard:
    """One utterance understood, or half understood.

    `text`: the phrase of the vocabulary, or the number in figures with its unit ("118 psi"). `zone` ASK means: read it
    back and wait for a yes. `gap`: how much likelier free text was than this (nats). `margin`: how much likelier this
    was than the next meaning (nats). `delay`: seconds from the end of the speech to this result.
    """

    text: str
    meaning: str
    zone: Zone = Zone.ACCEPT
    gap: float = 0.0
    margin: float = 99.0
    delay: float = 0.0
    words: str = field(default="", compare=False)


@dataclass(frozen=True)
class Levels:
    """Loudness of the room and of the person so far, decibels below full scale; None while not known."""

    noise: float | None
    speech: float | None

    @property
    def ratio(self) -> float | None:
        """Speech above noise, decibels."""
        if self.noise is None or self.speech is None:
            return None
        return self.speech - self.noise


class Ears(Protocol):
    """What the bench needs of a microphone. Nothing here waits; nothing raises."""

    def start(self) -> None:
        """Begin to listen."""
        ...

    def listen_for(self, vocabulary: Vocabulary) -> None:
        """From now on hear this and nothing else. Forgets what was being said."""
        ...

    def heard(self) -> Heard | None:
        """The oldest thing heard and not yet taken, or None."""
        ...

    def mute(self) -> None:
        """Hear nothing until `unmute`: the tool must not hear itself."""
        ...

    def unmute(self) -> None:
        """Hear again, a moment after the loudspeaker fell silent."""
        ...

    def levels(self) -> Levels:
        """How loud the room and the person are."""
        ...

    def record(self, tape: Tape | None, /) -> bool:
        """From now on put all that is heard on this tape too, None: on none. False where there is no microphone."""
        ...

    def cranked(self) -> Block | None:
        """The sound around the newest crank (16 kHz), once it is whole; each is given once."""
        ...

    def close(self) -> None:
        """Let go of the microphone. May be called twice."""
        ...


class DeafEars:
    """The twin without a microphone: hears nothing."""

    def start(self) -> None:
        """Nothing to start."""

    def listen_for(self, vocabulary: Vocabulary) -> None:
        """Nothing will be heard."""

    def heard(self) -> Heard | None:
        return None

    def mute(self) -> None:
        """Deaf already."""

    def unmute(self) -> None:
        """Deaf still."""

    def levels(self) -> Levels:
        return Levels(None, None)

    def record(self, _tape: Tape | None) -> bool:
        return False

    def cranked(self) -> Block | None:
        return None

    def close(self) -> None:
        """Nothing to let go of."""


class ScriptedEars:
    """The twin that hears a script: words in order, each taken only when the vocabulary allows it and not muted.

    A word the vocabulary does not hold is dropped, as the real ears reject it; `dropped` keeps it for the test.
    `spoken` is what a tape gets to hear: blocks of sound with their chance of being speech; none, no microphone.
    """

    def __init__(self, script: Iterable[str | Heard], spoken: Iterable[tuple[Block, float]] = ()) -> None:
        self._script = deque(script)
        self._spoken = tuple(spoken)
        self._vocabulary = Vocabulary({})
        self._started = self._muted = False
        self.dropped: list[str] = []

    def start(self) -> None:
        self._started = True

    def listen_for(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary

    def heard(self) -> Heard | None:
        if not self._started or (self._muted and not self._vocabulary.while_speaking) or not self._script:
            return None
        item = self._script.popleft()
        if isinstance(item, Heard):
            return item
        found = understand(item, self._vocabulary)
        if found is None:
            self.dropped.append(item)
        return found

    def mute(self) -> None:
        self._muted = True

    def unmute(self) -> None:
        self._muted = False

    def levels(self) -> Levels:
        return Levels(None, None)

    def record(self, tape: Tape | None) -> bool:
        if tape is not None:
            for block, chance in self._spoken:
                tape.add(block, chance)
        return bool(self._spoken)

    def cranked(self) -> Block | None:
        return None

    def close(self) -> None:
        self._started = False


def understand(words: str, vocabulary: Vocabulary) -> Heard | None:
    """What perfectly heard `words` mean in `vocabulary`; None when they mean nothing there."""
    from firststart.errors import NumberError
    from firststart.prompt.numbers import hear_number

    folded = " ".join(words.lower().split())
    for phrase, meaning in vocabulary.phrases.items():
        if folded == phrase.lower():
            return Heard(phrase, meaning, words=words)
    if not vocabulary.numbers:
        return None
    try:
        return Heard(hear_number(folded), NUMBER, words=words)
    except NumberError:
        return None


@dataclass(frozen=True)
class EarOptions:
    """Which microphone: part of its name, or None for the usual one."""

    device: str | None = None


GOES_ON = "the bench goes on by screen and keys"


def open_ears(options: EarOptions, notice: Callable[[str], None], mouth_busy: Callable[[], bool]) -> Ears:
    """Ears that hear, or the deaf twin and one sentence that says why. Never raises, never hangs.

    `mouth_busy` tells whether the tool itself is speaking; nothing is heard then, nor for a moment after.
    """
    try:
        from firststart.devices.ears_process import ProcessEars

        return ProcessEars(options, notice, mouth_busy)
    except ImportError as error:
        notice(f"No ears: the package {error.name or 'numpy'} is not installed; {GOES_ON}.")
    except Exception as error:  # a microphone that fails in any way costs the ears, never the job
        notice(f"No ears: {error}; {GOES_ON}.")
    return DeafEars()
