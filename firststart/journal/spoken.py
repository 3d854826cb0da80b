"""A sound from a microphone or a file made into one that can be kept: a WAVE file of one channel and 16 bits."""

from __future__ import annotations

import hashlib
import io
import wave

from firststart.errors import InputError
from firststart.job.attachment import MOST_SOUND, Attachment

RATE = 16_000  # hertz
LONGEST_S = 120.0  # of a sound that is kept
MOST_READ = 64 * 1024 * 1024  # bytes of a sound file as it comes


def kept_sound(samples: bytes, rate: int = RATE, name: str = "") -> tuple[Attachment, bytes]:
    """What is kept of `samples` (signed 16 bits, little end first, one channel), and what the record says of it.

    Raises InputError: nothing in it, or too long.
    """
    seconds = len(samples) / 2 / rate
    if seconds < 0.2:
        raise InputError("Nothing was recorded; say note again, and speak after the tone.")
    if seconds > LONGEST_S:
        raise InputError(
            f"{name or 'That sound'} lasts {seconds:.0f} s, and {LONGEST_S:.0f} s fit; cut it into parts."
        )
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(samples)
    body = out.getvalue()
    digest = hashlib.sha256(body).hexdigest()
    return Attachment(sort="sound", digest=digest, size=len(body), name=name[:200], seconds=round(seconds, 3)), body


def check_sound(data: bytes, attachment: Attachment) -> None:
    """Is `data` a sound as `kept_sound` makes them, and as `attachment` says? Raises InputError."""
    called = attachment.called()
    try:
        with wave.open(io.BytesIO(data)) as file:
            plain = (file.getnchannels(), file.getsampwidth()) == (1, 2) and 4000 <= file.getframerate() <= 96_000
            frames = file.readframes(file.getnframes())
            seconds = len(frames) / 2 / max(file.getframerate(), 1)
    except (wave.Error, EOFError, ValueError, RuntimeError, ArithmeticError) as error:
        raise InputError(f"The {called} is no sound; have the job exported again.") from error
    if not plain or len(data) > MOST_SOUND or len(data) - len(frames) > 64:
        raise InputError(f"The {called} is no sound as they are kept; have the job exported again.")
    if attachment.seconds is None or abs(seconds - attachment.seconds) > 0.01:
        raise InputError(f"The {called} has not the length that its entry says; have the job exported again.")
