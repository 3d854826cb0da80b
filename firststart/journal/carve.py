"""Rows found in the bytes of a record, also where its tables cannot be walked any more.

Nothing of the file's structure is trusted. Every page is searched for what a row looks like (the record format of
SQLite's file format, sqlite.org/fileformat2.html, sections 1.6, 2.1 and 4.1); a row counts when its seal is
right, a row of version 1 (which has none) when its body is a fact that says the same as the row.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from firststart.errors import RecordError
from firststart.journal.wire import fact_of, seal, time_text

Row = tuple[str, int, str, str, int, str]
Key = tuple[str, int]

_PAGE = 4096
_FRAME = 24  # bytes of a frame's head in the log
_TEXT = rb"(?:[\x0d-\x7f]|[\x81-\xff][\x00-\x7f]|[\x81-\xff][\x80-\xff][\x00-\x7f])"  # a varint that may mean a text
_INT = rb"[\x01-\x06\x08\x09]"
_AT = rb"\x43"  # a text of 27 letters: a time
_SEAL = rb"\x2d"  # a text of 16 letters
# The heads of the rows that are looked for, each where it may begin (looked ahead, since one may hide in another).
_SEALED = re.compile(rb"(?=[\x08-\x0f]" + _TEXT + _INT + _AT + _TEXT + _INT + _TEXT + _SEAL + rb")", re.DOTALL)
_UNSEALED = re.compile(rb"(?=[\x07-\x0e]" + _TEXT + _INT + _AT + _TEXT + _INT + _TEXT + rb")", re.DOTALL)
_ENTRY = re.compile(rb"(?=[\x04-\x06]" + _INT + _TEXT + _SEAL + rb")", re.DOTALL)
_JOB = re.compile(rb"(?=[\x04-\x08]" + _TEXT + _TEXT + _AT + rb")", re.DOTALL)
_HEX = re.compile(r"[0-9a-f]{16}")


@dataclass
class Found:
    """What the bytes hold: rows, the keys that stood a second time in the index, and the engine of each job."""

    rows: dict[Key, Row] = field(default_factory=dict)
    entries: dict[Key, str] = field(default_factory=dict)  # key -> seal
    engines: dict[str, str] = field(default_factory=dict)
    sealed: bool = False
    torn: bool = False  # the log does not end as it was written


def carve(data: bytes, log: bytes = b"") -> Found:
    """Everything in a record's file and its log. Raises RecordError when they hold no row at all."""
    size = _page_size(data)
    pages = {number: data[at : at + size] for number, at in enumerate(range(0, len(data), size), 1)}
    logged, torn = _frames(log, size)
    newest = {**pages, **dict(logged)}
    found = Found(torn=torn)
    images = [*pages.values(), *(page for _, page in logged)]
    for page in images:
        _sealed_rows(page, size, (newest, pages), found)
        _entries(page, size, found)
        _jobs(page, size, found)
    found.sealed = bool(found.rows)
    if not found.rows:
        for page in images:
            _unsealed_rows(page, size, (newest, pages), found)
        found.entries.clear()
    if not found.rows:
        raise RecordError("There is no entry of a job in this file that can still be read.")
    return found


def _page_size(data: bytes) -> int:
    told = int.from_bytes(data[16:18], "big")
    told = 65536 if told == 1 else told
    sound = 512 <= told <= 65536 and told & (told - 1) == 0 and len(data) % told == 0
    return told if sound else _PAGE


def _frames(log: bytes, size: int) -> tuple[list[tuple[int, bytes]], bool]:
    """(page number, page) of each frame of the newest run of the log up to its last commit; and is the log torn?"""
    places = range(32, len(log) - size - _FRAME + 1, size + _FRAME)
    salts = {log[at + 8 : at + 16] for at in places}
    wanted = log[16:24] if log[16:24] in salts else log[40:48]
    mine = [at for at in places if log[at + 8 : at + 16] == wanted]
    commits = [at for at in mine if log[at + 4 : at + 8] != b"\0\0\0\0"]
    kept = [at for at in mine if commits and at <= commits[-1]]
    torn = (
        kept != list(places[: len(kept)]) or kept != mine or (len(log) > 0 and (len(log) - 32) % (size + _FRAME) != 0)
    )
    frames = [(int.from_bytes(log[at : at + 4], "big"), log[at + _FRAME : at + _FRAME + size]) for at in kept]
    return frames, torn


