"""What to do next: fix what is found, try after a fix, else the check that tells most for its minutes.

Safety is not weighed here: what the job does not allow now is left out before anything is scored. Needs numpy.

The rule for an early fix: mend suspect i now when p >= 0.5 and (1 - p) x (minutes to mend and try) is no more than the
minutes of the best check. A fix that costs parts, has hazards or cannot be undone is never a trial.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from firststart.diagnosis.evidence import Counted, Evidence, Settled, settle
from firststart.diagnosis.infer import Chances, solve
from firststart.diagnosis.model import Check, Suspect
from firststart.diagnosis.network import Network
from firststart.diagnosis.program import Mended
from firststart.diagnosis.sample import answer
from firststart.diagnosis.score import HARMLESS, Outlook, Score, best_first, lift, outlook, scores

DRAWS = 2000
"""Draws for the information of the checks; at 2,000 the chosen check loses under 1 % of rate."""

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
    seen = outlook(network, chances, draws, [*free, *kept, *waiting])
    access = open_access(network, settled)
    least = network.book.policy.enough
    links = [
        (s, name, words) for s in scores(seen, waiting, access) if s.bits >= least
        for name, words in s.check.needs.items() if not outcome_words(network.book.checks[name], settled.current)
    ]
    worth = [s for s in lift(scores(seen, free, access), links) if s.bits >= least or s.leads_to is not None]
    held = [s for s in scores(seen, kept, access) if s.bits >= least]
    return View(
        network, settled, chances, seen, best_first(network, worth), best_first(network, held), tuple(blocked),
    )


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
        return Choice("fix", suspect=found, why="it is found")
    if not view.settled.tried_since_repair:
        return Choice("try", why="something was put right since the last try")
    best = view.ranked[0] if view.ranked else None
    trial = trial_fix(view, best)
    if trial is not None:
        return Choice("fix", score=best, suspect=trial, why="mending it and trying costs less than the next check")
    if best is not None:
        return Choice("check", score=best)
    if view.held:
        return Choice("wait", score=view.held[0], why="what would tell more is not allowed yet")
    return _last_resort(view)


def found_fix(view: View) -> Suspect | None:
    """The suspect that is sure enough to mend, the surest first; costly fixes must be surer."""
    policy = view.network.book.policy
    sure = [
        s for s in view.network.suspects
        if s.stops >= HARMLESS and view.now(s) >= (policy.costly if s.fix.costly else policy.found)
    ]
    return max(sure, key=lambda s: (round(view.now(s), 9), -s.fix.minutes), default=None)


def trial_fix(view: View, best: Score | None) -> Suspect | None:
    """The suspect whose mending pays now as a trial; None when a check pays more."""
    if best is None:
        return None
    policy = view.network.book.policy

    def price(suspect: Suspect) -> float:
        return (1.0 - view.now(suspect)) * (suspect.fix.minutes + policy.try_minutes)

    paying = [
        s for s in view.network.suspects
        if s.stops >= HARMLESS and not s.fix.costly and view.now(s) >= policy.trial and price(s) <= best.minutes
    ]
    return min(paying, key=lambda s: (round(price(s), 9), s.line), default=None)


def _last_resort(view: View) -> Choice:
    """No check tells the rest apart: the safe fix with the best odds a minute, else a specialist."""
    policy = view.network.book.policy
    mended = {r.suspect for r in view.settled.repairs}
    fixes = [
        s for s in view.network.suspects
        if s.stops >= HARMLESS and not s.fix.costly and s.id not in mended and view.now(s) >= 5 * policy.ruled_out
    ]
    if not fixes:
        return Choice("specialist", why="the book cannot tell the rest apart")

    def odds_a_minute(suspect: Suspect) -> float:
        p = min(view.now(suspect), 1.0 - 1e-9)
        return p / (1.0 - p) / (suspect.fix.minutes + policy.try_minutes)

    return Choice("fix", suspect=max(fixes, key=odds_a_minute), why="no check left tells the rest apart")

