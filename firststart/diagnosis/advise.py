"""The door of this room: a record's evidence in, advice out. numpy is loaded at the first call."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING

from firststart.diagnosis.advice import Advice, BlockedCheck, Standing, State, Step
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence
from firststart.diagnosis.network import fit
from firststart.diagnosis.words import chance_word, listed, minutes_word, percent

if TYPE_CHECKING:
    from firststart.diagnosis.model import Suspect
    from firststart.diagnosis.policy import Choice, View
    from firststart.diagnosis.score import Score

CLEARED = 0.25
"""Ruled out means: under the book's limit, and at most this part of the odds at the start. A suspect that was
never likely is not called ruled out by a check that hardly speaks of it."""


def advise(
    book: Book,
    profile: Mapping[str, str],
    years: float | None,
    storage: str | None,
    evidence: Iterable[Evidence],
    available: Callable[[str], str | None] | None = None,
) -> Advice:
    """What is ruled out, left and found, and what to do next.

    `profile` maps the book's fields to its words (missing or "unknown" matches everything); `years` it has stood,
    `storage` one of the book's words; `available(check id)` gives the reason why a check is not allowed now, or None.
    The same arguments always give the same advice. Raises nothing on evidence the book does not know: it is kept,
    listed in `ignored`, and does not count.
    """
    from firststart.diagnosis import explain, policy  # numpy is loaded here, not at import

    view = policy.look(fit(book, profile, years, storage), evidence, available)
    choice = policy.choose(view)
    standing = _standing(view)
    step = _step(view, choice)
    return Advice(
        next=step,
        spoken=explain.spoken(view, choice),
        why_not=explain.why_not(view, choice),
        standing=standing,
        runners_up=_runners_up(view, choice),
        blocked=tuple(BlockedCheck(b.check.id, b.check.name, b.why, b.by_job) for b in view.blocked),
        lines=_lines(view, choice, standing),
        ignored=_ignored(view),
        outside=view.chances.now[-1],
        method=_method(view),
        zones=_zones(view),
        mind=lambda: tuple(explain.change_mind(view, choice)),
    )


def _method(view: View) -> str:
    return "exact" if view.chances.exact else f"sampled, worth {view.chances.worth:.0f} draws"


def _ignored(view: View) -> tuple[str, ...]:
    """What is kept but does not count, by the names that are spoken; a ladder of rows is told once."""
    book = view.network.book

    def name(what: str) -> str:
        if what in book.rows:
            return book.check(what).name
        return book.suspects[what].name if what in book.suspects else what

    told = (f"{name(i.what)} ({i.at:%Y-%m-%d}): {i.why}" for i in view.settled.ignored)
    return tuple(dict.fromkeys(told))


def _standing(view: View) -> tuple[Standing, ...]:
    found = [_one(view, s) for s in view.network.suspects]
    return tuple(sorted(found, key=lambda s: -s.chance))


def _one(view: View, suspect: Suspect) -> Standing:
    from firststart.diagnosis import explain

    at = view.network.place[suspect.id]
    chance, prior = view.chances.now[at], view.network.numbers.prior[at]
    rules = view.network.book.policy
    repair = next((r for r in reversed(view.settled.repairs) if r.suspect == suspect.id), None)
    against = explain.reason_for(view, suspect)
    state: State = "left"
    reason = when = None
    if chance >= rules.found:
        state = "found"
    elif repair is not None:
        state, reason, when = "mended", "put right", repair.at
    elif against is not None and chance < rules.ruled_out and _odds(chance) <= CLEARED * _odds(prior):
        state, reason, when = "ruled out", explain.finding_text(view, against), against.at
    zone = view.network.book.zones[suspect.zone]
    word = "ruled out" if state == "ruled out" else chance_word(chance)
    return Standing(suspect.id, suspect.name, zone.id, zone.name, chance, prior, word, state, reason, when)


def _odds(chance: float) -> float:
    return chance / max(1.0 - chance, 1e-12)


def _step(view: View, choice: Choice) -> Step:
    if choice.kind in ("check", "wait") and choice.score is not None:
        step = _check_step(view, choice.score)
        return step if choice.kind == "check" else Step("wait", step.id, step.name, step.do, step.minutes)
    if choice.kind == "fix" and choice.suspect is not None:
        fix = choice.suspect.fix
        return Step("fix", choice.suspect.id, choice.suspect.name, fix.do, fix.minutes, fix.procedure)
    if choice.kind == "try":
        return Step("try", "try", "try to start", "Try to start it.", view.network.book.policy.try_minutes)
    if choice.kind == "done":
        return Step("done", "done", "it runs", "", 0.0)
    return Step("specialist", "specialist", "a specialist", _specialist(view), 0.0)


def _check_step(view: View, score: Score) -> Step:
    check = score.check
    shown = [r for r in check.rows if view.network.numbers.rows[r.id].causes]
    words = dict.fromkeys([w for r in shown for w in (*r.bad_when, *r.graded)] + list(check.ok_when))
    return Step(
        "check", check.id, check.name, check.do, score.minutes, check.procedure, check.observes, tuple(words),
        check.hazard, score.bits, score.chance_bad,
    )


def _specialist(view: View) -> str:
    """What a specialist would do next, in the zone that is likeliest."""
    from firststart.diagnosis.explain import leaders

    lead = leaders(view)[:1]  # the likeliest of those that the advice is about
    if not lead or view.chances.now[-1] >= view.chances.now[lead[0]]:
        return view.network.book.outside_specialist
    return view.network.book.zones[view.network.suspects[lead[0]].zone].specialist


def _runners_up(view: View, choice: Choice) -> tuple[Step, ...]:
    if choice.kind != "check" or choice.score is None:
        return ()
    least = (1.0 - view.network.book.policy.close) * choice.score.rate
    return tuple(_check_step(view, s) for s in view.ranked if s.check.id != choice.score.check.id and s.rate >= least)


def _zones(view: View) -> dict[str, float]:
    from firststart.diagnosis.score import zone_chance

    return {z: zone_chance(view.outlook, z) for z in view.network.book.zones}


def _lines(view: View, choice: Choice, standing: tuple[Standing, ...]) -> tuple[str, ...]:
    """The long form for the screen."""
    from firststart.diagnosis import explain

    out = [s for s in standing if s.state == "ruled out"]
    lines = [f"Ruled out: {len(out)} of {len(standing)} suspects, at odds under one to fifty."]
    lines += [f"  {s.name} ({percent(s.chance)}): {s.reason}, {s.at:%Y-%m-%d}." for s in out if s.at is not None]
    lines += [f"Found: {s.name}, {percent(s.chance)}." for s in standing if s.state == "found"]
    lines += [f"Put right: {s.name}; still there: {percent(s.chance)}." for s in standing if s.state == "mended"]
    left = [s for s in standing if s.state == "left"][:8]
    lines.append("Left, likeliest first: " + listed([f"{s.name} {percent(s.chance)}" for s in left]) + ".")
    lines.append(f"Something that is not in this book: {percent(view.chances.now[-1])}.")
    if not view.chances.exact:
        lines.append(f"Too many findings overlap for exact sums: these chances are {_method(view)}.")
    if choice.kind == "check" and choice.score is not None:
        best = choice.score
        lines.append(
            f"Next: {best.check.name}, {minutes_word(best.minutes)}, {best.bits:.2f} bits; "
            f"it {explain.what_it_splits(view, best.check)}."
        )
    if choice.kind == "specialist":
        lines.append("The book cannot tell the rest apart. " + _specialist(view))
        costly = [s for s in view.network.suspects if view.now(s) >= 0.2 and s.fix.costly]
        lines += [f"  {s.name}: likely, but not to be tried on a guess, because {s.fix.price}." for s in costly]
    return tuple(lines)
