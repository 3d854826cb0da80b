"""A small neural recogniser run on this machine: weights from the package moonshine-voice, arithmetic by onnxruntime.

Only the two weight files and the tokenizer of that package are used; its own code is not imported, because it opens
sound libraries of its own. It is pinned to one release: later ones no longer carry the weights.

The model turns sound into a hidden sequence once, and then gives, token by token, how probable each next piece of text
is. `Hearing.advance` does that for several beginnings of text at a time and keeps what it has computed for each.
"""

from __future__ import annotations

import importlib
import importlib.util
import itertools
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from firststart.errors import FirststartError

Floats = npt.NDArray[np.float32]

RATE = 16000
"""Sample rate the model was trained for, hertz."""

BOS, EOS = 1, 2
_SPACE = "\u2581"  # the tokenizer's mark for the beginning of a word
_FIRST_TEXT_TOKEN = 259  # below it: control tokens and single bytes
_LAYERS, _HEADS, _WIDTH = 6, 8, 36
_SHORTEST = RATE // 2  # samples; shorter sounds are padded with silence


class EarsError(FirststartError):
    """Speech cannot be recognised here. The message is the end of a sentence."""


class Hearing(Protocol):
    """One utterance as the model heard it."""

    def first(self) -> Floats:
        """Log probability of each token as the first of the text: shape (1, tokens)."""
        ...

    def advance(self, parents: Sequence[int], tokens: Sequence[int]) -> Floats:
        """Extend row `parents[i]` of the last answer by `tokens[i]`: log probabilities, shape (len(tokens), tokens)."""
        ...


class SpeechModel(Protocol):
    """Turns samples (float, -1 to 1, 16 kHz, mono) into a hearing."""

    def listen(self, samples: Floats) -> Hearing:
        """What is heard in samples at 16 kHz: ready to be asked how well words fit."""
        ...


class Tokenizer:
    """Text to tokens and back, from the package's file: for each token its length and its bytes."""

    def __init__(self, data: bytes) -> None:
        self.pieces = _pieces(data)
        self._ids: dict[str, int] = {}
        for index, piece in enumerate(self.pieces):
            if index >= _FIRST_TEXT_TOKEN:
                self._ids.setdefault(piece.decode("utf-8", "replace"), index)

    def encode(self, text: str, begins_word: bool = True) -> tuple[int, ...]:
        """The tokens of `text`. Adjacent pieces are joined, lowest token first, until none can be joined.

        Raises KeyError when a character has no token.
        """
        parts = list((_SPACE if begins_word else "") + text.replace(" ", _SPACE))
        while True:
            joined = [a + b for a, b in itertools.pairwise(parts)]
            pairs = [(self._ids[piece], at) for at, piece in enumerate(joined) if piece in self._ids]
            if not pairs:
                return tuple(self._ids[part] for part in parts)
            at = min(pairs)[1]
            parts[at:at + 2] = [parts[at] + parts[at + 1]]

    def decode(self, tokens: Sequence[int]) -> str:
        """The text of `tokens`; control tokens say nothing."""
        raw = b"".join(self.pieces[token] for token in tokens if token > EOS)
        return raw.decode("utf-8", "replace").replace(_SPACE, " ").strip()


def _pieces(data: bytes) -> list[bytes]:
    pieces, at = [], 0
    while at < len(data):
        size, at = data[at], at + 1
        if size >= 128:
            size, at = size - 128 + 128 * data[at], at + 1
        pieces.append(data[at:at + size])
        at += size
    return pieces


