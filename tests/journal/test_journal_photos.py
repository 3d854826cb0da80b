"""What is kept with a job: real photos and sounds of bounded size, without place, whole on the disk or told."""

from __future__ import annotations

import hashlib
import io
import os
import stat
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from journal_photos import as_bytes, from_a_phone, jpeg, picture, png_of_size, tone, wav
from PIL import Image

from firststart.errors import InputError, RecordDamaged, RecordError, RecordReadOnly
from firststart.job.attachment import Attachment
from firststart.journal.drawer import Drawer, FolderDrawer, MemoryDrawer, carry, check, read_file
from firststart.journal.photo import MOST_READ, SIDE, kept_photo, smaller
from firststart.journal.spoken import kept_sound

JPEG = jpeg()


def test_a_photo_is_kept_upright_and_without_what_the_phone_wrote_into_it() -> None:
    """Place, serial number, maker and comment are gone from the bytes; that they were taken out is told."""
    attachment, body = kept_photo(from_a_phone(), "plug 2.jpg")
    image = Image.open(io.BytesIO(body))

    assert (240, 320) == image.size == (attachment.width, attachment.height)
    assert {} == dict(image.getexif())
    assert not any(word in body for word in (b"SERIAL", b"Invented", b"Phone 7", b"shed of", b"Exif", b"2026"))
    assert ("where it was taken", "what the camera wrote of itself") == attachment.removed
    assert "2026-05-02T11:00:00" == attachment.taken
    assert (hashlib.sha256(body).hexdigest(), len(body)) == (attachment.digest, attachment.size)


def test_the_picture_itself_is_the_same() -> None:
    """Dot by dot the kept photo is the one that came, to the rounding of JPEG."""
    _, body = kept_photo(as_bytes(picture(), "PNG"))
    before, after = picture().tobytes(), Image.open(io.BytesIO(body)).convert("RGB").tobytes()

    assert len(before) == len(after)
    assert sum(abs(a - b) for a, b in zip(before, after, strict=True)) / len(before) < 2


@pytest.mark.parametrize(
    "data",
    [
        as_bytes(picture(), "PNG"), as_bytes(picture(), "WEBP"), as_bytes(picture(mode="RGBA"), "PNG"),
        as_bytes(picture(mode="L"), "PNG"), as_bytes(picture().convert("P"), "PNG", transparency=0),
        as_bytes(picture().convert("CMYK")), as_bytes(picture(1, 1)), as_bytes(picture().convert("1"), "PNG"),
        as_bytes(picture().convert("I;16"), "PNG"),
    ],
)  # fmt: skip
def test_photos_of_every_usual_form_are_kept_as_jpeg(data: bytes) -> None:
    """Whatever form, depth and transparency it came in, a photo kept is one that the check takes for a kept one."""
    attachment, body = kept_photo(data)
    check(attachment, body)

    assert b"\xff\xd8\xff" == body[:3]


def test_a_large_photo_is_kept_no_larger_than_it_need_be() -> None:
    """The longer side has at most so many dots, and the report's twin fewer."""
    attachment, body = kept_photo(jpeg(5000, 1000))

    assert (SIDE, 512) == (attachment.width, attachment.height)
    assert (640, 128) == Image.open(io.BytesIO(smaller(body, 640))).size


