"""Photos and sounds for tests, drawn here; the places in them are invented."""

from __future__ import annotations

import io
import math
import struct
import wave
import zlib
from typing import Any

from PIL import Image, ImageDraw


def picture(width: int = 320, height: int = 240, mode: str = "RGB") -> Image.Image:
    """A plug on a bench, more or less."""
    image = Image.new(mode, (width, height), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((width // 3, height // 4, width // 2, height), fill="black")
    draw.ellipse((width // 3, height // 8, width // 2, height // 3), fill="gray")
    return image


def as_bytes(image: Image.Image, form: str = "JPEG", **more: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def jpeg(width: int = 320, height: int = 240) -> bytes:
    """A plain photo."""
    return as_bytes(picture(width, height))


def from_a_phone(width: int = 320, height: int = 240) -> bytes:
    """A photo with what a phone writes into it: place, time, maker, serial number, and that it lies on its side."""
    exif = Image.Exif()
    exif[0x010F], exif[0x0110], exif[0x0112] = "Invented", "Phone 7", 6
    exif.get_ifd(0x8825).update({1: "N", 2: (51.0, 30.0, 12.5), 3: "E", 4: (7.0, 12.0, 30.25)})
    exif.get_ifd(0x8769).update({0x9003: "2026:05:02 11:00:00", 0xA431: "SERIAL-4711"})
    return as_bytes(picture(width, height), exif=exif, comment=b"shed of the owner")


def png_of_size(width: int, height: int) -> bytes:
    """The head of a PNG that says it is so large; little else is in it."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def tone(seconds: float = 1.0, rate: int = 16_000) -> bytes:
    """Samples of a hum, signed 16 bits."""
    count = int(seconds * rate)
    return struct.pack(f"<{count}h", *(int(8000 * math.sin(n * 0.1)) for n in range(count)))


def wav(seconds: float = 1.0, rate: int = 16_000, channels: int = 1, bits: int = 16) -> bytes:
    """A sound file."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(bits // 8)
        file.setframerate(rate)
        file.writeframes(tone(seconds, rate) * channels if bits == 16 else b"\x80" * int(seconds * rate))
    return out.getvalue()
