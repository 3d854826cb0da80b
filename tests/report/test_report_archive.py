"""One job as one file and back: equal, whole, and nothing taken from an archive that plays tricks."""

from __future__ import annotations

import hashlib
import io
import json
import stat
import warnings
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from report_jobs import Bench, rules
from report_kept import album_bench, album_report, kept_facts
from report_random import jobs

from firststart.errors import FirststartError, InputError, RecordTooNew
from firststart.job import facts as f
from firststart.job.fold import fold_all
from firststart.journal.drawer import MemoryDrawer
from firststart.journal.memory import MemoryJournal
from firststart.report import archive as archive_module
from firststart.report.archive import from_archive, to_archive
from firststart.report.build import build_report
from firststart.report.html import to_html
from firststart.report.jsonform import to_json

Files = dict[str, bytes]


@pytest.fixture(scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Bench, MemoryDrawer]:
    """The job with photos and sounds."""
    return album_bench(tmp_path_factory.mktemp("album"))


@pytest.fixture(scope="session")
def whole(kept: tuple[Bench, MemoryDrawer]) -> bytes:
    """Its archive."""
    bench, drawer = kept
    report = album_report(bench)
    return to_archive(to_json(report, bench.facts), to_html(report, (), drawer.get), bench.facts, drawer.get)


def _files(data: bytes) -> Files:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_an_archive_reads_back_to_an_equal_job(kept: tuple[Bench, MemoryDrawer], whole: bytes) -> None:
    """Entries, what is folded from them, and every byte of every photo and sound."""
    bench, drawer = kept
    back = from_archive(whole, bench.clock.now())

    assert bench.facts == back.facts
    assert fold_all(bench.facts) == fold_all(back.facts)
    assert {x.attachment: drawer.get(x.attachment) for x in kept_facts(bench)} == back.kept
    assert () == back.missing


def test_an_archive_can_be_read_without_this_tool(whole: bytes) -> None:
    """Any ZIP program opens it: the page, the export with its schema, photos and sounds, each with its digest."""
    found = _files(whole)
    listed = json.loads(found["archive.json"])
    schema = json.loads(found["job.schema.json"])

    assert zipfile.ZipFile(io.BytesIO(whole)).testzip() is None
    assert {one["name"]: one["sha256"] for one in listed["files"]} == {
        name: hashlib.sha256(data).hexdigest() for name, data in found.items() if name != "archive.json"
    }
    assert listed["schema"] == schema["$id"] == "firststart-job-2.schema.json"
    jsonschema.Draft202012Validator(schema).validate(json.loads(found["job.json"]))
    assert b"<!doctype html>" in found["report.html"]
    assert ["photos", "photos", "sounds", "sounds"] == [name.split("/")[0] for name in found if "/" in name]


def test_the_same_job_makes_the_same_archive(kept: tuple[Bench, MemoryDrawer], whole: bytes) -> None:
    """Nothing of the machine or of the hour gets in."""
    bench, drawer = kept
    report = album_report(bench)

    assert whole == to_archive(to_json(report, bench.facts), to_html(report, (), drawer.get), bench.facts, drawer.get)


def test_what_is_lost_is_told_and_the_rest_goes_along(kept: tuple[Bench, MemoryDrawer]) -> None:
    """A photo that does not lie beside the record any more is named; the job comes back equal all the same."""
    bench, _ = kept
    report = album_report(bench)
    back = from_archive(to_archive(to_json(report, bench.facts), "page", bench.facts, MemoryDrawer().get))

    assert bench.facts == back.facts
    assert tuple(x.attachment for x in kept_facts(bench)) == back.missing


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(facts=jobs())
def test_any_job_comes_back_equal_into_a_record(facts: tuple[f.Fact, ...]) -> None:
    """Random jobs of random answers, out and in again: the record reads the same, entry for entry."""
    now = max(x.at for x in facts) + timedelta(hours=1)
    text = to_json(build_report(facts, rules(), now), facts)
    back = from_archive(to_archive(text, "page", facts, MemoryDrawer().get), now)
    journal = MemoryJournal()
    journal.append("job", 0, back.facts)

    assert facts == journal.read("job")


# tricks ------------------------------------------------------------------------------------------------------


