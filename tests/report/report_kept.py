"""A job with photos and sounds, invented, for the tests of the page, the export and the archive."""

from __future__ import annotations

import sys
from functools import cache
from pathlib import Path

from report_jobs import Bench, rules

from firststart.bench.keeping import Keeper
from firststart.job import facts as f
from firststart.journal.drawer import MemoryDrawer
from firststart.report.build import build_report
from firststart.report.model import Report

sys.path.append(str(Path(__file__).resolve().parent.parent / "journal"))
from journal_photos import from_a_phone, jpeg, tone, wav

SAID = "Plug of cylinder 2 <b>black</b> & oily"


@cache
def album_bench(folder: Path) -> tuple[Bench, MemoryDrawer]:
    """A short job with two photos, a sound file and a spoken note, and the drawer they lie in."""
    (folder / "plug 2.jpg").write_bytes(from_a_phone(800, 600))
    (folder / "gauge.jpg").write_bytes(jpeg(300, 400))
    (folder / "knock.wav").write_bytes(wav(0.5))
    drawer, bench = MemoryDrawer(), Bench()
    keeper = Keeper(drawer, lambda data: (data[44:], 16_000), folder)
    bench.work("place", "open air")
    bench.work("battery", "12.31 V")
    bench.give(keeper.photo(Path("plug 2.jpg"), SAID), keeper.photo(Path("gauge.jpg")))
    bench.give(keeper.sound(Path("knock.wav"), "at idle"), keeper.recording(tone(1.2), 16_000))
    return bench, drawer


def album_report(bench: Bench) -> Report:
    return build_report(bench.facts, rules(), bench.clock.now())


def kept_facts(bench: Bench) -> list[f.AttachmentKept]:
    return [x for x in bench.facts if isinstance(x, f.AttachmentKept)]
