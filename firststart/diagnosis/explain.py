"""Reasons in plain words: what a check splits, why not the obvious one, what would change the advice. Needs numpy."""

from __future__ import annotations

from firststart.diagnosis.evidence import Counted
from firststart.diagnosis.infer import solve
from firststart.diagnosis.model import Check, Suspect
from firststart.diagnosis.policy import LIKELY, Choice, View, mended_of, outcome_words
from firststart.diagnosis.score import Score, chance_given, zone_chance
from firststart.diagnosis.words import chance_word, listed, minutes_word, percent, word_count

LIMIT = 20
"""Words of a spoken sentence (after ASD-STE100)."""


def first_fit(*sentences: str) -> str:
    """The first of `sentences` that is short enough to be spoken; the last one otherwise."""
    return next((s for s in sentences if word_count(s) <= LIMIT), sentences[-1])


def spoken(view: View, choice: Choice) -> str:
    """The one sentence for what to do next and what it splits."""
    if choice.kind == "check" and choice.score is not None:
        return _check_sentence(view, choice.score)
    if choice.kind == "fix" and choice.suspect is not None:
        word, name = chance_word(view.now(choice.suspect)), choice.suspect.name
        how = f"its chance is {word}" if word == "about even" else f"it is {word}"
        reason = f"Mend {name}: {how}, and {choice.why}." if choice.why else ""
        return first_fit(*filter(None, (reason, f"Mend {name}: {how}.", f"Mend {name}.")))
    if choice.kind == "try":
        return "Try to start it: something was put right since the last try."
    if choice.kind == "wait" and choice.score is not None:
        name = choice.score.check.name
        return first_fit(f"Wait with {name}: {_why_held(view, choice.score)}.", f"Not yet: {name} must wait.")
    if choice.kind == "done":
        return "It runs: there is nothing left to find."
    end = "No check in this book tells the rest apart: ask a specialist."
    if choice.suspect is None or view.now(choice.suspect) < LIKELY:
        return end
    name, price = choice.suspect.name, choice.suspect.fix.price
    return first_fit(f"It is most likely {name}, but {price}: ask a specialist first.", end)


def _check_sentence(view: View, score: Score) -> str:
    name, takes = score.check.name, minutes_word(score.minutes)
    if score.leads_to is not None and score.bits < view.network.book.policy.enough:
        return first_fit(
            f"Check {name}, about {takes}: it opens the way to {score.leads_to.name}.", f"Check {name}, about {takes}.",
        )
    splits = what_it_splits(view, score.check)
    return first_fit(
        f"Check {name}, about {takes}: it {splits}.", f"Check {name}: it {splits}.", f"Check {name}, about {takes}.",
    )


def what_it_splits(view: View, check: Check) -> str:
    """ "tells low tension from fuel supply", or "shows whether it is a shut tap"."""
    if len(check.rows) > 2:
        return _many_ways(view, check)
    outcomes = view.outlook.given[check.id]
    good, bad = outcomes[-1], outcomes[:-1].sum(axis=0)
    shift = {
        z.id: zone_chance(view.outlook, z.id, bad) - zone_chance(view.outlook, z.id, good)
        for z in view.network.book.zones.values()
    }
    rises, falls = max(shift, key=lambda z: shift[z]), min(shift, key=lambda z: shift[z])
    zones = view.network.book.zones
    top = _risers(view, check)
    if shift[rises] > 0.05 and shift[falls] < -0.05 and len(top) != 1:
        return f"tells {zones[rises].name} from {zones[falls].name}"
    if top:
        return f"shows whether it is {listed(top[:2], 'or')}"
    return f"tells most about {zones[rises].name}"


def _many_ways(view: View, check: Check) -> str:
    """For a long ladder: the zones that its outcomes point to, most first."""
    zones = view.network.book.zones.values()
    outcomes = view.outlook.given[check.id]
    most = {
        z.name: max(zone_chance(view.outlook, z.id, o) for o in outcomes) - zone_chance(view.outlook, z.id)
        for z in zones
    }
    top = [n for n in sorted(most, key=lambda n: -most[n]) if most[n] > 0.05][:3]
    return f"tells {listed(top)} apart" if len(top) > 1 else f"tells most about {listed(top) or 'the engine itself'}"


def _risers(view: View, check: Check) -> list[str]:
    """Suspects that a bad outcome lifts by at least half as much as the one it lifts most."""
    weight = view.outlook.given[check.id][:-1].sum(axis=0) * view.outlook.share
    total = float(weight.sum())
    if total <= 0.0:
        return []
    lifted = (weight @ view.outlook.drawn) / total
    rise = {i: float(lifted[i]) - view.chances.now[i] for i in core_places(view)}
    most = max(rise.values(), default=0.0)
    ordered = sorted(rise, key=lambda i: -rise[i])
    return [view.network.suspects[i].name for i in ordered if most > 0.02 and rise[i] >= most / 2]


