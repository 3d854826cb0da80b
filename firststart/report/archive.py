"""One job as one file, and back: a ZIP archive (APPNOTE 6.3, from memory) with the export, its schema, the page, the
photos and sounds, and a list of all of them with their digests.

    archive.json      what is in it: name, size and SHA-256 of each file
    job.json          the export (`jsonform`), from which the job is read back
    job.schema.json   the schema of the export
    report.html       the page, for people
    photos/*.jpg  sounds/*.wav

Nothing is ever unpacked by a name from the archive: what is read goes by its digest, and a file that is not on this
list is a reason to refuse the whole.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
import stat
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from firststart.errors import FirststartError, InputError, RecordTooNew
from firststart.job import facts as f
from firststart.job.attachment import MOST_PHOTO, Attachment
from firststart.journal.drawer import attachments, check
from firststart.report import jsonform, wire
from firststart.report.shown import Get

FORMAT: Literal["firststart-archive"] = "firststart-archive"
VERSION = 1
MOST_BYTES = 512 * 1024 * 1024  # of an archive, and of all that is in it
MOST_FILES = 5000
_LIST, _JOB, _SCHEMA, _PAGE = "archive.json", "job.json", "job.schema.json", "report.html"
_MEDIA = {_JOB: "application/json", _SCHEMA: "application/schema+json", _PAGE: "text/html"}
_KEPT = re.compile(r"(?:photos/[0-9a-f]{64}\.jpg|sounds/[0-9a-f]{64}\.wav)")
_FOLDERS = ("photos/", "sounds/")  # which other programs write as entries of their own
_MOST = {_LIST: 4 * 1024 * 1024, _JOB: jsonform.MOST_BYTES, _SCHEMA: 4 * 1024 * 1024, _PAGE: 64 * 1024 * 1024}
_AGAIN = "have the job exported again"


class _Listed(BaseModel):
    """One file of the archive."""

    model_config = ConfigDict(frozen=True, extra="ignore")

    name: str = Field(max_length=100)
    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    size: int = Field(ge=0, le=MOST_BYTES)
    media_type: str = ""


class _List(BaseModel):
    """What `archive.json` says."""

    model_config = ConfigDict(frozen=True, extra="ignore")

    format: Literal["firststart-archive"]
    version: int = Field(ge=1)
    schema_id: str = Field(default="", alias="schema")
    files: tuple[_Listed, ...] = Field(max_length=MOST_FILES)


@dataclass(frozen=True)
class Unpacked:
    """A job from an archive: its entries, the photos and sounds that are there, and those that are not."""

    facts: tuple[f.Fact, ...]
    kept: Mapping[Attachment, bytes]
    missing: tuple[Attachment, ...]


def to_archive(export: str, page: str, facts: Sequence[f.Fact], get: Get) -> bytes:
    """The archive of a job: its `export` (`to_json`), its `page` (`to_html`), and all that `get` gives."""
    inside: dict[str, bytes] = {_JOB: export.encode(), _SCHEMA: _schema(), _PAGE: page.encode()}
    media = dict(_MEDIA)
    for kept in attachments(facts):
        try:
            inside[wire.place_of(kept)] = get(kept)
        except FirststartError:
            continue  # it is gone; the entry that names it goes along
        media[wire.place_of(kept)] = kept.media
    listed = [
        {"name": n, "size": len(d), "sha256": hashlib.sha256(d).hexdigest(), "media_type": media[n]}
        for n, d in inside.items()
    ]
    head = {"format": FORMAT, "version": VERSION, "schema": wire.SCHEMA_ID, "files": listed}
    return _zipped({_LIST: (json.dumps(head, indent=1) + "\n").encode(), **inside}, facts[-1].at)


@cache
def _schema() -> bytes:
    return files("firststart.report").joinpath("schema.json").read_bytes()


def from_archive(data: bytes, now: datetime | None = None) -> Unpacked:
    """The job in an archive, everything in it looked at. Raises InputError, RecordTooNew; one sentence each."""
    if len(data) > MOST_BYTES:
        raise InputError(f"The archive is larger than {MOST_BYTES // 1024 // 1024} MB; it is no single job.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _unpacked(archive, now)
    except FirststartError:
        raise
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, NotImplementedError, RuntimeError) as error:
        raise InputError(f"The archive is damaged or cut short; {_AGAIN}.") from error


def _zipped(files: Mapping[str, bytes], at: datetime) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            info = zipfile.ZipInfo(name, (max(at.year, 1980), at.month, at.day, at.hour, at.minute, at.second))
            info.compress_type = zipfile.ZIP_STORED if name.endswith(".jpg") else zipfile.ZIP_DEFLATED
            info.external_attr = (stat.S_IFREG | 0o600) << 16
            archive.writestr(info, data)
    return out.getvalue()


def _unpacked(archive: zipfile.ZipFile, now: datetime | None) -> Unpacked:
    entries = dict(_entries(archive))
    listed = _list(archive, entries)
    found = {name: _read(archive, entries[name], listed[name]) for name in entries if name != _LIST}
    facts = jsonform.from_json(found[_JOB], now)
    named = {wire.place_of(kept): kept for kept in attachments(facts)}
    for name in found:
        if _KEPT.fullmatch(name) and name not in named:
            raise InputError(f"The archive holds {name[:20]}..., which no entry of the job names; {_AGAIN}.")
    kept = {attachment: found[name] for name, attachment in named.items() if name in found}
    for attachment, body in kept.items():
        check(attachment, body)
    return Unpacked(facts, kept, tuple(a for a in named.values() if a not in kept))


def _entries(archive: zipfile.ZipFile) -> Iterator[tuple[str, zipfile.ZipInfo]]:
    """Every file by its name, as it stands in the archive; one that no archive of a job has is refused."""
    infos = archive.infolist()
    if len(infos) > MOST_FILES or sum(info.file_size for info in infos) > MOST_BYTES:
        raise InputError("The archive would unpack to more than any job has; nothing of it was taken.")
    seen = set()
    for info in infos:
        name = info.orig_filename
        if name in _FOLDERS and not info.file_size:
            continue
        if name not in _MOST and not _KEPT.fullmatch(name):
            raise InputError(f"The archive holds {_shown(name)}, which no archive of a job does; nothing was taken.")
        if name in seen:
            raise InputError(f"The archive holds {_shown(name)} twice; {_AGAIN}.")
        if info.flag_bits & 1:
            raise InputError("The archive is locked with a password; have it exported without one.")
        if stat.S_IFMT(info.external_attr >> 16) not in (0, stat.S_IFREG):
            raise InputError(f"In the archive {_shown(name)} is a link and no file; nothing of it was taken.")
        if info.file_size > _MOST.get(name, MOST_PHOTO):
            raise InputError(f"In the archive {_shown(name)} is larger than such a file ever is; nothing was taken.")
        seen.add(name)
        yield name, info
    if not {_LIST, _JOB} <= seen:
        raise InputError("This file is no archive of a job; choose one that firststart jobs --export wrote.")


def _list(archive: zipfile.ZipFile, entries: Mapping[str, zipfile.ZipInfo]) -> dict[str, _Listed]:
    """What the archive says that is in it; exactly that must be."""
    try:
        told = json.loads(_body(archive, entries[_LIST]))
        if isinstance(told, dict) and isinstance(told.get("version"), int) and told["version"] > VERSION:
            raise RecordTooNew("The archive was made by a newer firststart; update this one to read it.")
        head = _List.model_validate(told)
    except (ValidationError, ValueError, RecursionError) as error:
        raise InputError(f"The list of files in the archive cannot be read; {_AGAIN}.") from error
    listed = {one.name: one for one in head.files}
    for name in sorted((set(listed) ^ set(entries)) - {_LIST}):
        where = "on its list but not in it" if name in listed else "in it but not on its list"
        raise InputError(f"The archive is not whole: {_shown(name)} is {where}; {_AGAIN}.")
    return listed


def _read(archive: zipfile.ZipFile, info: zipfile.ZipInfo, listed: _Listed) -> bytes:
    body = _body(archive, info)
    if len(body) != listed.size or hashlib.sha256(body).hexdigest() != listed.sha256:
        raise InputError(f"In the archive {_shown(listed.name)} is not what its digest says; {_AGAIN}.")
    return body


def _body(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """The bytes of one file, never more than it says that it has."""
    with archive.open(info) as file:
        body = file.read(info.file_size + 1)
    if len(body) != info.file_size:
        raise InputError(f"In the archive {_shown(info.orig_filename)} has not the size it says; nothing was taken.")
    return body


def _shown(name: str) -> str:
    return repr(name if len(name) <= 40 else name[:37] + "...")