@dataclass
class Trick:
    """An archive made by hand: its files, and what is done to the entry of each name."""

    files: Files
    entries: dict[str, Callable[[zipfile.ZipInfo], None]] = field(default_factory=dict)
    more: list[tuple[str, bytes]] = field(default_factory=list)
    listed: bool = True

    def made(self) -> bytes:
        out = io.BytesIO()
        named = {n: d for n, d in self.files.items() if n != "archive.json"}
        if self.listed:
            extra = dict(self.more)
            head = {"format": "firststart-archive", "version": 1, "files": [
                {"name": n, "size": len(d), "sha256": hashlib.sha256(d).hexdigest()}
                for n, d in {**named, **extra}.items()
            ]}  # fmt: skip
            self.files["archive.json"] = json.dumps(head).encode()
        with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            warnings.simplefilter("ignore")  # of a name that is there twice
            for name, data in [*self.files.items(), *self.more]:
                info = zipfile.ZipInfo("x")
                info.filename = info.orig_filename = name
                info.compress_type = zipfile.ZIP_DEFLATED
                self.entries.get(name, lambda _: None)(info)
                archive.writestr(info, data)
        return out.getvalue()


def _link(info: zipfile.ZipInfo) -> None:
    info.external_attr = (stat.S_IFLNK | 0o777) << 16


def _device(info: zipfile.ZipInfo) -> None:
    info.external_attr = (stat.S_IFCHR | 0o666) << 16


PATHS = (
    "../evil", "../../etc/passwd", "/etc/passwd", "photos/../../evil.jpg", "C:\\evil.jpg", "C:/evil.jpg",
    "..\\..\\evil.jpg", "\\\\host\\share\\evil", "photos/evil.jpg", "photos/" + "a" * 64 + ".exe", "con", "evil/",
    "photos/" + "A" * 64 + ".jpg", "./job.json", "job.json ", "JOB.JSON", "~/.bashrc", "photos//" + "a" * 64 + ".jpg",
    "report.html:stream", "\u202egpj.live", "x" * 3000, "photos/" + "a" * 64 + ".jpg\n", "",
)  # fmt: skip


@pytest.mark.parametrize("name", PATHS, ids=lambda n: ascii(n)[:30])
def test_an_archive_with_a_name_of_its_own_is_refused(name: str, whole: bytes) -> None:
    """Up, away, another drive, another host, a name that only looks right: one sentence, nothing taken."""
    with pytest.raises(InputError, match="no archive of a job does") as caught:
        from_archive(Trick(_files(whole), more=[(name, b"x")]).made())

    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 200


def _spoilt(files_: Files, name: str, data: bytes | None) -> Files:
    changed = {n: d for n, d in files_.items() if n != name}
    return changed if data is None else {**changed, name: data}


def _photo(files_: Files) -> str:
    return next(n for n in files_ if n.startswith("photos/"))


def _with_photo(files_: Files, body: bytes) -> Files:
    """A photo of that body in the first one's place, every digest and size told as they are."""
    old = _photo(files_)
    digest = hashlib.sha256(body).hexdigest()
    text = files_["job.json"].decode().replace(old.split("/")[1][:64], digest)
    document = json.loads(text)
    for fact in document["facts"]:
        if fact["type"] == "attachment-kept" and fact["attachment"]["digest"] == digest:
            fact["attachment"]["size"] = len(body)
    changed = _spoilt(_spoilt(files_, old, None), "job.json", json.dumps(document).encode())
    return {**changed, f"photos/{digest}.jpg": body}


def _with_fact(files_: Files, **change: Any) -> Files:
    document = json.loads(files_["job.json"])
    document["facts"].append({"type": "note-added", "at": document["newest"], "text": "x", **change})
    return _spoilt(files_, "job.json", json.dumps(document).encode())


def _bomb(files_: Files) -> Files:
    return _with_photo(files_, b"\xff\xd8\xff" + b"\0" * 2_000_000)