Pages = Mapping[int, bytes]


def _sealed_rows(page: bytes, size: int, books: tuple[Pages, ...], found: Found) -> None:
    for match in _SEALED.finditer(page):
        for pages in books:
            values = _record(page, match.start(), size, pages)
            if values is not None and _is_row(values[:6]) and values[6] == seal(*values[:6]):
                found.rows[values[0], values[1]] = tuple(values[:6])
                break


def _unsealed_rows(page: bytes, size: int, books: tuple[Pages, ...], found: Found) -> None:
    for match in _UNSEALED.finditer(page):
        for pages in books:
            values = _record(page, match.start(), size, pages)
            if values is not None and _is_row(values) and _says_the_same(values):
                found.rows[values[0], values[1]] = tuple(values)
                break


def _is_row(values: list[Any]) -> bool:
    return [type(value) for value in values] == [str, int, str, str, int, str] and values[1] > 0


def _says_the_same(values: list[Any]) -> bool:
    """A row without a seal: its body must be a fact of its kind and its time, and of its job when it names one."""
    job, number, at, kind, version, body = values
    try:
        fact = fact_of(job, number, kind, version, body)
    except RecordError:
        return False
    return time_text(fact.at) == at and bool(getattr(fact, "job", job) == job)


def _entries(page: bytes, size: int, found: Found) -> None:
    for match in _ENTRY.finditer(page):
        values = _record(page, match.start(), size, {})
        if values is not None and [type(v) for v in values] == [int, str, str]:
            number, job, sealed = values
            if number > 0 and job and _HEX.fullmatch(sealed):
                found.entries[job, number] = sealed


def _jobs(page: bytes, size: int, found: Found) -> None:
    for match in _JOB.finditer(page):
        values = _record(page, match.start(), size, {})
        if values is not None and [type(v) for v in values] == [str, str, str] and values[2].endswith("Z"):
            found.engines.setdefault(values[0], values[1])


def _record(page: bytes, at: int, size: int, pages: Pages) -> list[Any] | None:
    """The values of the record whose head begins at `at`; None when it is none, or reaches past what is there."""
    length, place = page[at], at + 1
    kinds: list[int] = []
    while place < at + length:
        kind, place = _varint(page, place)
        kinds.append(kind)
    if place != at + length:
        return None
    total = length + sum(_width(kind) for kind in kinds)
    payload = _payload(page, at, total, size, pages)
    return None if payload is None else _values(payload[length:], kinds)


def _payload(page: bytes, at: int, total: int, size: int, pages: Pages) -> bytes | None:
    """All bytes of a record: those in its page, and the rest from the pages it runs over into."""
    most, least = (size - 12) * 64 // 255 - 23, (size - 12) * 32 // 255 - 23
    if total <= most:
        return page[at : at + total] if at + total <= len(page) else None
    here = least + (total - least) % (size - 4)
    here = here if here <= most else least
    if at + here + 4 > len(page):
        return None
    payload = page[at : at + here]
    follow = int.from_bytes(page[at + here : at + here + 4], "big")
    for _ in range(total // (size - 4) + 1):
        more = pages.get(follow)
        if len(payload) >= total or more is None:
            break
        payload += more[4:size]
        follow = int.from_bytes(more[:4], "big")
    return payload[:total] if len(payload) >= total else None


def _varint(page: bytes, at: int) -> tuple[int, int]:
    value = 0
    for place in range(at, min(at + 4, len(page))):
        value = value << 7 | page[place] & 0x7F
        if page[place] < 0x80:
            return value, place + 1
    return 0, len(page) + 1


_WIDTHS = (0, 1, 2, 3, 4, 6, 8, 8, 0, 0, 0, 0)


def _width(kind: int) -> int:
    return _WIDTHS[kind] if kind < 12 else (kind - 12) // 2


def _values(payload: bytes, kinds: list[int]) -> list[Any] | None:
    values: list[Any] = []
    at = 0
    for kind in kinds:
        part = payload[at : at + _width(kind)]
        at += _width(kind)
        if kind in (8, 9):
            values.append(kind - 8)
        elif kind < 12:
            values.append(int.from_bytes(part, "big", signed=True))
        else:
            try:
                values.append(part.decode("utf-8"))
            except UnicodeDecodeError:
                return None
    return values
