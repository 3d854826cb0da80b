"""The photos and sounds of a job on the page itself: smaller twins inside it, so that nothing is asked for.

A page stays small enough to send. What does not fit is named, and lies whole in the archive of the job.
"""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import dataclass

from firststart.errors import FirststartError
from firststart.job.attachment import Attachment
from firststart.journal.photo import smaller
from firststart.report.model import NoteLine, Report
from firststart.report.wording import attachment_text, plural, stamp

SIDE = 1200  # dots of the longer side of a photo on the page
MOST = 12 * 1024 * 1024  # bytes of all photos and sounds on the page, before they are written as text
Get = Callable[[Attachment], bytes]
"""The bytes of a photo or sound. Raises FirststartError when they are not there."""


@dataclass(frozen=True)
class Shown:
    """One photo or sound on the page. `source` is a data address; `title` what it is, `text` what was said of it."""

    id: str
    sort: str
    source: str
    title: str
    when: str
    text: str
    width: int = 0
    height: int = 0

    @property
    def tells(self) -> str:
        """What stands in its place for those who do not see or hear it."""
        return f"{self.title}: {self.text}" if self.text else self.title


@dataclass(frozen=True)
class Album:
    """All that is shown, and in sentences what is not, and why."""

    shown: tuple[Shown, ...] = ()
    missing: tuple[str, ...] = ()


def album(report: Report, get: Get | None) -> Album:
    """The photos and sounds of a report, in order, as far as they fit. No `get`, none."""
    notes = [x for x in report.notes if x.attachment is not None]
    if get is None or not notes:
        return Album()
    shown: list[Shown] = []
    left_out: list[str] = []
    lost: list[str] = []
    room = MOST
    for note in notes:
        found = _shown(note, get)
        if found is None:
            lost.append(note.what)
        elif len(found.source) * 3 // 4 > room:
            left_out.append(note.what)
        else:
            room -= len(found.source) * 3 // 4
            shown.append(found)
    return Album(tuple(shown), (*_sentence(lost, "not beside the record any more"), *_sentence(
        left_out, "not on this page, for it would be too large; the archive of the job has all"
    )))  # fmt: skip


def _sentence(named: list[str], why: str) -> tuple[str, ...]:
    if not named:
        return ()
    shortened = "; ".join(named[:6]) + (f" and {plural(len(named) - 6, 'other')}" if len(named) > 6 else "")
    return (f"{shortened}: {why}.",)


def _shown(note: NoteLine, get: Get) -> Shown | None:
    kept = note.attachment
    assert kept is not None  # the caller looked
    try:
        data = get(kept)
        data = smaller(data, SIDE) if kept.sort == "photo" else data
    except FirststartError:
        return None
    source = f"data:{kept.media};base64,{base64.b64encode(data).decode()}"
    return Shown(
        f"kept-{note.number}", kept.sort, source, attachment_text(kept), stamp(note.at), note.text, kept.width or 0,
        kept.height or 0,
    )  # fmt: skip
