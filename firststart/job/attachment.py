"""A photo or a sound that is kept with a job: what the record says of it. The bytes lie beside the record.

A photo is always a JPEG file without what a camera adds to it (place, serial number); a sound is always a WAVE file
of one channel. Both are known by the SHA-256 of their bytes (from memory: FIPS 180-4), which is also their name on the
disk, so that no name from elsewhere is ever a path.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

MOST_PHOTO = 12 * 1024 * 1024  # bytes of a photo as it is kept
MOST_SOUND = 12 * 1024 * 1024
MOST_TEXT = 4000  # characters of a note, and of what is said of a photo or sound
_SUFFIX = {"photo": "jpg", "sound": "wav"}
_MEDIA = {"photo": "image/jpeg", "sound": "audio/wav"}


class Attachment(BaseModel):
    """One photo or sound. `name` is the file it came from, empty for a recording; sizes in bytes, dots and seconds.

    `taken` is the time a camera wrote into the photo, in the camera's own time; `removed` what was taken out of it.
    """

    model_config = ConfigDict(defer_build=True, frozen=True, extra="forbid")

    sort: Literal["photo", "sound"]
    digest: str = Field(pattern=r"^[0-9a-f]{64}$")
    size: int = Field(gt=0, le=max(MOST_PHOTO, MOST_SOUND))
    name: str = Field(default="", max_length=200)
    width: int | None = Field(default=None, gt=0, le=100_000)
    height: int | None = Field(default=None, gt=0, le=100_000)
    seconds: float | None = Field(default=None, gt=0, le=3600)
    taken: str = Field(default="", max_length=40)
    removed: tuple[Annotated[str, Field(max_length=80)], ...] = Field(default=(), max_length=8)

    @model_validator(mode="after")
    def _shown_as_it_is(self) -> Self:
        """Its words are shown on screens: none may hold what a screen would obey."""
        if not all(text.isprintable() for text in (self.name, self.taken, *self.removed)):
            raise ValueError("the words for a photo or sound hold letters that cannot be shown")
        return self

    @property
    def file(self) -> str:
        """The name of its file: digest and suffix."""
        return f"{self.digest}.{_SUFFIX[self.sort]}"

    @property
    def media(self) -> str:
        """Its media type (RFC 6838)."""
        return _MEDIA[self.sort]

    def called(self) -> str:
        """ "photo plug.jpg", "sound of 7 s": how it is named in a sentence."""
        if self.name:
            return f"{self.sort} {self.name}"
        return f"{self.sort} of {self.seconds:.0f} s" if self.seconds else self.sort