def core_places(view: View) -> list[int]:
    """Places of the suspects that the advice is about now, in file order."""
    return [i for i in range(len(view.network.suspects)) if view.outlook.core[i]]


def obvious(view: View, chosen: Score | None) -> Score | None:
    """The check a person would think of first: the surest look at the likeliest suspect, else the runner-up."""
    others = [s for s in view.ranked if chosen is None or s.check.id != chosen.check.id]
    for i in leaders(view)[:1]:
        rows = view.network.numbers.rows
        direct = [(q, s) for s in others for r in s.check.rows for j, q in rows[r.id].causes if j == i]
        if direct:
            return max(direct, key=lambda pair: (pair[0], pair[1].rate))[1]
    return others[0] if others else None


def why_not(view: View, choice: Choice) -> str:
    """One sentence why not the obvious check; empty when there is nothing to say."""
    chosen = choice.score
    other = obvious(view, chosen)
    if choice.kind != "check" or chosen is None or other is None:
        return ""
    name, takes = other.check.name, minutes_word(other.minutes)
    if other.bits >= 0.9 * chosen.bits:
        return first_fit(f"Not {name}: it tells as much, but takes {takes}.", f"Not {name}: it takes {takes}.")
    if other.minutes > chosen.minutes:
        return first_fit(f"Not {name}: it tells less and takes {takes}.", f"Not {name}: it takes {takes}.")
    return first_fit(f"Not {name}: it is quick, but tells too little yet.", f"Not {name}: it tells less.")


def _why_held(view: View, score: Score) -> str:
    return next((b.why for b in view.blocked if b.check.id == score.check.id), "it is not allowed yet")


def reason_for(view: View, suspect: Suspect) -> Counted | None:
    """The good finding that speaks most strongly against `suspect`, or None."""
    return view.against.get(view.network.place[suspect.id])


def finding_text(view: View, found: Counted) -> str:
    """ "the spark at a test gap was none", for a counted finding."""
    if found.row is None:
        return "it did not start" if found.outcome == "bad" else "it started"
    check = view.network.book.check(found.row)
    words = (found.word,) if found.word else outcome_words(check, view.settled.current)
    if words:
        return f"{check.name}: {words[0]}"
    row = view.network.book.rows[found.row]
    return f"{check.name}: {'' if found.outcome == 'bad' else 'not '}{row.bad_when[0]}"


def leaders(view: View) -> list[int]:
    """Places of the suspects that can stop the engine, likeliest first."""
    return sorted(core_places(view), key=lambda i: -view.chances.now[i])


def change_mind(view: View, choice: Choice) -> list[str]:
    """What would change the advice: the outcomes of the next check, and the finding the leader rests on."""
    lines = []
    if choice.kind == "check" and choice.score is not None:
        lines += [_if_outcome(view, choice.score, k) for k, p in enumerate(choice.score.outcomes) if p >= 0.005]
    lead = leaders(view)[:1]
    if lead and view.settled.findings:
        lines += _rests_on(view, lead[0])
    return lines


def _if_outcome(view: View, score: Score, k: int) -> str:
    check = score.check
    word = check.rows[k].bad_when[0] if k < len(check.rows) else check.ok_when[0]
    then = chance_given(view.outlook, check, k)
    order = sorted(core_places(view), key=lambda i: -float(then[i]))
    top = [f"{view.network.suspects[i].name} {percent(float(then[i]))}" for i in order[:2]]
    return f"If {check.name} comes out {word!r} ({percent(score.outcomes[k])}): {listed(top)}."


def _rests_on(view: View, lead: int) -> list[str]:
    """The finding without which the leading suspect would move most (leave one out, exactly)."""
    now = view.chances.now[lead]
    if not view.chances.exact:
        return []
    mended = mended_of(view.network, view.settled)
    moved: list[tuple[float, float, Counted]] = []
    for found in view.settled.findings:
        if found.row is not None and lead not in dict(view.network.numbers.rows[found.row].causes):
            continue
        rest = [f for f in view.settled.findings if f is not found]
        without = solve(view.network.numbers, rest, mended).chances.now[lead]
        moved.append((abs(without - now), without, found))
    if not moved:
        return []
    size, without, found = max(moved, key=lambda m: m[0])
    if size < 0.05:
        return []
    name, text = view.network.suspects[lead].name, finding_text(view, found)
    return [
        f"{name[:1].upper()}{name[1:]} stands at {percent(now)}; "
        f"were '{text}' wrong, it would be {percent(without)}."
    ]
