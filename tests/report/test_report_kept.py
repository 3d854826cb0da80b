"""Photos and sounds in every form of the report: shown on the page, named in the text, hashed in the export."""

from __future__ import annotations

import base64
import io
import json
import re
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest
from PIL import Image
from report_jobs import Bench
from report_kept import SAID, album_bench, album_report, kept_facts

from firststart.errors import RecordError
from firststart.job.attachment import Attachment
from firststart.journal.drawer import MemoryDrawer
from firststart.report import shown as shown_module
from firststart.report.html import to_html
from firststart.report.jsonform import from_json, to_json
from firststart.report.shown import SIDE, album
from firststart.report.text import to_text

SOURCES = re.compile(r'src="data:(image/jpeg|audio/wav);base64,([A-Za-z0-9+/=]+)"')


@pytest.fixture(scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Bench, MemoryDrawer]:
    """The job with photos and sounds."""
    return album_bench(tmp_path_factory.mktemp("album"))


def test_the_page_holds_the_photos_and_sounds_themselves(kept: tuple[Bench, MemoryDrawer]) -> None:
    """Two photos and two sounds inside the page, the sounds whole; its policy lets just these in."""
    bench, drawer = kept
    html = to_html(album_report(bench), (), drawer.get)
    found = [(media, base64.b64decode(text)) for media, text in SOURCES.findall(html)]

    assert ["image/jpeg", "image/jpeg", "audio/wav", "audio/wav"] == [media for media, _ in found]
    assert [drawer.get(x.attachment) for x in kept_facts(bench)[2:]] == [data for _, data in found[2:]]
    assert "img-src data:; media-src data:;" in html
    assert not re.search(r"(?:src|href)=\"(?!data:|#)", html)


def test_a_photo_on_the_page_is_a_smaller_twin(kept: tuple[Bench, MemoryDrawer]) -> None:
    """The page is drawn anew from the dots: nothing of a file's own is in it, and it is no larger than need be."""
    bench, _ = kept
    big = Image.new("RGB", (2500, 100), "white")
    out = io.BytesIO()
    big.save(out, "JPEG", comment=b"hidden in the file")
    found = album(album_report(bench), lambda a: out.getvalue() if a.sort == "photo" else b"x")
    data = base64.b64decode(found.shown[0].source.split(",")[1])

    assert (SIDE, 48) == Image.open(io.BytesIO(data)).size
    assert b"hidden" not in data


def test_what_is_said_of_a_photo_cannot_run_or_break_the_page(kept: tuple[Bench, MemoryDrawer]) -> None:
    """Letters of markup are shown as letters, in the caption and in the words for those who do not see."""
    bench, drawer = kept
    html = to_html(album_report(bench), (), drawer.get)

    assert SAID not in html
    assert html.count("Plug of cylinder 2 &lt;b&gt;black&lt;/b&gt; &amp; oily") == 4
    assert 'alt="Photo plug 2.jpg, 600 by 800 dots, taken 2026-05-02 11:00 by its camera: Plug of' in html


def test_a_page_without_photos_lets_no_picture_in(kept: tuple[Bench, MemoryDrawer]) -> None:
    """Its policy is as strict as it was."""
    html = to_html(album_report(kept[0]))

    assert "img-src" not in html
    assert [] == SOURCES.findall(html)


def test_a_photo_that_is_gone_is_told_on_the_page(kept: tuple[Bench, MemoryDrawer]) -> None:
    """The page is made all the same, and says what is missing."""

    def gone(attachment: Attachment) -> bytes:
        raise RecordError(f"The {attachment.called()} does not lie there.")

    html = to_html(album_report(kept[0]), (), gone)

    assert "not beside the record any more." in html
    assert "Photo plug 2.jpg, 600 by 800 dots" in html


def test_a_page_stays_small_enough_to_send(
    kept: tuple[Bench, MemoryDrawer], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What does not fit is named, in order, and the rest is shown."""
    bench, drawer = kept
    sizes = [len(x.source) for x in album(album_report(bench), drawer.get).shown]
    monkeypatch.setattr(shown_module, "MOST", (sizes[0] + sizes[1]) * 3 // 4 + 10)
    found = album(album_report(bench), drawer.get)

    assert ["photo", "photo"] == [x.sort for x in found.shown]
    assert ("Sound knock.wav, 0.5 s; Sound of 1.2 s: not on this page, for it would be too large; "
            "the archive of the job has all.",) == found.missing  # fmt: skip


def test_the_text_names_each_with_its_digest(kept: tuple[Bench, MemoryDrawer]) -> None:
    """A text twin: what it is, what was said, what was taken out, and the digest that tells it from any other."""
    bench, _ = kept
    text = to_text(album_report(bench))
    joined = " ".join(text.split())

    assert f"Photo plug 2.jpg, 600 by 800 dots, taken 2026-05-02 11:00 by its camera: {SAID}" in joined
    assert "taken out: where it was taken, what the camera wrote of itself; SHA-256" in joined
    assert all(x.attachment.digest in text for x in kept_facts(bench))
    assert all(len(line) <= 80 for line in text.splitlines())


def test_the_export_tells_each_and_comes_back_equal(kept: tuple[Bench, MemoryDrawer]) -> None:
    """Valid by the published schema, its place in an archive beside its digest; read back the entries are the same."""
    bench, _ = kept
    text = to_json(album_report(bench), bench.facts)
    document = json.loads(text)
    schema = json.loads(files("firststart.report").joinpath("schema.json").read_text(encoding="utf-8"))
    first = document["notes"][0]["attachment"]

    jsonschema.Draft202012Validator(schema).validate(document)
    assert f"photos/{first['sha256']}.jpg" == first["file"]
    assert bench.facts == from_json(text)


def test_an_export_of_version_1_is_still_read() -> None:
    """What an older tool wrote out comes back whole."""
    text = (Path(__file__).parent / "report_samples" / "export-1.json").read_text(encoding="utf-8")
    facts = from_json(text)

    assert 1 == json.loads(text)["version"]
    assert ("Kept since version 1: Öl.", 14) == (getattr(facts[-1], "text", ""), len(facts))
