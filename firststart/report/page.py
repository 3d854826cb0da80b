"""The page as a value: sections of tables, lists and pictures, ready for a template that only draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from firststart.report import tables
from firststart.report.model import Report
from firststart.report.picture import Picture, Table
from firststart.report.pictures.board import board_pictures
from firststart.report.pictures.cylinders import cylinder_pictures
from firststart.report.pictures.days import day_pictures
from firststart.report.pictures.starter import starter_pictures
from firststart.report.pictures.suspects import suspect_pictures
from firststart.report.pictures.trend import trend_pictures
from firststart.report.pictures.voltage import voltage_pictures
from firststart.report.shown import Album, Shown
from firststart.report.text import state_text
from firststart.report.wording import clock, day, minutes_text, plural, seconds_text, zone_text


@dataclass(frozen=True)
class Section:
    """One section. `text` are paragraphs, `items` a list; pictures come before tables."""

    id: str
    title: str
    text: tuple[str, ...] = ()  # the first may be set in heavier letters by `css` "lead"
    items: tuple[str, ...] = ()
    pictures: tuple[Picture, ...] = ()
    tables: tuple[Table, ...] = ()
    css: str = ""
    shown: tuple[Shown, ...] = ()

    @property
    def empty(self) -> bool:
        """Has it nothing to show?"""
        return not (self.text or self.items or self.pictures or self.tables or self.shown)


@dataclass(frozen=True)
class Page:
    """The whole page. `about` are (name, value) lines of its head, `glance` (figure, what it counts, class)."""

    title: str
    engine: str
    about: tuple[tuple[str, str], ...]
    glance: tuple[tuple[str, str, str], ...]
    sections: tuple[Section, ...]


def page(report: Report, earlier: Sequence[Report] = (), kept: Album | None = None) -> Page:
    """The page of one report; `earlier` jobs on the same engine feed the trends, `kept` are its photos and sounds."""
    r, album = report, kept or Album()
    sections = (
        Section("first", "Before you use this report", items=r.cautions, css="caution"),
        Section("work", "What was checked, and what was not", pictures=board_pictures(r), tables=tables.work(r)),
        _diagnosis(r),
        Section("holds", "Hold points now", _holds_text(r), tables=tables.holds(r)),
        Section(
            "measured", "Measurements", pictures=(*cylinder_pictures(r), *voltage_pictures(r)),
            tables=(*tables.readings(r), *tables.verdicts(r)),
        ),
        Section("trends", "From test to test", (), (), trend_pictures(r, earlier), tables.changes(r, earlier)),
        _starter(r),
        Section("repairs", "Repairs", tables=tables.repairs(r)),
        Section("left", "Jobs left", _left_text(r), tables=tables.left(r)),
        Section("notes", "Notes", album.missing, tables=tables.notes(r), shown=album.shown),
        Section("engine", "The engine", _unknown(r), tables=tables.engine(r)),
        Section("silent", "What this report does not say", items=r.silent, css="caution"),
        Section("answers", "Answers", tables=tables.answers(r)),
        Section("waited", "What had to wait", tables=tables.refusals(r)),
        Section("timeline", "Timeline", pictures=day_pictures(r), tables=tables.timeline(r)),
    )  # fmt: skip
    return Page(
        f"{r.engine}, job {r.job}", r.engine or r.job, _about(r), _glance(r), tuple(s for s in sections if not s.empty)
    )


def _about(r: Report) -> tuple[tuple[str, str], ...]:
    engine = _engine(r)
    return (
        *((("Engine", engine),) if engine else ()),
        ("Job", r.job),
        ("Place", ", ".join(r.places) or "not named"),
        ("Opened", f"{day(r.opened)}, {clock(r.opened)}"),
        ("Newest entry", f"{day(r.newest)}, {clock(r.newest)}"),
        ("Report made", f"{day(r.made)}, {clock(r.made)} {zone_text(r.made)}"),
        ("State", state_text(r)),
        ("Entries", f"{r.facts}, recorded with firststart {r.tool}"),
    )


def _engine(r: Report) -> str:
    """ "motorcycle, four-stroke, 2 cylinders, 360 ml, petrol": what was told of the engine, in a line."""
    told = {p.field: p.value for p in r.profile if p.known == "told"}
    if "cylinders" in told:
        told["cylinders"] = f"{told['cylinders']} cylinder{'' if told['cylinders'] == '1' else 's'}"
    return ", ".join(told[name] for name in ("kind", "cycle", "cylinders", "displacement", "fuel") if name in told)


def _glance(r: Report) -> tuple[tuple[str, str, str], ...]:
    checked, wanting = len(r.of("checked")), len(r.of("found wanting"))
    open_ = len(r.work) - checked - wanting
    lasting = [h for h in r.holds if not h.quick]
    fresh = sum(1 for h in lasting if h.fresh)
    figures = [
        (str(checked), "checked", "ok" if checked else ""),
        (str(wanting), "found wanting", "bad" if wanting else ""),
        (str(open_), "open or not done", "off" if open_ else ""),
        (f"{fresh} of {len(lasting)}", "hold points fresh", "ok" if fresh == len(lasting) else "bad"),
        (seconds_text(r.starter.total_s), f"cranked, {plural(len(r.starter.cranks), 'crank')}", ""),
    ]
    if r.left:
        figures.append((minutes_text(r.minutes_left), "of work left", ""))
    return tuple(figures)


def _holds_text(r: Report) -> tuple[str, ...]:
    stale = [h.say for h in r.holds if not h.fresh and not h.quick]
    if not stale:
        return ("All hold points that last are fresh at the moment of this report.",)
    return (f"Not fresh: {', '.join(stale)}. No step that needs one of them is let through before it is done again.",)


def _unknown(r: Report) -> tuple[str, ...]:
    unknown = [p.label for p in r.profile if p.known == "unknown"]
    return (f"Not known: {', '.join(unknown)}.",) if unknown else ()


def _left_text(r: Report) -> tuple[str, ...]:
    return (f"{plural(len(r.left), 'piece')} of work, about {minutes_text(r.minutes_left)}.",) if r.left else ()


def _diagnosis(r: Report) -> Section:
    d = r.diagnosis
    if d is None:
        return Section("suspects", "Why it does not start")
    text = []
    if d.next_check is not None:
        n = d.next_check
        takes = f", about {minutes_text(n.minutes)}" if n.minutes else ""
        text.append(f"{n.title}: {n.name}{takes}. {n.do}")
        text.append(f"Why: {n.why.rstrip('.')}. {n.why_not}".strip())
    elif d.reason:
        text.append(d.reason)
    return Section("suspects", d.title, tuple(text), (), suspect_pictures(r), tables.suspects(d), "lead")


def _starter(r: Report) -> Section:
    s = r.starter
    if not s.electric and not s.cranks:
        return Section("starter", "Starter")
    if not s.electric:
        told = f"Turned {plural(len(s.cranks), 'time')}, {seconds_text(s.total_s)} in all. No motor: no rest, no heat."
        return Section("starter", "Turned by hand", (told,), (), (), tables.cranks(r))
    text = [
        f"Class: {s.duty}. {s.rule[:1].upper()}{s.rule[1:]}. Source: {s.source} ({s.mark}).",
        f"Air taken as {s.air}. At the moment of this report: {s.now}",
    ]
    if s.elsewhere:
        text.append(f"{plural(s.elsewhere, 'crank')} of other jobs on this starter counted in rests and temperatures.")
    drawn = starter_pictures(r)
    heated = sum(1 for sitting in s.sittings if sitting.heat)
    if heated > len(drawn):
        text.append(f"Drawn are the newest {len(drawn)} of {heated} sittings.")
    return Section("starter", "Starter", tuple(text), (), drawn, tables.cranks(r))
