"""`firststart next`: what is ruled out and left, the next check and why; as a tree on paper, or check by check."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk
from firststart.bench.shop import book_of
from firststart.bench.trying import does_not_start
from firststart.diagnosis.advice import Advice, Standing, State
from firststart.diagnosis.words import percent
from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.prompt.wording import duration
from firststart.report.model import Round

SHOWN = 12
"""Suspects told in each group; JSON has all."""
_STATES: tuple[State, ...] = ("found", "left", "mended", "ruled out")
BAR = 20
"""Characters for a chance of one."""


def show_next(rules: Rules, desk: Desk, arguments: argparse.Namespace) -> None:
    """Print the advice, or with `--tree` or `--checks` what these ask for. Raises InputError."""
    adviser = Adviser(rules, book_of(rules.library))
    as_json = arguments.format == "json"
    if arguments.tree is not None:
        _show_tree(adviser, desk, arguments.tree, as_json)
    elif arguments.checks:
        rounds = _rounds(adviser, desk)
        _dump({"job": desk.job, "checks": [asdict(r) for r in rounds]}) if as_json else _print(_round_lines(rounds))
    elif as_json:
        _dump(advice_json(desk, adviser.advice(desk.situation)))
    else:
        _print(_lines(rules, desk, adviser))


def _print(lines: Iterator[str]) -> None:
    for line in lines:
        print(line)


def _dump(value: object) -> None:
    print(json.dumps(value, indent=2, default=str))


def _lines(rules: Rules, desk: Desk, adviser: Adviser) -> Iterator[str]:
    advice = adviser.advice(desk.situation)
    if advice is not None and does_not_start(desk.situation):
        yield from advice_lines(advice)
        return
    items = plan(rules.library, desk.situation, rules.words(desk.situation), desk.now)
    if items:
        total = duration(sum(i.minutes for i in items) * 60)
        yield f"No try to start is on record. Next is {items[0].title}; about {total} of work is planned."
    else:
        yield "No try to start is on record, and all planned work is done."


def advice_lines(advice: Advice) -> Iterator[str]:
    """The advice as text: what to do and why, each suspect with its reason, and what would change it."""
    yield advice.spoken
    if advice.why_not:
        yield advice.why_not
    if advice.next.kind == "specialist":
        yield advice.next.do
    for title in _STATES:
        standing = advice.of(title)
        if standing:
            yield f"\n{'put right' if title == 'mended' else title}"
        yield from (f"  {_standing(one)}" for one in standing[:SHOWN])
        if len(standing) > SHOWN:
            yield f"  and {len(standing) - SHOWN} more"
    yield f"\nsomething that is not in this book: {percent(advice.outside)}"
    if advice.runners_up:
        yield f"close behind: {', '.join(s.name for s in advice.runners_up)}"
    yield from (f"not now: {b.name}, because {b.why}" for b in advice.blocked if b.by_job)
    yield from (f"does not count: {item}" for item in advice.ignored if "stale" in item)
    if advice.method != "exact":
        yield f"These chances are {advice.method}."
    if advice.change_mind:
        yield "\nwhat would change this"
    yield from (f"  {line}" for line in advice.change_mind)


def _standing(one: Standing) -> str:
    day = f", {one.at:%Y-%m-%d}" if one.at is not None else ""
    reason = f" ({one.reason}{day})" if one.reason else ""
    return f"{one.name}: {one.word}, {percent(one.chance)}{reason}"


def advice_json(desk: Desk, advice: Advice | None) -> dict[str, Any]:
    """The advice as JSON says it; `advice` None: there is no book."""
    if advice is None:
        return {"job": desk.situation.job, "advice": None}
    groups = {"found": advice.found, "left": advice.left, "mended": advice.of("mended"), "ruled out": advice.ruled_out}
    return {
        "job": desk.situation.job,
        "does not start": does_not_start(desk.situation),
        "next": vars(advice.next),
        "why": advice.spoken,
        "why not the obvious one": advice.why_not,
        **{name: [vars(s) for s in standing] for name, standing in groups.items()},
        "runners up": [vars(s) for s in advice.runners_up],
        "blocked": [vars(b) for b in advice.blocked],
        "does not count": list(advice.ignored),
        "would change the advice": list(advice.change_mind),
        "outside the book": advice.outside,
        "method": advice.method,
    }


def _show_tree(adviser: Adviser, desk: Desk, depth: int, as_json: bool) -> None:
    """The elimination as a tree, by the same policy from the same record, without what cannot be done now."""
    from firststart.diagnosis.tree import draw, grow

    assert adviser.book is not None  # the shipped library has a book, and a user's own cannot take it away
    case = adviser.case(desk.situation, adviser.book)
    tree = grow(adviser.book, *case, depth=depth, available=adviser.hindered(desk.situation).get)
    if as_json:
        _dump({"job": desk.job, "depth": depth, "tree": asdict(tree)})
        return
    print(f"Why it does not start: {desk.situation.engine}, {desk.now:%Y-%m-%d}.")
    print("Do what a line says, then go on below the 'If' that fits. Chances are from the record so far.")
    print("This paper knows no hold points: the cautions and checks of the guided work come first.\n")
    print(draw(tree), end="")


def _rounds(adviser: Adviser, desk: Desk) -> Sequence[Round]:
    from firststart.report.rounds import rounds_of

    assert adviser.book is not None  # as above
    return rounds_of(adviser.book, *adviser.case(desk.situation, adviser.book))


def _round_lines(rounds: Sequence[Round]) -> Iterator[str]:
    """The suspects before and after each check: two bars, and the chances beside them."""
    if not rounds:
        yield "Nothing on record has moved a suspect yet."
    for one in rounds:
        day = f", {one.at:%Y-%m-%d %H:%M}" if one.at is not None else ""
        yield f"{one.check}: {one.outcome}{day}"
        width = max(len(s.name) for s in one.shifts)
        for shift in one.shifts:
            yield f"  {shift.name:<{width}}  {_bar(shift.before)} {percent(shift.before):>9} before"
            yield f"  {'':<{width}}  {_bar(shift.after)} {percent(shift.after):>9} after"
        yield ""


def _bar(chance: float) -> str:
    filled = round(BAR * chance)
    return "#" * filled + "." * (BAR - filled)