TRICKS: list[tuple[str, Callable[[Files], Trick], str]] = [
    ("link", lambda x: Trick(x, {_photo(x): _link}), "is a link and no file"),
    ("device", lambda x: Trick(x, {"job.json": _device}), "is a link and no file"),
    ("twice", lambda x: Trick(x, more=[("job.json", x["job.json"])]), "holds 'job.json' twice"),
    ("changed photo", lambda x: Trick(_spoilt(x, _photo(x), b"other"), listed=False), "is not what its digest says"),
    ("changed page", lambda x: Trick(_spoilt(x, "report.html", b"x"), listed=False), "'report.html' is not what its"),
    ("photo of another name", lambda x: Trick(_spoilt(x, _photo(x), b"other")), "is not the one that was kept"),
    ("no image", lambda x: Trick(_with_photo(x, b"<svg onload='alert(1)'/>")), "is no photo"),
    ("bomb in a photo", lambda x: Trick(_bomb(x)), "is no photo|is damaged"),
    ("photo nobody names", lambda x: Trick(x, more=[("photos/" + "a" * 64 + ".jpg", b"x")]), "which no entry"),
    ("large photo", lambda x: Trick(_spoilt(x, _photo(x), b"\0" * 13_000_000)), "is larger than such a file ever is"),
    ("large list", lambda x: Trick(_spoilt(x, "archive.json", b" " * 5_000_000), listed=False), "is larger than such"),
    ("no list", lambda x: Trick(_spoilt(x, "archive.json", None), listed=False), "is no archive of a job"),
    ("no job", lambda x: Trick(_spoilt(x, "job.json", None)), "is no archive of a job"),
    ("list cut", lambda x: Trick(_spoilt(x, "archive.json", b"{"), listed=False), "list of files .* cannot be read"),
    ("list deep", lambda x: Trick(_spoilt(x, "archive.json", b"[" * 90_000), listed=False), "cannot be read"),
    ("list of nothing", lambda x: Trick(_spoilt(x, "archive.json", b"[]"), listed=False), "cannot be read"),
    ("on the list alone", lambda x: Trick(_spoilt(x, _photo(x), None), listed=False), "is on its list but not in it"),
    ("huge note", lambda x: Trick(_with_fact(x, text="x" * 4001)), "a text of more than 4000 characters"),
    ("entry nobody knows", lambda x: Trick(_with_fact(x, type="run-code")), "The export is damaged: entry"),
    ("from the future", lambda x: Trick(_with_fact(x, at="2099-01-01T00:00:00Z")), "still to come"),
    ("digest as a path", lambda x: Trick(_with_fact(
        x, type="attachment-kept", attachment={"sort": "photo", "digest": "../" * 21 + "a", "size": 1})),
     "The export is damaged: entry"),
    ("newer", lambda x: Trick(_spoilt(x, "archive.json", b'{"version": 2}'), listed=False), "made by a newer"),
]  # fmt: skip


@pytest.mark.parametrize(("trick", "words"), [t[1:] for t in TRICKS], ids=[t[0] for t in TRICKS])
def test_an_archive_with_a_trick_is_refused_in_a_sentence(
    trick: Callable[[Files], Trick], words: str, kept: tuple[Bench, MemoryDrawer], whole: bytes
) -> None:
    """Links, devices, changed bytes, bombs, no images, huge notes, an hour to come: one line, and nothing is taken."""
    with pytest.raises((InputError, RecordTooNew), match=words) as caught:
        from_archive(trick(_files(whole)).made(), kept[0].clock.now())

    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


def test_an_archive_that_would_unpack_to_too_much_is_refused_unread(
    whole: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sizes are added up first, whatever each of them may be; so are the files."""
    total = sum(map(len, _files(whole).values()))
    monkeypatch.setattr(archive_module, "MOST_BYTES", total - 1)
    with pytest.raises(InputError, match="would unpack to more than any job has"):
        from_archive(whole)

    monkeypatch.setattr(archive_module, "MOST_BYTES", len(whole) - 1)
    with pytest.raises(InputError, match="is no single job"):
        from_archive(whole)


def test_a_size_that_lies_is_found_out(whole: bytes) -> None:
    """An entry that says it is small and is not is read no further than it says."""
    at = whole.rindex(b"report.html") - 46  # the central directory's entry: size at 24, name at 46 (APPNOTE 4.3.12)
    lying = whole[: at + 24] + (100).to_bytes(4, "little") + whole[at + 28 :]

    with pytest.raises(InputError):
        from_archive(lying)


def test_a_locked_archive_is_told(whole: bytes) -> None:
    """A password is named as the reason."""
    at = whole.rindex(b"job.json") - 46
    locked = whole[: at + 8] + bytes([whole[at + 8] | 1]) + whole[at + 9 :]

    with pytest.raises(InputError, match="locked with a password"):
        from_archive(locked)


@pytest.mark.parametrize("data", [b"", b"PK", b"PK\x03\x04", b"x" * 500, b"PK\x05\x06" + b"\0" * 18])
def test_what_is_no_archive_is_refused(data: bytes) -> None:
    """Nothing, half of it, anything else, an empty one."""
    with pytest.raises(InputError, match=r"damaged or cut short|is no archive of a job"):
        from_archive(data)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=..., byte=...)
def test_whatever_byte_is_changed_it_is_equal_or_refused(at: int, byte: int, whole: bytes) -> None:
    """A changed byte anywhere: the same job comes back, or one sentence; never another job."""
    place = at % len(whole)
    changed = whole[:place] + bytes([byte % 256]) + whole[place + 1 :]
    try:
        back = from_archive(changed)
    except FirststartError as error:
        assert "\n" not in str(error)
    else:
        assert _whole_facts(whole) == back.facts


@cache
def _whole_facts(whole: bytes) -> tuple[f.Fact, ...]:
    return from_archive(whole).facts


def test_the_schema_of_a_comparison_is_the_one_the_models_make() -> None:
    """`schema-comparison.json` is `comparison_schema()`."""
    from firststart.report.comparejson import comparison_schema

    assert comparison_schema() == files("firststart.report").joinpath("schema-comparison.json").read_text("utf-8")
