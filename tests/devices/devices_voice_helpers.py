"""What the tests of mouth and ears share: a fake speech child, a virtual sound card, synthesised voices, noise."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt

from firststart.devices.ears import spoken_units
from firststart.devices.moonshine import EOS, Floats, Tokenizer
from firststart.devices.sound import Sound
from firststart.prompt.numbers import NUMBER_WORDS
from firststart.units import KINDS

Shorts = npt.NDArray[np.int16]

HERE = Path(__file__).resolve()
ROOT = HERE.parents[2]

GOOD_ANSWER = """
import io, wave
buffer = io.BytesIO()
with wave.open(buffer, "wb") as w:
    w.setnchannels(1); w.setsampwidth(2); w.setframerate(22050); w.writeframes(b"\\x10\\x20" * 2205)
tell({"id": request["id"], "bytes": len(buffer.getvalue())}, buffer.getvalue())
"""


def fake_child(folder: Path, on_request: str, hello: str = 'tell({"ready": True, "voice": "fake"})') -> list[str]:
    """The command line of a speech child that says `hello` and then runs `on_request` for each request.

    Each start adds a line to `starts.txt` and each request one to `requests.txt`, both in `folder`.
    """
    script = folder / "child.py"
    script.write_text(
        "import json, os, sys, time\n"
        f"folder = {str(folder)!r}\n"
        "def note(name, text):\n"
        "    with open(os.path.join(folder, name), 'a') as out:\n"
        "        out.write(text + '\\n')\n"
        "def tell(message, data=b''):\n"
        "    sys.stdout.buffer.write(json.dumps(message).encode() + b'\\n' + data)\n"
        "    sys.stdout.buffer.flush()\n"
        "note('starts.txt', str(os.getpid()))\n"
        f"{hello}\n"
        "for line in sys.stdin.buffer:\n"
        "    request = json.loads(line)\n"
        "    note('requests.txt', request['text'])\n" + textwrap.indent(on_request, "    ")
    )
    return [sys.executable, "-S", "-E", str(script)]


def lines(path: Path) -> list[str]:
    """The lines of a file, none when it is not there."""
    return path.read_text().splitlines() if path.exists() else []


def until(condition: object, timeout: float = 5.0) -> bool:
    """Poll `condition` (a callable) until it is true, at most `timeout` seconds; whether it came to be."""
    end = time.monotonic() + timeout
    while not condition():  # type: ignore[operator]
        if time.monotonic() > end:
            return False
        time.sleep(0.002)
    return True


NO_SOUND_SERVER = shutil.which("pulseaudio") is None or shutil.which("parec") is None
WHY_NO_SOUND_SERVER = "needs a sound server of its own: install pulseaudio and pulseaudio-utils"


@contextmanager
def sound_server(folder: Path, rate: int = 16000) -> Iterator[dict[str, str]]:
    """A private sound server with two virtual devices: `spk`, and `garage` whose monitor is the microphone `mic`.

    Yields the environment a program needs to find it. "garage" loops what is played there back to `mic`; both have the
    `rate`, in hertz.
    """
    home, runtime = folder / "home", folder / "pulse"
    home.mkdir()
    runtime.mkdir()
    socket = runtime / "native"
    env = {
        **os.environ, "XDG_RUNTIME_DIR": str(folder), "PULSE_RUNTIME_PATH": str(runtime), "HOME": str(home),
        "PULSE_SERVER": f"unix:{socket}", "PYTHONPATH": str(ROOT),
    }  # fmt: skip
    modules = (
        f"module-native-protocol-unix socket={socket} auth-anonymous=1",
        "module-null-sink sink_name=spk rate=22050 channels=1 sink_properties=device.description=spk",
        f"module-null-sink sink_name=garage rate={rate} channels=1 sink_properties=device.description=garage",
        "module-remap-source master=garage.monitor source_name=mic source_properties=device.description=mic",
    )
    loads = [word for module in modules for word in ("-L", module)]
    server = subprocess.Popen(
        ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no", *loads],
        env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        assert until(socket.exists), "the sound server did not start"
        yield env | {"SOUND_SERVER_PID": str(server.pid)}
    finally:
        server.kill()
        server.wait()


def run_script(script: str, env: dict[str, str], timeout: float = 60.0) -> str:
    """Run Python code in a process of its own and return what it printed; its errors fail the test."""
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(script)], env=env, capture_output=True, text=True, timeout=timeout,
        check=False, cwd=HERE.parent,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


# -- a recogniser made by hand -------------------------------------------------------------------------------


def tokenizer_file(pieces: list[str]) -> bytes:
    """A tokenizer file as the recogniser's package has it: control tokens, 256 bytes, then `pieces`."""
    raw = [b"<unk>", b"<s>", b"</s>", *(bytes([b]) for b in range(256)), *(p.encode() for p in pieces)]
    out = bytearray()
    for piece in raw:
        size = len(piece)
        out += bytes([size]) if size < 128 else bytes([128 + size % 128, size // 128])
        out += piece
    return bytes(out)


def hand_tokenizer() -> Tokenizer:
    """A tokenizer with a token for each character, and for each number word and word of a unit, small or capital."""
    characters = "\u2581abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,!?-'%"
    units = {word for kind in KINDS for name in spoken_units(kind) for word in name.split()}
    words = sorted(word for word in units | NUMBER_WORDS if len(word) > 1)
    both = [form for word in words for form in (word, word.capitalize())]
    beginnings = dict.fromkeys(f"\u2581{word[:end]}" for word in both for end in range(1, len(word) + 1))
    return Tokenizer(tokenizer_file([*characters, *beginnings]))


class HandModel:
    """A model that "hears" fixed texts with fixed chances, and everything else with a very small one."""

    def __init__(self, tokenizer: Tokenizer, texts: dict[str, float]) -> None:
        self._count = len(tokenizer.pieces)
        self._texts = [((*tokenizer.encode(text), EOS), chance) for text, chance in texts.items()]

    def listen(self, samples: object) -> HandHearing:
        return HandHearing(self._count, self._texts)


class HandHearing:
    """The texts as a tree of chances."""

    def __init__(self, count: int, texts: list[tuple[tuple[int, ...], float]]) -> None:
        self._count, self._texts, self._rows = count, texts, [()]

    def first(self) -> Floats:
        return self._chances()

    def advance(self, parents: Sequence[int], tokens: Sequence[int]) -> Floats:
        self._rows = [(*self._rows[parent], token) for parent, token in zip(parents, tokens, strict=True)]
        return self._chances()

    def _chances(self) -> Floats:
        out = np.full((len(self._rows), self._count), 1e-6, np.float32)
        for index, row in enumerate(self._rows):
            for tokens, chance in self._texts:
                if tokens[:len(row)] == row and len(tokens) > len(row):
                    out[index, tokens[len(row)]] += chance
        result: Floats = np.log(out / out.sum(axis=1, keepdims=True))
        return result


# -- sound made by hand --------------------------------------------------------------------------------------


def with_noise(speech: Sound, ratio: float | None, seed: int = 1, lead: float = 0.6, tail: float = 1.1) -> Shorts:
    """`speech` at 16 kHz at -26 dB below full scale, silence around it, brown noise `ratio` dB below it."""
    rng = np.random.default_rng(seed)
    words = np.array(speech.at_rate(16000).samples, float)
    words = words / np.sqrt(np.mean(words[np.abs(words) > 0.03 * np.abs(words).max()] ** 2)) * 1640
    out = np.concatenate([np.zeros(int(lead * 16000)), words, np.zeros(int(tail * 16000))])
    out += rng.standard_normal(len(out)) * 3
    if ratio is not None:
        spectrum = np.fft.rfft(rng.standard_normal(len(out)))
        noise = np.fft.irfft(spectrum / np.maximum(np.fft.rfftfreq(len(out), 1 / 16000), 20.0), len(out))
        out += noise / np.sqrt(np.mean(noise**2)) * 1640 * 10 ** (-ratio / 20)
    return np.clip(out, -32768, 32767).astype(np.int16)


def blocks_of(samples: Shorts) -> Iterator[Shorts]:
    """The sound in blocks of 512, as the microphone gives it."""
    for at in range(0, len(samples) - 511, 512):
        yield samples[at:at + 512]
