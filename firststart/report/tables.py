"""The tables of the page, each a function from the report to table values; no rows, no table."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from firststart.report.compare import UNKNOWN, WITHIN, Change, newest_changes, signed
from firststart.report.model import CrankLine, DiagnosisPart, Judged, NoteLine, Reading, Report, WorkLine
from firststart.report.picture import Cell, Table
from firststart.report.readings import same_rules
from firststart.report.suspectlines import SuspectLine, suspect_lines
from firststart.report.text import remark
from firststart.report.verdict import stands
from firststart.report.wording import (
    capital,
    celsius,
    minutes_text,
    reading_text,
    seconds_text,
    short_day,
    stamp,
)

_STAND = {"checked": "ok", "found wanting": "bad", "not done": "off", "left for later": "off"}
_FAINT = ("ruled out", "hardly likely")
_FEW = 12  # rows of a table that stand open on a screen
_DETAILS = 5  # lines of a verdict's reasons on the page; the export holds all
_COUNTS = {"corrected": "gone", "stale": "gone", "earlier": "off"}
_OUTCOME = {"ok": "ok", "bad": "bad", "left": "off"}


def _table(
    caption: str, head: tuple[str, ...], rows: Iterable[tuple[Cell, ...]], css: str = "", fold: str = ""
) -> tuple[Table, ...]:
    """The table, none without rows; `fold` with more than a few is what shows it: "answer" is "Show all 31 answers"."""
    made = tuple(rows)
    folded = f"Show all {len(made)} {fold}" if fold and len(made) > _FEW else ""
    return (Table(caption, head, made, css, folded),) if made else ()


def work(r: Report) -> tuple[Table, ...]:
    """All work of the plan and where it stands: first what was not checked or is wanting, then what was checked."""
    head = ("Work", "Stands", "What was found", "When")
    open_ = [w for w in r.work if w.stand != "checked"]
    return (
        *_table("Not checked, or found wanting", head, map(_work, open_)),
        *_table("Checked", head, map(_work, r.of("checked")), "", "that were checked"),
    )


def _work(w: WorkLine) -> tuple[Cell, ...]:
    return (
        Cell(w.title),
        Cell(w.stand, (), _STAND.get(w.stand, "")),
        Cell(w.say),
        Cell(stamp(w.at) if w.at else "", (f"the newest of {w.times}",) if w.times > 1 else ()),
    )


def holds(r: Report) -> tuple[Table, ...]:
    """Hold points, fresh or stale."""
    rows = []
    for h in r.holds:
        word = "fresh" if h.fresh else "asked each time" if h.quick else "stale" if h.met else "not done"
        met = (f"{stamp(h.met)}{f' at {h.place}' if h.place else ''}") if h.met else ""
        until = f"until {stamp(h.expires)}" if h.expires else ""
        if h.since and not h.fresh:
            until = f"since {stamp(h.since)}"
        rows.append(
            (
                Cell(capital(h.say), (h.by,) if h.by else ()),
                Cell(word, (), "ok" if h.fresh else "" if h.quick else "bad"),
                Cell("" if h.fresh else h.because, (until,) if until else ()),
                Cell(met),
            )
        )
    return _table("Hold points", ("Hold point", "Now", "Why, and until when", "Met"), rows)


def readings(r: Report) -> tuple[Table, ...]:
    """Every reading, with what it was read on and judged by."""
    same = same_rules(r.readings)
    return _table(
        "All measurements",
        ("Reading", "Value", "Judged", "Expected, and by which rule", "Instrument"),
        (_reading(x, same.get(x.number)) for x in r.readings),
    )


def _reading(x: Reading, same: int | None) -> tuple[Cell, ...]:
    name = f"{x.label}, cylinder {x.cylinder}" if x.cylinder is not None else x.label
    counts = () if x.counts == "counts" else (f"no longer counts ({x.counts}): {x.why}",)
    step = (f"step {reading_text(x.resolution)}",) if x.resolution else ()
    return (
        Cell(name, (f"entry {x.number}, {stamp(x.at)}", *counts), _COUNTS.get(x.counts, "")),
        Cell(reading_text(x.value)),
        _verdict(x.judged, x.value.si),
        _limit(x.judged, same),
        Cell(x.instrument, step),
    )


def _verdict(j: Judged | None, si: float | None = None) -> Cell:
    return Cell("not judged", (), "off") if j is None else Cell(j.word, (), stands(j, si))


def _limit(j: Judged | None, same: int | None = None) -> Cell:
    if j is None:
        return Cell("no limit recorded")
    if same is not None:
        return Cell(j.limit_text or "see the rule", (f"as for entry {same}",))
    source = (f"{j.source} ({j.mark})",) if j.source else ()
    more = (f"and {len(j.details) - _DETAILS} lines more in the export",) if len(j.details) > _DETAILS else ()
    return Cell(j.limit_text or "see the rule", (*source, *j.details[:_DETAILS], *more))


def verdicts(r: Report) -> tuple[Table, ...]:
    """Verdicts on readings taken together."""
    return _table(
        "Readings judged together",
        ("Work", "Judged", "Said", "Expected, and by which rule"),
        (
            (
                Cell(v.title, (f"entry {v.number}, {stamp(v.at)}", *_stale(v.stale)), "gone" if v.stale else ""),
                _verdict(v.judged),
                Cell(v.judged.say),
                _limit(v.judged),
            )
            for v in r.verdicts
        ),
    )


def _stale(why: str) -> tuple[str, ...]:
    return (f"no longer counts: {why}",) if why else ()


def changes(r: Report, earlier: Sequence[Report]) -> tuple[Table, ...]:
    """The newest reading of each name against the one before, and whether the instruments can tell.

    What moved beyond the steps stands first; what reads the same stands in a table of its own.
    """
    head = ("Reading", "Before", "After", "Difference", "Both steps", "What can be said")
    found = newest_changes(r, earlier)
    moved = sorted((c for c in found if c.by.si), key=lambda c: c.word in (WITHIN, UNKNOWN))
    same = [c for c in found if not c.by.si]
    return (
        *_table("The newest test against the one before", head, map(_change, moved)),
        *_table("The same as before", head, map(_change, same), "", "that are the same"),
    )


def _change(c: Change) -> tuple[Cell, ...]:
    return (
        Cell(c.label, c.notes),
        Cell(reading_text(c.before.value), (stamp(c.before.at),)),
        Cell(reading_text(c.after.value), (stamp(c.after.at),)),
        Cell(signed(c.by)),
        Cell(reading_text(c.doubt) if c.doubt else "not recorded"),
        Cell(c.word, (), "off" if c.word in (WITHIN, UNKNOWN) else ""),
    )


def cranks(r: Report) -> tuple[Table, ...]:
    """Every crank with its permit and its rest; by hand there is neither."""
    if not r.starter.electric:
        rows = ((_began(c), Cell(seconds_text(c.seconds)), Cell(remark(c))) for c in r.starter.cranks)
        return _table("Every time", ("Began", "Turned", "Remark"), rows, "", "times")
    return _table(
        "Every crank",
        ("Began", "Cranked", "Permitted", "Rested before", "Rest asked", "Winding after", "Remark"),
        (
            (
                _began(c),
                Cell(seconds_text(c.seconds)),
                Cell(seconds_text(c.limit_s) if c.limit_s is not None else "none"),
                Cell(seconds_text(c.rested_s) if c.rested_s is not None else "none before"),
                Cell(seconds_text(c.asked_s) if c.asked_s is not None else "none"),
                Cell(celsius(c.winding_k)),
                Cell(remark(c), (), "bad" if c.over_run or c.early else ""),
            )
            for c in r.starter.cranks
        ),
        "",
        "cranks",
    )


def _began(c: CrankLine) -> Cell:
    return Cell(f"{short_day(c.began)} {c.began:%H:%M:%S}", (c.title,))


def suspects(d: DiagnosisPart) -> tuple[Table, ...]:
    """Suspects by where they stand."""
    head = ("Suspects", "Stand", "Chance")
    lines = suspect_lines(d)
    out = [x for x in lines if x.stand == "ruled out"]
    return (
        *_table("Suspects", head, (_suspect(x) for x in lines if x not in out)),
        *_table("Ruled out, and by which check", head, map(_suspect, out), "", "that are ruled out"),
    )


def _suspect(x: SuspectLine) -> tuple[Cell, ...]:
    css = {"found": "bad", "ruled out": "off", "hardly likely": "off", "mended": "ok"}
    return (
        Cell(x.names, (x.reason,) if x.reason else (), "off" if x.stand in _FAINT else ""),
        Cell(x.stand, (), css.get(x.stand, "")),
        Cell(x.chance, (x.word,) if x.word else ()),
    )


def repairs(r: Report) -> tuple[Table, ...]:
    """Every repair."""
    return _table(
        "Repairs",
        ("What", "Done", "When", "By"),
        (
            (
                Cell(capital(x.name)),
                Cell("mended" if x.success else "could not be mended", (), "ok" if x.success else "bad"),
                Cell(stamp(x.at)),
                Cell(x.title or "told"),
            )
            for x in r.repairs
        ),
    )


def refusals(r: Report) -> tuple[Table, ...]:
    """Every step that had to wait."""
    return _table(
        "Steps that had to wait",
        ("Work", "Waited for", "Why", "When"),
        (
            (
                Cell(x.title),
                Cell(", ".join(x.lacking)),
                Cell(x.reason, (f"wait {seconds_text(x.wait_s)}",) if x.wait_s else ()),
                Cell(stamp(x.at)),
            )
            for x in r.refusals
        ),
        "",
        "steps that had to wait",
    )


def notes(r: Report) -> tuple[Table, ...]:
    """Every note."""
    return _table("Notes", ("When", "Note"), ((Cell(stamp(x.at)), _note(x)) for x in r.notes), "notes")


def _note(x: NoteLine) -> Cell:
    """Words; of a photo or sound also what it is, what was taken out of it, and its digest."""
    if x.attachment is None:
        return Cell(x.text)
    removed = (f"taken out: {', '.join(x.attachment.removed)}",) if x.attachment.removed else ()
    digest = f"SHA-256 {x.attachment.digest}"
    return Cell(x.text or x.what, (*((x.what,) if x.text else ()), *removed, digest))


def left(r: Report) -> tuple[Table, ...]:
    """What is left of the plan, in order."""
    return _table(
        "Jobs left, in order",
        ("Work", "Why", "About"),
        ((Cell(x.title, (x.stage,)), Cell(x.why), Cell(minutes_text(x.minutes))) for x in r.left),
    )


def engine(r: Report) -> tuple[Table, ...]:
    """What is known of the engine."""
    rows = (
        (
            Cell(capital(p.label)),
            Cell(p.value),
            Cell(p.known, (p.source,) if p.source else (), "" if p.known == "told" else "off"),
        )
        for p in r.profile
        if p.known != "unknown"
    )
    return _table("Engine profile", ("Field", "Value", "Known"), rows)


def answers(r: Report) -> tuple[Table, ...]:
    """Every answer to a question."""
    return _table(
        "Answers as given",
        ("Question", "Answer", "When"),
        (
            (Cell(a.question, _stale(a.stale), "gone" if a.stale else ""), Cell(a.answer), Cell(stamp(a.at)))
            for a in r.answers
        ),
        "answers",
        "answers",
    )


def timeline(r: Report) -> tuple[Table, ...]:
    """Every event."""
    return _table(
        "Every event",
        ("When", "What"),
        (
            (
                Cell(f"{short_day(e.at)} {e.at:%H:%M:%S}"),
                Cell(e.text, (), f"ev-{e.sort} {_OUTCOME.get(e.outcome, '')}".strip()),
            )
            for e in r.timeline
        ),
        "events",
        "events",
    )