REFUSED = [
    (b"", "is empty"),
    (b"not a photo at all", "is no photo; choose a JPEG, PNG or WebP"),
    (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "is no photo"),
    (b"%!PS-Adobe-3.0 EPSF-3.0\n", "is no photo"),
    (as_bytes(picture(), "GIF"), "is no photo"),
    (as_bytes(picture(), "TIFF"), "is no photo"),
    (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + b"\0" * 40, "is a HEIC photo"),
    (JPEG[: len(JPEG) // 2], "is damaged or cut short"),
    (as_bytes(picture(), "PNG")[:200], "is damaged or cut short"),
    (JPEG[:20], "is no photo|is damaged"),
    (png_of_size(8_000, 8_000), "has more dots than 60 million"),
    (png_of_size(50_000, 50_000), "has more dots than 60 million; make it"),
    (png_of_size(2_000_000_000, 2_000_000_000), "has more dots|is no photo"),
    (png_of_size(3000, 3000), "is damaged or cut short"),
    (b"x" * (MOST_READ + 1), "has more than 40 MB"),
    (b"PK\x03\x04" + JPEG, "is no photo"),
]


@pytest.mark.parametrize(("data", "words"), REFUSED, ids=[words[:24] for _, words in REFUSED])
def test_an_image_that_is_none_is_refused_in_a_sentence(data: bytes, words: str) -> None:
    """No image, half of one, one that would fill the memory: one line that names the file, and nothing is kept."""
    with pytest.raises(InputError, match=words) as caught:
        kept_photo(data, "plug.jpg")

    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("plug.jpg ")


@settings(max_examples=40)
@given(at=st.integers(0, len(JPEG) - 1), byte=st.integers(0, 255), cut=st.integers(0, len(JPEG)))
def test_whatever_is_done_to_a_photo_it_is_kept_whole_or_refused(at: int, byte: int, cut: int) -> None:
    """A changed byte, an end too early: a photo that passes the check, or one sentence; never anything else."""
    data = (JPEG[:at] + bytes([byte]) + JPEG[at + 1 :])[: cut or None]
    try:
        attachment, body = kept_photo(data, "plug.jpg")
    except InputError as error:
        assert "\n" not in str(error)
    else:
        check(attachment, body)


def test_a_sound_is_kept_as_plain_wave() -> None:
    """One channel of 16 bits, its length told."""
    attachment, body = kept_sound(tone(1.5))
    check(attachment, body)

    assert (1.5, "audio/wav", len(body)) == (attachment.seconds, attachment.media, attachment.size)


@pytest.mark.parametrize(
    ("seconds", "words"), [(0.1, "Nothing was recorded"), (121, "knock.wav lasts 121 s, and 120 s fit")]
)
def test_a_sound_too_short_or_too_long_is_refused(seconds: float, words: str) -> None:
    """One sentence says which."""
    with pytest.raises(InputError, match=words):
        kept_sound(b"\0\0" * int(16_000 * seconds), name="knock.wav")


SOUND = kept_sound(tone(1.0))
PHOTO = kept_photo(JPEG)


def _of(body: bytes, like: Attachment, **more: Any) -> Attachment:
    change = {"digest": hashlib.sha256(body).hexdigest(), "size": len(body), **more}
    return like.model_copy(update=change)


FOREIGN = [
    (PHOTO[0], JPEG[:-1] + b"x", "is not the one that was kept"),
    (PHOTO[0].model_copy(update={"width": 9}), PHOTO[1], "has not the size that its entry says"),
    (_of(from_a_phone(), PHOTO[0], width=320, height=240), from_a_phone(), "carries data of a camera"),
    (_of(jpeg(3000, 10), PHOTO[0], width=3000, height=10), jpeg(3000, 10), "is larger than a photo is ever kept"),
    (_of(b"<svg/>", PHOTO[0]), b"<svg/>", "is no photo"),
    (_of(as_bytes(picture(), "PNG"), PHOTO[0]), as_bytes(picture(), "PNG"), "is no photo"),
    (_of(SOUND[1], PHOTO[0]), SOUND[1], "is no photo"),
    (_of(PHOTO[1], SOUND[0]), PHOTO[1], "is no sound"),
    (SOUND[0].model_copy(update={"seconds": 2.0}), SOUND[1], "has not the length"),
    (_of(wav(channels=2), SOUND[0]), wav(channels=2), "no sound as they are kept"),
    (_of(wav(bits=8), SOUND[0]), wav(bits=8), "no sound as they are kept"),
    (_of(SOUND[1] + b"x" * 500, SOUND[0]), SOUND[1] + b"x" * 500, "no sound as they are kept"),
    (_of(b"RIFF", SOUND[0]), b"RIFF", "is no sound"),
]


@pytest.mark.parametrize(("attachment", "data", "words"), FOREIGN, ids=[words[:30] for *_, words in FOREIGN])
def test_what_comes_from_elsewhere_is_held_against_its_entry(attachment: Attachment, data: bytes, words: str) -> None:
    """Another's bytes, other sizes, camera data, another form, something hidden behind the end: each is refused."""
    with pytest.raises(InputError, match=words):
        check(attachment, data)


@pytest.fixture(params=["memory", "folder"])
def drawer(request: pytest.FixtureRequest, tmp_path: Path) -> Drawer:
    """Each kind of drawer keeps the same contract."""
    return MemoryDrawer() if request.param == "memory" else FolderDrawer(tmp_path / "home" / "record.db")


def test_what_is_put_in_comes_out_the_same(drawer: Drawer) -> None:
    """Twice put in is kept once; what was never put in is told in a sentence; other bytes are not taken."""
    drawer.put(*PHOTO)
    drawer.put(*PHOTO)

    assert PHOTO[1] == drawer.get(PHOTO[0])
    with pytest.raises(RecordError, match="does not lie beside the record any more"):
        drawer.get(SOUND[0])
    with pytest.raises(RecordError, match="changed while it was kept"):
        drawer.put(SOUND[0], b"other")


def test_what_changed_on_the_disk_is_told_and_mended_by_the_same_photo(tmp_path: Path) -> None:
    """A byte that changed is seen at the next look; the same photo once more puts it right."""
    drawer = FolderDrawer(tmp_path / "record.db")
    drawer.put(*PHOTO)
    path = tmp_path / "record.kept" / PHOTO[0].file
    path.write_bytes(PHOTO[1][:-1] + b"x")

    with pytest.raises(RecordDamaged, match="changed on the disk since it was kept"):
        drawer.get(PHOTO[0])
    drawer.put(*PHOTO)
    assert PHOTO[1] == drawer.get(PHOTO[0])
    assert [PHOTO[0].file] == [p.name for p in path.parent.iterdir()]


@pytest.mark.skipif(os.name != "posix", reason="file rights are posix")
def test_photos_are_the_users_alone(tmp_path: Path) -> None:
    """Folder and file are private, and no name from outside is on the disk."""
    drawer = FolderDrawer(tmp_path / "home" / "record.db")
    drawer.put(*kept_photo(JPEG, "../../etc/passwd"))
    (path,) = (tmp_path / "home" / "record.kept").iterdir()

    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert PHOTO[0].file == path.name


def test_a_drawer_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    """Something else in its place costs a sentence."""
    (tmp_path / "record.kept").write_text("a file")

    with pytest.raises(RecordReadOnly, match="Nothing can be kept in"):
        FolderDrawer(tmp_path / "record.db").put(*PHOTO)


@pytest.mark.parametrize(
    "words", [{"name": "\x1b[2J.jpg"}, {"taken": "\u202e"}, {"removed": ("\x07",)}, {"removed": ("x" * 81,)}]
)
def test_words_that_a_screen_would_obey_are_no_words_of_a_photo(words: dict[str, Any]) -> None:
    """A name from elsewhere with an escape in it, or with letters that turn the line round, is no entry."""
    with pytest.raises(ValueError, match=r"cannot be shown|at most 80"):
        Attachment.model_validate({**PHOTO[0].model_dump(), **words})


def test_carrying_gives_back_what_is_lost(tmp_path: Path) -> None:
    """What lies in the first drawer is in the second; what does not is named."""
    source, target = MemoryDrawer(), FolderDrawer(tmp_path / "copy.db")
    source.put(*PHOTO)

    assert (SOUND[0],) == carry((PHOTO[0], SOUND[0]), source, target)
    assert PHOTO[1] == target.get(PHOTO[0])


def test_a_digest_is_never_a_path() -> None:
    """An entry whose digest is a path, or anything but 64 figures, is no entry."""
    for digest in ("../" * 20 + "etc/passwd", "A" * 64, "a" * 63, "a" * 64 + "\n", ""):
        with pytest.raises(ValueError, match="digest"):
            Attachment(sort="photo", digest=digest, size=1)


@pytest.mark.parametrize(
    ("name", "words"),
    [("none.jpg", "There is no file"), (".", "is no file"), ("large", "has more than 0 MB"), ("a\0b", "cannot be read"),
     ("x" * 5000, "cannot be read")],
)  # fmt: skip
def test_a_file_that_cannot_be_taken_is_refused_in_a_sentence(name: str, words: str, tmp_path: Path) -> None:
    """No such file, a folder, too large, no name at all."""
    (tmp_path / "large").write_bytes(b"x" * 2000)

    with pytest.raises(InputError, match=words) as caught:
        read_file(tmp_path / name, 1000)
    assert "\n" not in str(caught.value)


def test_a_photo_half_written_when_the_power_went_is_no_photo(tmp_path: Path) -> None:
    """What was begun lies under a name of its own; the photo is whole or not there, and can be kept again."""
    folder = tmp_path / "record.kept"
    folder.mkdir()
    (folder / "0123456789abcdef.new").write_bytes(PHOTO[1][:100])
    drawer = FolderDrawer(tmp_path / "record.db")

    with pytest.raises(RecordError, match="does not lie beside the record"):
        drawer.get(PHOTO[0])
    drawer.put(*PHOTO)
    assert PHOTO[1] == drawer.get(PHOTO[0])