class Moonshine:
    """The model. Raises EarsError, with a reason, when a package or a weight file is missing."""

    def __init__(self) -> None:
        folder = _weights()
        try:
            runtime: Any = importlib.import_module("onnxruntime")
        except ImportError as error:
            raise EarsError("the package onnxruntime is not installed") from error
        options = runtime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1  # the screen and the voice need the rest
        options.log_severity_level = 4
        try:
            self.tokenizer = Tokenizer((folder / "tokenizer.bin").read_bytes())
            self._encoder = runtime.InferenceSession(str(folder / "encoder_model.ort"), options)
            self._decoder = runtime.InferenceSession(str(folder / "decoder_model_merged.ort"), options)
        except Exception as error:  # onnxruntime raises several unrelated types
            raise EarsError(f"the weights in the package moonshine-voice cannot be used ({error})"[:200]) from error

    def listen(self, samples: Floats) -> _MoonshineHearing:
        """What is heard in samples at 16 kHz: ready to be asked how well words fit."""
        if len(samples) < _SHORTEST:
            samples = np.concatenate([samples, np.zeros(_SHORTEST - len(samples), np.float32)])
        mask = np.ones((1, len(samples)), np.int64)
        feed = {"input_values": samples[None].astype(np.float32), "attention_mask": mask}
        hidden = self._encoder.run(None, feed)[0]
        return _MoonshineHearing(self._decoder, hidden)


def _weights() -> Path:
    spec = importlib.util.find_spec("moonshine_voice")
    if spec is None or spec.origin is None:
        raise EarsError("the package moonshine-voice is not installed")
    folder = Path(spec.origin).parent / "assets" / "tiny-en"
    for name in ("encoder_model.ort", "decoder_model_merged.ort", "tokenizer.bin"):
        if not (folder / name).is_file():
            raise EarsError(f"the package moonshine-voice holds no {name}; install moonshine-voice==0.0.73")
    return folder


class _MoonshineHearing:
    """The decoder with its memory of each row: keys and values of the text so far, and of the sound."""

    def __init__(self, decoder: Any, hidden: Floats) -> None:
        self._decoder, self._hidden = decoder, hidden
        self._sound: dict[str, Floats] = {}
        self._text: dict[str, Floats] = {}
        self._names = [output.name.replace("present", "past_key_values") for output in decoder.get_outputs()][1:]

    def first(self) -> Floats:
        frames = self._hidden.shape[1]
        empty = {
            f"past_key_values.{layer}.{side}.{what}": np.zeros((1, _HEADS, length, _WIDTH), np.float32)
            for layer in range(_LAYERS)
            for side, length in (("decoder", 0), ("encoder", frames))
            for what in ("key", "value")
        }
        logits, present = self._run(np.array([[BOS]], np.int64), empty, cached=False)
        self._sound = {name: value for name, value in present.items() if ".encoder." in name}
        self._text = {name: value for name, value in present.items() if ".decoder." in name}
        return logits

    def advance(self, parents: Sequence[int], tokens: Sequence[int]) -> Floats:
        rows = np.array(parents, np.int64)
        past = {name: value[rows] for name, value in self._text.items()}
        past |= {name: np.repeat(value, len(rows), axis=0) for name, value in self._sound.items()}
        logits, present = self._run(np.array(tokens, np.int64)[:, None], past, cached=True)
        self._text = {name: value for name, value in present.items() if ".decoder." in name}
        return logits

    def _run(
        self, ids: npt.NDArray[np.int64], past: dict[str, Floats], *, cached: bool
    ) -> tuple[Floats, dict[str, Floats]]:
        count, frames = ids.shape[0], self._hidden.shape[1]
        feed = {
            "encoder_attention_mask": np.ones((count, frames), np.int64),
            "input_ids": ids,
            "encoder_hidden_states": np.repeat(self._hidden, count, axis=0),
            "use_cache_branch": np.array([cached]),
            **past,
        }
        logits, *present = self._decoder.run(None, feed)
        return _log_softmax(logits[:, -1]), dict(zip(self._names, present, strict=True))


def _log_softmax(logits: Floats) -> Floats:
    """Log probabilities, computed in place: these are the largest arrays here, and new ones cost more than the sums."""
    logits -= logits.max(axis=-1, keepdims=True)
    logits -= np.log(np.exp(logits).sum(axis=-1, keepdims=True))
    return logits
