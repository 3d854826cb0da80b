"""to_text(report) -> str: the report for a terminal, a printer or a mail, 80 columns wide."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterable, Iterator, Sequence

from firststart.report.compare import HIGHER, LOWER, UNKNOWN, WITHIN, Change, newest_changes
from firststart.report.model import CrankLine, DiagnosisPart, HoldLine, Reading, Report
from firststart.report.readings import same_rules
from firststart.report.suspectlines import SuspectLine, suspect_lines
from firststart.report.wording import (
    capital,
    celsius,
    clock,
    day,
    minutes_text,
    per_cent,
    plural,
    reading_text,
    seconds_text,
    short_day,
    stamp,
    zone_text,
)

WIDTH = 80


def to_text(report: Report, earlier: Sequence[Report] = ()) -> str:
    """The whole report as text, no line longer than 80 columns (a single longer word excepted).

    Reports of `earlier` jobs on the same engine are what its newest tests are held against.
    """
    lines: list[str] = []
    for part in _PARTS:
        body = list(_changes(report, earlier) if part is _changes else part(report))
        if body:
            lines += [*body, ""]
    return "\n".join(line.rstrip() for line in lines).rstrip() + "\n"


# building blocks ---------------------------------------------------------------------------------------


def head(title: str) -> list[str]:
    """A title with a line under it."""
    return [title.upper(), "-" * len(title)]


def wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    """Paragraphs of `text` folded to the width behind an indent."""
    lines: list[str] = []
    for n, paragraph in enumerate(text.splitlines() or [""]):
        lead = first if n == 0 else rest
        lines += textwrap.wrap(
            paragraph, WIDTH, initial_indent=lead, subsequent_indent=rest, break_on_hyphens=False
        ) or [lead.rstrip()]
    return lines


def item(text: str, mark: str = "-") -> list[str]:
    """A line of a list, folded behind its mark."""
    return wrapped(text, f"{mark} ", " " * (len(mark) + 1))


def _row(left: str, right: str, column: int = 26) -> list[str]:
    """Two columns; the right one folds under itself."""
    if len(left) >= column - 1:
        return [*wrapped(left), *wrapped(right, " " * column, " " * column)]
    return wrapped(right or "-", left.ljust(column), " " * column)


# the parts, in order -----------------------------------------------------------------------------------


def _title(r: Report) -> Iterator[str]:
    yield from wrapped(f"Report of job {r.job}")
    yield "=" * min(len(f"Report of job {r.job}"), WIDTH)
    yield from _row("Engine", r.engine)
    yield from _row("Place", ", ".join(r.places))
    yield from _row("Opened", f"{day(r.opened)}, {clock(r.opened)}")
    yield from _row("Newest entry", f"{day(r.newest)}, {clock(r.newest)}")
    yield from _row("Report made", f"{day(r.made)}, {clock(r.made)} {zone_text(r.made)}")
    yield from _row("Entries", f"{r.facts}, recorded with firststart {r.tool}")
    yield from _row("State", state_text(r))


def state_text(r: Report) -> str:
    """Finished, stopped or open, what is under way, and what must be confirmed."""
    if r.closed:
        return "finished"
    return "; ".join([f"{'stopped' if r.stopped else 'open'}{_under_way(r)}", *r.doubts])


def _under_way(r: Report) -> str:
    """ ", under way: Compression", or nothing."""
    return f", under way: {', '.join(r.under_way)}" if r.under_way else ""


def _cautions(r: Report) -> Iterator[str]:
    yield from head("First")
    for line in r.cautions:
        yield from item(line)


def _silent(r: Report) -> Iterator[str]:
    yield from head("What this report does not say")
    for line in r.silent:
        yield from item(line)


def _engine(r: Report) -> Iterator[str]:
    yield from head("The engine")
    for p in r.profile:
        if p.known == "told":
            yield from _row(capital(p.label), p.value)
        elif p.known == "assumed":
            yield from _row(capital(p.label), f"{p.value} (assumed: {p.source or 'usual for its kind'})")
    unknown = [p.label for p in r.profile if p.known == "unknown"]
    if unknown:
        yield from _row("Unknown", ", ".join(unknown))


def _work(r: Report) -> Iterator[str]:
    yield from head("What was checked, and what was not")
    for stand in ("checked", "found wanting", "undecided", "under way", "left for later", "not done"):
        lines = r.of(stand)
        if not lines:
            continue
        yield f"{capital(stand)}:"
        for w in lines:
            when = f", {stamp(w.at)}" if w.at else ""
            often = f", {w.times} times" if w.times > 1 else ""
            yield from item(f"{w.title}{when}{often}{': ' + w.say if w.say else ''}")


def _holds(r: Report) -> Iterator[str]:
    yield from head("Hold points now")
    for h in r.holds:
        yield from _row(capital(h.say), hold_text(h))


def hold_text(h: HoldLine) -> str:
    """Where one hold point stands: fresh until when, or why it is stale."""
    met = f"met {stamp(h.met)}{f' at {h.place}' if h.place else ''}" if h.met else ""
    if h.fresh:
        return f"FRESH: {met}{f', until {stamp(h.expires)}' if h.expires else ''}"
    if h.quick:
        return f"asked again before each step that needs it ({met or h.because})"
    return f"stale: {h.because} ({met})" if met else h.because


def _readings(r: Report) -> Iterator[str]:
    if not r.readings:
        return
    yield from head("Measurements")
    same = same_rules(r.readings)
    for x in r.readings:
        yield from _reading(x, same.get(x.number))
    for v in r.verdicts:
        stale = f" No longer counts: {v.stale}." if v.stale else ""
        yield from item(f"{v.title}, all readings together ({stamp(v.at)}): {v.judged.say}{stale}")
        yield from _judged_by(v.judged.limit_text, v.judged.source, v.judged.mark, v.judged.details)


def _reading(x: Reading, same: int | None) -> Iterator[str]:
    name = f"{x.label}, cylinder {x.cylinder}" if x.cylinder is not None else x.label
    verdict = x.judged.word if x.judged else "not judged"
    yield from _row(f"#{x.number} {name}", f"{reading_text(x.value)}  {verdict}", 42)
    if x.counts != "counts":
        yield from wrapped(f"NO LONGER COUNTS ({x.counts}): {x.why}", "    ", "    ")
    step = f", step {reading_text(x.resolution)}" if x.resolution else ""
    yield from wrapped(f"{stamp(x.at)}, {x.instrument}{step}", "    ", "    ")
    if x.judged and same is not None:
        yield from wrapped(f"limit {x.judged.limit_text}, as for #{same}", "    ", "    ")
    elif x.judged:
        yield from _judged_by(x.judged.limit_text, x.judged.source, x.judged.mark, x.judged.details)


def _judged_by(limit: str, source: str, mark: str, details: Iterable[str]) -> Iterator[str]:
    parts = [f"limit {limit}" if limit else "", f"source: {source} [{mark}]" if source else ""]
    text = "; ".join([p for p in parts if p] + list(details))
    if text:
        yield from wrapped(text, "    ", "    ")


def _changes(r: Report, earlier: Sequence[Report] = ()) -> Iterator[str]:
    changes = newest_changes(r, earlier)
    if not changes:
        return
    yield from head("From test to test")
    yield from change_lines(changes)


def change_lines(changes: Sequence[Change]) -> Iterator[str]:
    """Readings against earlier ones: what moved, what cannot be told apart, and in a line what is the same."""
    groups = (
        ("Changed by more than the steps explain:", (HIGHER, LOWER)),
        ("Within the steps, so no change to be seen:", (WITHIN,)),
        ("Not the same, and a step is not recorded:", (UNKNOWN,)),
    )
    for title, words in groups:
        group = [x for x in changes if x.word in words and x.by.si]
        if group:
            yield title
        for x in group:
            yield from item(f"{x.label}: {x.say()}{''.join(f' Note: {n}.' for n in x.notes)}")
    same = [f"{x.label} {reading_text(x.after.value)}" for x in changes if not x.by.si]
    if same:
        yield from wrapped(f"The same in both: {', '.join(same)}.")


def _starter(r: Report) -> Iterator[str]:
    s = r.starter
    if not s.cranks and not s.electric:
        return
    yield from head("Starter" if s.electric else "Turned by hand")
    if not s.electric:
        yield from _row("In all", f"{seconds_text(s.total_s)} in {plural(len(s.cranks), 'time')}. No motor: no rests")
        for c in s.cranks:
            told = ", ".join(t for t in (seconds_text(c.seconds), remark(c)) if t)
            yield from _row(f"{short_day(c.began)[:-5]} {c.began:%H:%M:%S}", told)
        return
    yield from _row("Class", f"{s.duty}: {s.rule} [{s.mark}: {s.source}]")
    yield from _row("Air", s.air)
    yield from _row("Cranked in all", f"{seconds_text(s.total_s)} in {plural(len(s.cranks), 'crank')}")
    yield from _row("Now", s.now)
    if s.elsewhere:
        yield from _row("Other jobs", f"{plural(s.elsewhere, 'crank')} of the same starter, counted in rests and heat")
    if s.cranks:
        yield ""
        yield f"{'began':<15}{'cranked':>9}{'permitted':>11}{'rested':>11}{'asked':>8}{'winding':>9}  remark"
    for c in s.cranks:
        yield from _crank(c)


def _crank(c: CrankLine) -> list[str]:
    limit = seconds_text(c.limit_s) if c.limit_s is not None else "-"
    rested = seconds_text(c.rested_s) if c.rested_s is not None else "-"
    asked = seconds_text(c.asked_s) if c.asked_s is not None else "-"
    when = f"{short_day(c.began)[:-5]} {c.began:%H:%M:%S}"
    row = f"{when:<15}{seconds_text(c.seconds):>9}{limit:>11}{rested:>11}{asked:>8}{celsius(c.winding_k):>9}  "
    return wrapped(remark(c), row, " " * len(row))


def remark(c: CrankLine) -> str:
    """What is special about one crank, in two words each; empty when nothing is."""
    words = []
    if not c.seen:
        words.append("told")
    if not c.sure:
        words.append("estimated")
    if c.over_run:
        words.append("over-run")
    if c.early:
        words.append("too early")
    return ", ".join(words)


def _diagnosis(r: Report) -> Iterator[str]:
    d = r.diagnosis
    if d is None:
        return
    yield from head(d.title)
    yield from _next(d)
    stand = ""
    for line in suspect_lines(d):
        if line.stand != stand:
            stand = line.stand
            yield f"{capital(stand)}:"
        yield from item(_suspect(line))
    for round_ in d.rounds:
        yield from wrapped(f"After {round_.check} ({round_.outcome}):")
        for shift in round_.shifts:
            yield from item(f"{shift.name}: {per_cent(shift.before)} before, {per_cent(shift.after)} after")


def _suspect(line: SuspectLine) -> str:
    told = ", ".join(part for part in (line.chance, line.word) if part)
    reason = f" ({line.reason})" if line.reason else ""
    return f"{line.names}{': ' + told if told else ''}{reason}"


def _next(d: DiagnosisPart) -> Iterator[str]:
    if d.next_check is not None:
        n = d.next_check
        takes = f", about {minutes_text(n.minutes)}" if n.minutes else ""
        yield from wrapped(f"{n.title}: {n.name}{takes}. {n.do}")
        yield from wrapped(f"Why: {n.why.rstrip('.')}. {n.why_not}".strip())
    elif d.reason:
        yield from wrapped(d.reason)


def _answers(r: Report) -> Iterator[str]:
    if not r.answers:
        return
    yield from head("Answers")
    for a in r.answers:
        stale = f" (no longer counts: {a.stale})" if a.stale else ""
        yield from item(f"{a.question} {a.answer}{stale}", f"#{a.number}")


def _repairs(r: Report) -> Iterator[str]:
    if not r.repairs:
        return
    yield from head("Repairs")
    for x in r.repairs:
        done = "mended" if x.success else "could not be mended"
        yield from item(f"{stamp(x.at)} {x.name}: {done}{f' ({x.title})' if x.title else ''}")


def _refusals(r: Report) -> Iterator[str]:
    if not r.refusals:
        return
    yield from head("What had to wait")
    for x in r.refusals:
        wait = f" Wait: {seconds_text(x.wait_s)}." if x.wait_s else ""
        yield from item(f"{stamp(x.at)} {x.title}: waited for {', '.join(x.lacking)}.{wait} {x.reason}".rstrip())


def _notes(r: Report) -> Iterator[str]:
    if not r.notes:
        return
    yield from head("Notes")
    for x in r.notes:
        said = f": {x.text}" if x.what and x.text else x.text
        yield from item(f"{stamp(x.at)} {x.what}{said}")
        if x.attachment is not None:
            removed = f"taken out: {', '.join(x.attachment.removed)}; " if x.attachment.removed else ""
            yield from wrapped(f"{removed}SHA-256 {x.attachment.digest}", "  ", "  ")


def _left(r: Report) -> Iterator[str]:
    if not r.left:
        return
    yield from head(f"Jobs left, about {minutes_text(r.minutes_left)}")
    for n, x in enumerate(r.left, 1):
        yield from item(f"{x.title} ({minutes_text(x.minutes)}): {x.why}", f"{n}.")


def _timeline(r: Report) -> Iterator[str]:
    yield from head("Timeline")
    last = ""
    for e in r.timeline:
        if day(e.at) != last:
            last = day(e.at)
            yield last
        outcome = f" [{e.outcome}]" if e.outcome else ""
        yield from wrapped(f"{e.text}{outcome}", f"  {e.at:%H:%M:%S}  ", " " * 12)


_PARTS: Sequence[Callable[[Report], Iterator[str]]] = (
    _title, _cautions, _engine, _work, _diagnosis, _holds, _readings, _changes, _starter, _repairs,
    _refusals, _notes, _answers, _left, _timeline, _silent,
)  # fmt: skip
