"""A photo from anywhere made into one that can be kept: decoded whole, of bounded size, without what a camera adds.

Place, serial numbers and the maker's own data are never kept: only the picture is written anew (JPEG, its colour
profile with it), upright as the camera said. What was taken out is told.
"""

from __future__ import annotations

import hashlib
import io
import re
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from firststart.errors import InputError
from firststart.job.attachment import MOST_PHOTO, Attachment

if TYPE_CHECKING:
    from PIL.Image import Image as Picture

MOST_READ = 40 * 1024 * 1024  # bytes of a photo as it comes
MOST_DOTS = 60_000_000
SIDE = 2560  # dots of the longer side as it is kept
_QUALITY = 88
_MOST_PROFILE = 4096  # bytes of a colour profile; those of cameras have some 500
_FORMATS = ("JPEG", "PNG", "WEBP")
_GPS, _EXIF, _TAKEN, _ORIENTATION = 0x8825, 0x8769, 0x9003, 0x0112  # tags (from memory: Exif 2.32, 4.6)
_FOREIGN = {b"heic": "a HEIC photo", b"heix": "a HEIC photo", b"mif1": "a HEIC photo", b"avif": "an AVIF photo"}


def kept_photo(data: bytes, name: str = "") -> tuple[Attachment, bytes]:
    """What is kept of the photo `data`, and what the record says of it. `name` is for the record and for errors.

    Raises InputError: no photo, cut short, too large. One sentence each.
    """
    called = name or "That file"
    if len(data) > MOST_READ:
        raise InputError(f"{called} has more than {MOST_READ // 1024 // 1024} MB; make the photo smaller first.")
    with _opened(data, called) as image:
        taken, removed = _taken(image), _removed(image)
        upright = _upright(image)
        body = _jpeg(upright, SIDE, _QUALITY, _profile(image))
    if len(body) > MOST_PHOTO:
        raise InputError(f"{called} does not fit into {MOST_PHOTO // 1024 // 1024} MB; make the photo smaller first.")
    return _described(body, name, taken, removed), body


def check_photo(data: bytes, attachment: Attachment) -> None:
    """Is `data` a photo as `kept_photo` makes them, and as `attachment` says? Raises InputError."""
    called = attachment.called()
    with _opened(data, called, ("JPEG",), as_it_is=True) as image:
        if image.size != (attachment.width, attachment.height):
            raise InputError(f"The {called} has not the size that its entry says; have the job exported again.")
        if max(image.size) > SIDE:
            raise InputError(f"The {called} is larger than a photo is ever kept; have the job exported again.")
        if _removed(image):
            raise InputError(f"The {called} carries data of a camera, which no kept one does; have it exported again.")


def smaller(data: bytes, side: int) -> bytes:
    """The photo with its longer side at most `side` dots, as JPEG, nothing beside the picture in it."""
    with _opened(data, "the photo", ("JPEG",)) as image:
        return _jpeg(_upright(image), side, 80, b"")


@contextmanager
def _opened(
    data: bytes, called: str, formats: tuple[str, ...] = _FORMATS, *, as_it_is: bool = False
) -> Iterator[Picture]:
    """The picture, decoded to its last line; a large JPEG smaller, but for `as_it_is`. Each fault is one line."""
    from PIL import Image

    if not data:
        raise InputError(f"{called} is empty; choose a photo.")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            image = Image.open(io.BytesIO(data), formats=formats)
            large = image.width * image.height > MOST_DOTS
        except Image.DecompressionBombError:
            large = True
        except Exception as error:  # whatever the decoder makes of a file that is none
            raise InputError(_no_photo(data, called)) from error
        if large:
            raise InputError(f"{called} has more dots than {MOST_DOTS // 1_000_000} million; make it smaller first.")
        try:
            if not as_it_is:
                image.draft("RGB", (SIDE, SIDE))  # of a JPEG no more is decoded than is kept
            image.load()
        except Exception as error:
            raise InputError(f"{called} is damaged or cut short; copy it from the camera again.") from error
        yield image


def _no_photo(data: bytes, called: str) -> str:
    kind = _FOREIGN.get(data[8:12]) if data[4:8] == b"ftyp" else None
    if kind:
        return f"{called} is {kind}, which is not read here; save it as JPEG first."
    return f"{called} is no photo; choose a JPEG, PNG or WebP file."


def _upright(image: Picture) -> Picture:
    from PIL import ImageOps

    try:
        turned = ImageOps.exif_transpose(image)
    except Exception:  # what a camera wrote beside the picture may be any bytes
        turned = image
    if turned.mode in ("RGBA", "LA", "PA") or "transparency" in turned.info:
        turned = turned.convert("RGBA")
        ground = _blank(turned.size)
        ground.paste(turned, mask=turned.getchannel("A"))
        return ground
    return turned if turned.mode in ("RGB", "L") else turned.convert("RGB")


def _blank(size: tuple[int, int]) -> Picture:
    from PIL import Image

    return Image.new("RGB", size, "white")


def _jpeg(image: Picture, side: int, quality: int, profile: bytes) -> bytes:
    out = io.BytesIO()
    small = image.copy()
    small.info = {}
    small.thumbnail((side, side))
    small.save(out, "JPEG", quality=quality, optimize=True, icc_profile=profile or None)
    return out.getvalue()


def _profile(image: Picture) -> bytes:
    """The colour profile of a camera or screen, so that colours stay what they were; none that is too large."""
    found = image.info.get("icc_profile")
    usual = isinstance(found, bytes) and len(found) <= _MOST_PROFILE and image.mode in ("RGB", "RGBA")
    return found if usual and isinstance(found, bytes) else b""


def _exif(image: Picture) -> dict[int, Any]:
    try:
        return dict(image.getexif())
    except Exception:
        return {}


def _removed(image: Picture) -> tuple[str, ...]:
    """What is beside the picture and is not kept, in words."""
    exif = _exif(image)
    place = "where it was taken" if _GPS in exif or b"GPS" in bytes(str(image.info.get("xmp", "")), "utf-8") else ""
    beside = bool(exif.keys() - {_GPS, _ORIENTATION}) or any(n in image.info for n in ("exif", "xmp", "comment"))
    return tuple(text for text in (place, "what the camera wrote of itself" if beside else "") if text)


def _taken(image: Picture) -> str:
    """ "2026-05-02T10:11:12" in the camera's own time; empty when it does not say."""
    try:
        told = str(image.getexif().get_ifd(_EXIF).get(_TAKEN, ""))
    except Exception:
        return ""
    found = re.fullmatch(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)\0?", told)
    return f"{found[1]}-{found[2]}-{found[3]}T{found[4]}" if found and found[1] != "0000" else ""


def _described(body: bytes, name: str, taken: str, removed: tuple[str, ...]) -> Attachment:
    from PIL import Image

    with Image.open(io.BytesIO(body), formats=("JPEG",)) as image:
        width, height = image.size
    return Attachment(
        sort="photo", digest=hashlib.sha256(body).hexdigest(), size=len(body), name=name[:200], width=width,
        height=height, taken=taken, removed=removed,
    )  # fmt: skip
