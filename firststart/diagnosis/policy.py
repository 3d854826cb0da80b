"""What to do next: fix what is found, try after a fix, else the check that tells most for its minutes.

Safety is not weighed here: what the job does not allow now is left out before anything is scored. Needs numpy.

The rule for an early fix: mend suspect i now when p is at least the book's chance for a trial (two to one) and (1 - p)
x (minutes to mend and try) is no more than the minutes of the best check. Or when q, the chance that it is there and
stops the engine, is >= 0.5, and (1 - q) x (minutes to mend and try) is well below the minutes that checks would take to
settle the doubt about it: many quick checks in a row cost more than the repair. A fix that costs parts, has hazards or
cannot be undone is never a trial, and what can be looked at in no more minutes than it takes to mend is looked at
first, as nobody fits a fuse unseen.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.evidence import Counted, Evidence, Settled, settle
from firststart.diagnosis.infer import Chances, solve
from firststart.diagnosis.model import Check, Suspect
from firststart.diagnosis.network import Network
from firststart.diagnosis.program import Mended
from firststart.diagnosis.sample import answer
from firststart.diagnosis.score import Outlook, Score, best_first, bits_about, doubt_of, lift, outlook, scores

DRAWS = 2000
"""Draws for the information of the checks; at 2,000 the chosen check loses under 1 % of rate."""

SETTLE = 0.6
"""A trial may waste this part of the minutes that checks take to settle the doubt: they tell of others besides."""
LOOK = 0.5
"""A check that tells at least this part of the doubt about a suspect is a look at the suspect itself."""
LAST = 0.35
"""With no check left, what is less likely than this is not mended on the odds: two calls of three would be wrong."""
LIKELY = 0.5
"""More likely there than not."""
PAST = 0.03
"""Bits about a suspect; when every check left tells less about it, checking on does not settle it."""
SPEAKS = 0.25
"""How surely a suspect must show in a check for the check to be named as what cleared it."""
Available = Callable[[str], str | None]


@dataclass(frozen=True)
class Blocked:
    """A check that may not be done now: `why`, and whether the job (safety) or the book (order of work) says so."""

    check: Check
    why: str
    by_job: bool


@dataclass(frozen=True)
class Choice:
    """What to do: kind is "check", "fix", "try", "wait", "specialist" or "done"."""

    kind: str
    score: Score | None = None
    suspect: Suspect | None = None
    why: str = ""


@dataclass(frozen=True)
class View:
    """Everything the advice is made from."""

    network: Network
    settled: Settled
    chances: Chances
    outlook: Outlook
    ranked: tuple[Score, ...]
    held: tuple[Score, ...]
    blocked: tuple[Blocked, ...]

    @property
    def culprits(self) -> tuple[Suspect, ...]:
        """The suspects that the advice is about now: those that can stop the engine, and come first."""
        return tuple(s for i, s in enumerate(self.network.suspects) if self.outlook.core[i])

    @cached_property
    def against(self) -> dict[int, Counted]:
        """For each suspect's place, the good finding that speaks most strongly against it, if any does."""
        best: dict[int, tuple[float, Counted]] = {}
        for found in self.settled.findings:
            if found.row is None or found.outcome != "ok" or found.likelihood is not None:
                continue
            for at, q in self.network.numbers.rows[found.row].causes:
                if q > best.get(at, (SPEAKS, found))[0]:
                    best[at] = (q, found)
        return {at: found for at, (_, found) in best.items()}

    def now(self, suspect: Suspect) -> float:
        """The chance that `suspect` is there now."""
        return self.chances.now[self.network.place[suspect.id]]


def mended_of(network: Network, settled: Settled) -> list[Mended]:
    """The repairs as numbers; a success that was not told is the book's."""
    found = []
    for repair in settled.repairs:
        at = network.place[repair.suspect]
        success = network.suspects[at].fix.works if repair.success is None else repair.success
        found.append(Mended(at, success))
    return found


def seed_of(network: Network, findings: Iterable[Counted], mended: Iterable[Mended]) -> int:
    """A seed that depends on what is known and on nothing else, so that the same record gives the same advice."""
    facts = [repr(network.numbers.prior), repr(sorted(network.profile.items()))]
    facts += [repr((f.row, f.outcome, f.epoch, f.likelihood)) for f in findings]
    facts += [repr(m) for m in mended]
    return int.from_bytes(hashlib.sha256("\n".join(facts).encode()).digest()[:8], "big")


def outcome_words(check: Check, current: Mapping[str, Counted]) -> tuple[str, ...]:
    """The outcome words that the current findings allow; empty when the check is not done."""
    for row in check.rows:
        found = current.get(row.id)
        if found is None:
            return ()
        if found.likelihood is not None:
            return tuple(row.graded) or row.bad_when
        if found.outcome == "bad":
            return row.bad_when
    return check.ok_when


