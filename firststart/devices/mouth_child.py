"""The only place that imports the speech library. Runs as a process of its own, and may die without harm.

Why a process: with wrong data the speech library ends the whole process; it prints to the standard output; it cannot
be interrupted. So this child only makes sound files, and its parent plays them. It imports nothing of this package.

In: one JSON object a line, {"id": 1, "text": "..."}. Out, on what was the standard output: one JSON object a line,
{"id": 1, "bytes": n} followed by n bytes of a sound file, or {"id": 1, "error": "..."}. The first line out is
{"ready": true, "voice": "...", "voices": [...], "warning": "..."} or {"error": "..."}.
The arguments are one JSON object: folder, rate (words a minute), voice, language.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
import time
from pathlib import Path
from typing import Any, BinaryIO

_PATIENCE = 1.8  # seconds for one utterance; the parent's watchdog waits a little longer
_TRIES = 3  # for words that come out cut off
_FEWEST_BYTES = 500  # for each letter said: 0.011 s at 22,050 Hz, a tenth of what a usual voice needs


def main(arguments: str) -> None:
    """Answer requests until the input ends, then leave without running any clean-up of the speech library."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    out = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)  # the speech library prints; its words must not reach the parent as answers
    options = json.loads(arguments)
    folder = Path(options["folder"])
    try:
        engine, hello = _start(options)
    except BaseException as error:  # whatever it is, the parent must hear of it
        _tell(out, {"error": f"{type(error).__name__}: {str(error).strip() or 'no reason given'}"[:300]})
        os._exit(1)
    _tell(out, hello)
    for line in sys.stdin.buffer:
        _answer(engine, folder, json.loads(line), out)
    shutil.rmtree(folder, ignore_errors=True)
    os._exit(0)


def _start(options: dict[str, Any]) -> tuple[Any, dict[str, Any]]:
    """The engine, set up, and the first line for the parent."""
    if sys.platform == "linux":
        _load_bundled_library()
    import pyttsx3

    engine = pyttsx3.init()
    engine.setProperty("rate", int(options["rate"]))
    voice, warning = _choose_voice(engine, options.get("voice"), options.get("language"))
    voices = [str(each.id) for each in engine.getProperty("voices")]
    return engine, {"ready": True, "voice": voice, "voices": voices, "warning": warning}


def _load_bundled_library() -> None:
    """Load the speech library from its package first, so that the later look-up by name finds this one."""
    try:
        import espeakng_loader
    except ImportError:
        return
    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()  # without it the library ends the process
    espeakng_loader.load_library()


def _choose_voice(engine: Any, voice: str | None, language: str | None) -> tuple[str, str]:
    """Set the voice asked for, else one of the language: (its id, a warning or "")."""
    voices = list(engine.getProperty("voices"))
    wanted = (voice or "").partition("+")[0].lower()
    for each in voices if wanted else ():
        name = str(each.id).lower()
        if wanted in (name, name.rpartition("/")[2], str(each.name).lower()):
            variant = (voice or "")[len(wanted):] if sys.platform == "linux" else ""
            engine.setProperty("voice", f"{each.id}{variant}")
            return f"{each.id}{variant}", ""
    named = _of_language(engine, voices, wanted) if wanted else None  # "en-gb" is a language, and names a voice too
    if named is not None:
        variant = (voice or "")[len(wanted):] if sys.platform == "linux" else ""
        engine.setProperty("voice", f"{named}{variant}")
        return f"{named}{variant}", ""
    warning = f"there is no voice called {voice!r}" if voice else ""
    found = _of_language(engine, voices, language)
    if found is None:
        return str(engine.getProperty("voice")), warning or f"there is no voice for the language {language!r}"
    engine.setProperty("voice", found)
    return found, warning


def _of_language(engine: Any, voices: list[Any], language: str | None) -> str | None:
    """The id of a voice for `language`: the usual voice when it fits, else the closest tag; None when none fits."""
    usual = str(engine.getProperty("voice"))
    if not language:
        return usual
    tag = language.lower().replace("_", "-")
    fitting = [
        (name != tag, str(each.id) != usual, index, str(each.id))
        for index, each in enumerate(voices)
        for name in _tags(each)
        if name == tag or name.startswith(f"{tag}-")
    ]
    return min(fitting)[3] if fitting else None


def _tags(voice: Any) -> list[str]:
    """The language tags of a voice; the speech libraries leave odd bytes around them."""
    found = [str(name).strip("".join(map(chr, range(32)))) for name in (voice.languages or [])]
    return [tag.lower().replace("_", "-") for tag in found]


def _answer(engine: Any, folder: Path, request: dict[str, Any], out: BinaryIO) -> None:
    try:
        sound = _speech(engine, folder, str(request["text"]))
    except Exception as error:
        _tell(out, {"id": request.get("id"), "error": f"{type(error).__name__}: {error}"[:300]})
        return
    _tell(out, {"id": request.get("id"), "bytes": len(sound)}, sound)


def _speech(engine: Any, folder: Path, text: str) -> bytes:
    """The bytes of a sound file that says `text`. Raises TimeoutError, RuntimeError."""
    for _ in range(_TRIES):
        data = _one_try(engine, folder, text)
        if len(data) >= _FEWEST_BYTES * sum(c.isalnum() for c in text):
            return data
    raise RuntimeError("the speech library cuts the words off")


def _one_try(engine: Any, folder: Path, text: str) -> bytes:
    path = folder / "utterance.wav"
    path.unlink(missing_ok=True)
    finished: list[bool] = []

    def on_finished(**_: object) -> None:
        finished.append(True)

    token = engine.connect("finished-utterance", on_finished)
    engine.save_to_file(text, str(path))
    _run(engine)
    try:
        _wait_for(path, finished)
    finally:
        engine.disconnect(token)
    data = path.read_bytes()
    path.unlink(missing_ok=True)
    return data


def _run(engine: Any) -> None:
    """Let the library work. On Linux its "run and wait" does not wait, and while the library is still setting the rate
    or the voice it even cancels that, or the words; its plain loop ends by itself when the words are done."""
    if sys.platform == "linux":
        engine.startLoop()
        engine.endLoop()
    else:
        engine.runAndWait()


def _wait_for(path: Path, finished: list[bool]) -> None:
    """Wait until the file is whole: the event on Linux, elsewhere the event or a size that stays."""
    end, size = time.monotonic() + _PATIENCE, -1
    while time.monotonic() < end:
        there = path.stat().st_size if path.exists() else -1
        if there > 0 and (finished or (sys.platform != "linux" and there == size)):
            return
        size = there
        time.sleep(0.001 if sys.platform == "linux" else 0.02)
    raise TimeoutError("the speech library did not finish")


def _tell(out: BinaryIO, message: dict[str, Any], data: bytes = b"") -> None:
    out.write(json.dumps(message).encode() + b"\n" + data)


if __name__ == "__main__":
    main(sys.argv[1])
