"""to_csv(report) -> str: the measurements as comma-separated values (RFC 4180), one row a reading."""

from __future__ import annotations

import csv
import io

from firststart.report.model import Reading, Report
from firststart.report.ucum import bound, quantity, step

HEAD = (
    "number", "at", "job", "engine", "procedure", "run", "name", "cylinder", "value", "unit", "ucum", "si", "si_ucum",
    "instrument", "step", "step_ucum", "verdict", "low", "high", "limit_ucum", "limit", "source", "mark", "counts",
    "why",
)  # fmt: skip


def to_csv(report: Report) -> str:
    """Every reading with its unit, instrument, limit and source. A text that a spreadsheet would run is quoted."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEAD)
    writer.writerows([_plain(cell) for cell in _row(report, r)] for r in report.readings)
    return out.getvalue()


def _row(report: Report, r: Reading) -> list[object]:
    q = quantity(r.value)
    size = None if r.resolution is None else step(r.resolution)
    low = None if r.judged is None else bound(r.judged.low, r.judged.unit, r.value.kind)
    high = None if r.judged is None else bound(r.judged.high, r.judged.unit, r.value.kind)
    limit = low or high
    return [
        r.number, r.at.isoformat(), report.job, report.engine, r.procedure, r.run, r.name, r.cylinder, q.value,
        r.value.unit, q.ucum, q.si, q.si_ucum, r.instrument, size and size.value, size and size.ucum,
        r.judged and r.judged.word, low and low.value, high and high.value, limit and limit.ucum,
        r.judged and r.judged.limit, r.judged and r.judged.source, r.judged and r.judged.mark, r.counts, r.why,
    ]  # fmt: skip


def _plain(cell: object) -> object:
    """A cell; text that begins like a formula gets an apostrophe, as spreadsheets take that for plain text."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + cell
    return "" if cell is None else cell