def look(network: Network, evidence: Iterable[Evidence], available: Available | None = None) -> View:
    """Settle the evidence, work out the chances, and score every check that is still to do."""
    ids = [s.id for s in network.suspects]
    settled = settle(evidence, network.book.causes, ids)
    mended = mended_of(network, settled)
    seed = seed_of(network, settled.findings, mended)
    chances, draws = answer(solve(network.numbers, settled.findings, mended), DRAWS, seed)
    return _view(network, settled, chances, draws, available)


def _view(
    network: Network, settled: Settled, chances: Chances, draws: NDArray[np.bool_], available: Available | None,
) -> View:
    to_do = [c for c in network.checks if not outcome_words(c, settled.current)]
    fitting = [c for c in to_do if _ruled_off(network, c, settled) is None]
    needs = {c.id: _needs(network, c, settled) for c in fitting}
    refused = {c.id: available(c.id) if available else None for c in fitting if needs[c.id] is None}
    free = [c for c in fitting if needs[c.id] is None and refused[c.id] is None]
    kept = [c for c in fitting if needs[c.id] is None and refused[c.id] is not None]
    blocked = [Blocked(c, refused[c.id] or "", True) for c in kept]
    blocked += [Blocked(c, needs[c.id] or "", False) for c in fitting if needs[c.id] is not None]
    waiting = [c for c in fitting if needs[c.id] is not None]
    focus = comes_first(network, settled)
    seen = outlook(network, chances, draws, [*free, *kept, *waiting], focus)
    worth, held = _worth(seen, settled, free, waiting), _worth(seen, settled, kept, [])
    return View(network, settled, chances, seen, worth, held, tuple(blocked))


def comes_first(network: Network, settled: Settled) -> frozenset[int] | None:
    """The suspects to look among first: the causes of the bad row of a check that comes first; None if none is bad."""
    for check in network.checks:
        for row in check.rows if check.first else ():
            found = settled.current.get(row.id)
            if found is not None and found.outcome == "bad":
                return frozenset(i for i, _ in network.numbers.rows[row.id].causes) or None
    return None


def _worth(seen: Outlook, settled: Settled, free: list[Check], waiting: list[Check]) -> tuple[Score, ...]:
    """The checks that tell something, best first; one that opens the way to others counts with the best of them."""
    network = seen.network
    access, least = open_access(network, settled), network.book.policy.enough
    links = [
        (s, name, words) for s in scores(seen, waiting, access) if s.bits >= least
        for name, words in s.check.needs.items() if not outcome_words(network.book.checks[name], settled.current)
    ]
    lifted = lift(scores(seen, free, access), links)
    return best_first(network, (s for s in lifted if s.bits >= least or s.leads_to is not None))


def _ruled_off(network: Network, check: Check, settled: Settled) -> str | None:
    """Why the check is not called for: something it needs came out otherwise."""
    for name, words in check.needs.items():
        came_out = outcome_words(network.book.checks[name], settled.current)
        if came_out and not set(came_out) & set(words):
            return f"{network.book.checks[name].name} came out {came_out[0]}"
    return None


def _needs(network: Network, check: Check, settled: Settled) -> str | None:
    """What must be done first, or None. A check that this engine does not have cannot be needed."""
    here = {c.id for c in network.checks}
    for name in check.needs:
        if name in here and not outcome_words(network.book.checks[name], settled.current):
            return f"first {network.book.checks[name].name}"
    return None


def open_access(network: Network, settled: Settled) -> frozenset[str]:
    """The set-ups that stand open: paid for a finding, and not put back for a try since."""
    found = set()
    for item in settled.findings:
        if item.row is None:
            continue
        for name in network.book.check(item.row).access:
            if item.seq > settled.last_try or not network.book.access[name].closes:
                found.add(name)
    return frozenset(found)


def choose(view: View) -> Choice:
    """The one thing to do next."""
    if view.settled.running:
        return Choice("done", why="it runs")
    found = found_fix(view)
    if found is not None:
        return Choice("fix", suspect=found)
    if not view.settled.tried_since_repair:
        return Choice("try", why="something was put right since the last try")
    best = view.ranked[0] if view.ranked else None
    trial = trial_fix(view, best)
    if trial is not None:
        return Choice("fix", score=best, suspect=trial, why="a try tells more than a check")
    likeliest = max(view.culprits, key=view.now, default=None)
    if likeliest is not None and _for_specialist(view, likeliest):
        return Choice("specialist", suspect=likeliest, why="no check left in the book says more about it")
    if best is not None:
        return Choice("check", score=best)
    last = _last_resort(view)
    likely = last.suspect is not None and view.now(last.suspect) >= LIKELY
    if view.held and not (last.kind == "fix" and likely):
        return Choice("wait", score=view.held[0], why="what would tell more is not allowed yet")
    return last


