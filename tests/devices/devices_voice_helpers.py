"""What the tests of mouth and ears share: a fake speech child, a virtual sound card, synthesised voices, noise."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

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
def sound_server(folder: Path) -> Iterator[dict[str, str]]:
    """A private sound server with two virtual devices: `spk`, and `garage` whose monitor is the microphone `mic`.

    Yields the environment a program needs to find it. "garage" loops what is played there back to `mic`.
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
        "module-null-sink sink_name=garage rate=16000 channels=1 sink_properties=device.description=garage",
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