def found_fix(view: View) -> Suspect | None:
    """The suspect that is sure enough to mend, the surest first; costly fixes must be surer, or past checking."""
    policy = view.network.book.policy
    sure = [s for s in view.culprits if view.now(s) >= policy.found and (not s.fix.costly or _settled_on(view, s))]
    return max(sure, key=lambda s: (round(view.now(s), 9), -s.fix.minutes), default=None)


def _settled_on(view: View, suspect: Suspect) -> bool:
    """A costly fix waits for a higher chance, as long as a check is left that still speaks of its suspect."""
    return view.now(suspect) >= view.network.book.policy.costly or _past_checking(view, suspect)


def _past_checking(view: View, suspect: Suspect) -> bool:
    """True when no check left tells enough about this suspect."""
    at = view.network.place[suspect.id]
    return all(bits_about(view.outlook, s.check, at) < PAST for s in view.ranked)


def _for_specialist(view: View, likeliest: Suspect) -> bool:
    """The likeliest suspect is costly to mend, likely but not sure, and no check that can be done speaks of it."""
    likely = view.now(likeliest) >= LIKELY
    return likely and likeliest.fix.costly and _past_checking(view, likeliest)


def trial_fix(view: View, best: Score | None) -> Suspect | None:
    """The suspect whose mending pays now as a trial; None when a check pays more."""
    if best is None:
        return None
    policy = view.network.book.policy

    def price(suspect: Suspect) -> float:
        return (1.0 - view.now(suspect)) * (suspect.fix.minutes + policy.try_minutes)

    likely = [s for s in view.culprits if not s.fix.costly and view.now(s) >= policy.trial]
    stopping = chance_of_stopping(view) if likely else np.empty(0)
    paying = [
        s for s in likely
        if (price(s) <= best.minutes or _cheaper_than_settling(view, s, stopping)) and not _can_be_looked_at(view, s)
    ]
    return min(paying, key=lambda s: (round(price(s), 9), s.line), default=None)


def _cheaper_than_settling(view: View, suspect: Suspect, stopping: NDArray[np.float64]) -> bool:
    """True when mending wastes fewer minutes than checks would take to settle whether this is what stops the engine."""
    at, policy = view.network.place[suspect.id], view.network.book.policy
    chance = float(stopping[at])
    if chance < LIKELY:
        return False
    wasted = (1.0 - chance) * (suspect.fix.minutes + policy.try_minutes)
    rate = max((bits_about(view.outlook, s.check, at) / s.minutes for s in view.ranked), default=0.0)
    return wasted * rate <= SETTLE * doubt_of((chance, 1.0 - chance))


def _can_be_looked_at(view: View, suspect: Suspect) -> bool:
    """True when a check that can be done now looks at this very suspect, in no more minutes than mending and trying."""
    at, most = view.network.place[suspect.id], suspect.fix.minutes + view.network.book.policy.try_minutes
    chance = view.now(suspect)
    enough = LOOK * doubt_of((chance, 1.0 - chance))
    return any(s.minutes <= most and bits_about(view.outlook, s.check, at) >= enough for s in view.ranked)


def chance_of_stopping(view: View) -> NDArray[np.float64]:
    """For each suspect the chance that it is there and stops the engine; that it does not start says that one does."""
    stops = np.array(view.network.numbers.stops)
    drawn, share = view.outlook.drawn, view.outlook.share
    if any(found.row is None for found in view.settled.findings):
        starts = np.exp(drawn @ np.log1p(-np.minimum(stops, 1.0 - 1e-9)))
        share = np.where(starts < 1.0, share / np.maximum(1.0 - starts, 1e-9), 0.0)
    chances: NDArray[np.float64] = (share @ drawn) * stops
    return chances


def _last_resort(view: View) -> Choice:
    """No check tells the rest apart: the safe fix with the best odds a minute, else a specialist."""
    policy = view.network.book.policy
    mended = {r.suspect for r in view.settled.repairs}
    left = [s for s in view.culprits if s.id not in mended and view.now(s) >= 5 * policy.ruled_out]
    fixes = [s for s in left if not s.fix.costly]
    likeliest = max(left, key=view.now, default=None)
    if not fixes or (likeliest is not None and likeliest.fix.costly and view.now(likeliest) >= LIKELY):
        return Choice("specialist", suspect=likeliest, why="the book cannot tell the rest apart")
    best = max(fixes, key=lambda s: odds_a_minute(view.now(s), s.fix.minutes + policy.try_minutes))
    if view.now(best) < LAST:
        return Choice("specialist", why="the book cannot tell the rest apart")
    return Choice("fix", suspect=best, why="no check left tells more")


def odds_a_minute(chance: float, minutes: float) -> float:
    """The order in which to mend and try several independent suspects: p / (1 - p) / minutes, largest first.

    By exchange of neighbours this order has the least expected minutes until all are mended (for one fault only, the
    order is p / minutes).
    """
    p = min(chance, 1.0 - 1e-9)
    return p / (1.0 - p) / minutes

