"""Checks of the book as a whole: can it see, tell apart and reach everything it names?

The terms are those of testability work (IEEE Std 1522-2004; MIL-HDBK-2165; the formulas from memory): the matrix D has
a one where a suspect makes a row bad with a chance of at least a half; a suspect is detected when any row has a one for
it; suspects with equal columns of D are an ambiguity group; isolation to L is the prior weight in groups of at most L,
of the weight detected.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from firststart.diagnosis.book import Book
from firststart.diagnosis.model import Check, Row, Suspect
from firststart.diagnosis.network import Network, fit
from firststart.diagnosis.words import word_count
from firststart.errors import Problem

SEEN = 0.5
APART = 0.35
PRIORS = (0.4, 8.0)
"""Least and greatest sum of the priors, for an engine that stood 0.5 and 12 years: about one to a few faults."""
SPOKEN = 20
"""Words of a spoken instruction (after ASD-STE100)."""


@dataclass(frozen=True)
class Figures:
    """How well the book can see and tell apart, for one engine."""

    suspects: int
    checks: int
    rows: int
    prior_sum: float
    detection_coverage: float
    ambiguity_groups: tuple[tuple[str, ...], ...]
    isolation: tuple[float, float, float]
    mean_group: float
    masked: tuple[tuple[str, str], ...]
    close_pairs: tuple[tuple[str, str], ...]

    def table(self) -> tuple[tuple[str, str], ...]:
        """Rows of (term, figure) to print."""
        shared = [g for g in self.ambiguity_groups if len(g) > 1]
        return (
            ("suspects", str(self.suspects)),
            ("checks", f"{self.checks} with {self.rows} rows"),
            ("sum of priors", f"{self.prior_sum:.2f}"),
            ("fault detection coverage", f"{self.detection_coverage:.3f}"),
            ("ambiguity groups", f"{len(self.ambiguity_groups)}, {len(shared)} of them of several suspects"),
            ("groups of several", "; ".join(", ".join(g) for g in shared) or "none"),
            ("isolation to 1, 2, 3", ", ".join(f"{v:.3f}" for v in self.isolation)),
            ("mean group size", f"{self.mean_group:.3f}"),
            ("masked pairs", str(len(self.masked))),
            ("pairs that no row sets apart", "; ".join(" and ".join(p) for p in self.close_pairs) or "none"),
        )


def figures(book: Book, profile: Mapping[str, str], years: float = 12.0, storage: str = "damp") -> Figures:
    """The testability figures of the book for one engine."""
    network = fit(book, profile, years, storage)
    weight = {s.id: network.numbers.prior[i] for i, s in enumerate(network.suspects)}
    columns = _columns(network)
    seen = {s: w for s, w in weight.items() if columns[s]}
    groups = _groups(columns)
    within = [sum(seen.get(s, 0.0) for g in groups if len(g) <= size for s in g) for size in (1, 2, 3)]
    total = sum(seen.values()) or 1.0
    return Figures(
        len(network.suspects), len(network.checks), sum(len(c.rows) for c in network.checks), sum(weight.values()),
        total / (sum(weight.values()) or 1.0), groups, (within[0] / total, within[1] / total, within[2] / total),
        sum(seen.get(s, 0.0) * len(g) for g in groups for s in g) / total,
        tuple((a, b) for a in columns for b in columns if a != b and columns[a] and columns[a] < columns[b]),
        _close_pairs(network),
    )


def check_book(
    book: Book,
    profiles: Mapping[str, Mapping[str, str]] | None = None,
    work: Mapping[str, Collection[str]] | None = None,
) -> tuple[Problem, ...]:
    """Every problem of the book, in file order.

    `profiles` are the kinds of engine to check it for (default: one for each kind the book names, all else unknown);
    `work` maps the id of each guided procedure to the names it observes.
    """
    kinds = profiles if profiles is not None else {k: {"kind": k} for k in book.fields.get("kind", ())}
    found = [*_spoken(book), *_cycles(book), *_unseen(book), *_same(book), *_dominated(book), *_unreachable(book)]
    found += _priors(book, kinds)
    found += _empty(book, kinds)
    found += _work(book, work) if work is not None else []
    return tuple(sorted(set(found)))


def _problem(book: Book, thing: Suspect | Check | Row, message: str) -> Problem:
    return Problem(book.file, thing.line, f"{thing.id}: {message}")


def _columns(network: Network) -> dict[str, frozenset[str]]:
    """For each suspect the rows that see it: its column of D."""
    here = {r.id for c in network.checks for r in c.rows}
    seen: dict[str, set[str]] = {s.id: set() for s in network.suspects}
    for row, net in network.numbers.rows.items():
        for at, q in net.causes:
            if row in here and q >= SEEN:
                seen[network.suspects[at].id].add(row)
    return {s: frozenset(rows) for s, rows in seen.items()}


def _groups(columns: Mapping[str, frozenset[str]]) -> tuple[tuple[str, ...], ...]:
    by_column: dict[frozenset[str], list[str]] = {}
    for suspect, column in columns.items():
        if column:
            by_column.setdefault(column, []).append(suspect)
    return tuple(tuple(g) for g in by_column.values())


def _close_pairs(network: Network) -> tuple[tuple[str, str], ...]:
    """Pairs of suspects that no row tells apart by more than APART."""
    here = {r.id for c in network.checks for r in c.rows}
    q: dict[str, dict[str, float]] = {s.id: {} for s in network.suspects}
    for row, net in network.numbers.rows.items():
        for at, value in net.causes if row in here else ():
            q[network.suspects[at].id][row] = value

    def apart(a: str, b: str) -> float:
        return max((abs(q[a].get(r, 0.0) - q[b].get(r, 0.0)) for r in {*q[a], *q[b]}), default=0.0)

    return tuple((a, b) for a, b in combinations(q, 2) if apart(a, b) < APART)


def _together(a: Mapping[str, tuple[str, ...]], b: Mapping[str, tuple[str, ...]]) -> bool:
    """True when some engine satisfies both rules."""
    return all(set(a[f]) & set(b[f]) for f in set(a) & set(b))


def _spoken(book: Book) -> Iterable[Problem]:
    for check in book.checks.values():
        if word_count(check.do) > SPOKEN:
            yield _problem(book, check, f"'do' has {word_count(check.do)} words; say it in at most {SPOKEN}.")
    for suspect in book.suspects.values():
        if word_count(suspect.fix.do) > SPOKEN:
            words = word_count(suspect.fix.do)
            yield _problem(book, suspect, f"its fix has {words} words; say it in at most {SPOKEN}.")


def _cycles(book: Book) -> Iterable[Problem]:
    def ahead(check: str, seen: tuple[str, ...]) -> tuple[str, ...] | None:
        for need in book.checks[check].needs:
            if need in seen:
                return (*seen[seen.index(need):], need)
            ring = ahead(need, (*seen, need))
            if ring:
                return ring
        return None

    for name, check in book.checks.items():
        ring = ahead(name, (name,))
        if ring and name == min(ring):
            yield _problem(book, check, f"needs go in a ring: {' needs '.join(ring)}; break it.")


def _unreachable(book: Book) -> Iterable[Problem]:
    for check in book.checks.values():
        for need in check.needs:
            other = book.checks[need]
            if not _together(check.applies, other.applies):
                yield _problem(book, check, f"needs {need}, which no engine has that has this check.")
        if not any(
            _together(check.applies, book.suspects[s].applies) for row in check.rows for s in row.bad_if
        ):
            yield _problem(book, check, "no engine that has this check has any of its suspects.")


def _unseen(book: Book) -> Iterable[Problem]:
    for suspect in book.suspects.values():
        rows = [r for r in book.rows.values() if r.bad_if.get(suspect.id, 0.0) >= SEEN]
        if not rows:
            message = "no check makes it out (fault detection coverage); add one that it turns bad half the time."
            yield _problem(book, suspect, message)


def _same(book: Book) -> Iterable[Problem]:
    """Suspects that no row tells apart at all: one was copied from the other, or a check is missing."""
    columns = {
        s: {r.id: r.bad_if[s] for r in book.rows.values() if s in r.bad_if} for s in book.suspects
    }
    for a, b in combinations(book.suspects, 2):
        one, two = book.suspects[a], book.suspects[b]
        if columns[a] and columns[a] == columns[b] and _together(one.applies, two.applies):
            message = f"every check sees it exactly as {a} (an ambiguity group); add a check that tells them apart."
            yield _problem(book, two, message)


def _dominated(book: Book) -> Iterable[Problem]:
    """A check whose row another gives for the same or fewer minutes, and at least as surely."""
    singles = [c for c in book.checks.values() if len(c.rows) == 1]
    for worse in singles:
        for better in singles:
            if worse is not better and _dominates(book, better, worse):
                yield _problem(book, worse, f"tells nothing that {better.id} does not tell as soon and as surely.")


def _dominates(book: Book, better: Check, worse: Check) -> bool:
    one, two = better.rows[0], worse.rows[0]
    if set(one.bad_if) != set(two.bad_if) or not _covers(better.applies, worse.applies):
        return False
    if not set(better.needs.items()) <= set(worse.needs.items()):
        return False
    cost = [c.minutes + sum(book.access[a].minutes for a in c.access) for c in (better, worse)]
    surer = all(one.bad_if[s] >= two.bad_if[s] for s in two.bad_if) and one.leak <= two.leak
    same = cost[0] == cost[1] and one.bad_if == two.bad_if and one.leak == two.leak
    return cost[0] <= cost[1] and surer and (not same or better.line < worse.line)


def _covers(wide: Mapping[str, tuple[str, ...]], narrow: Mapping[str, tuple[str, ...]]) -> bool:
    return all(f in narrow and set(narrow[f]) <= set(words) for f, words in wide.items())


def _priors(book: Book, kinds: Mapping[str, Mapping[str, str]]) -> Iterable[Problem]:
    for name, profile in kinds.items():
        young, old = (sum(fit(book, profile, y, "damp").numbers.prior[:-1]) for y in (0.5, 12.0))
        if young < PRIORS[0] or old > PRIORS[1]:
            yield Problem(
                book.file, 1, f"for {name} the priors add up to {young:.2f} after half a year and {old:.2f} after "
                f"twelve years; keep them from {PRIORS[0]:g} to {PRIORS[1]:g}.",
            )


def _empty(book: Book, kinds: Mapping[str, Mapping[str, str]]) -> Iterable[Problem]:
    """Checks that tell next to nothing for every kind of engine, by the bits of the prior."""
    most: dict[str, float] = {}
    for profile in kinds.values():
        network = fit(book, profile, 12.0, "damp")
        for check in network.checks:
            most[check.id] = max(most.get(check.id, 0.0), _strength(network, check))
    for name, check in book.checks.items():
        if name in most and most[name] < 0.05:
            yield _problem(book, check, "hardly changes with what is there; it tells nothing.")


def _strength(network: Network, check: Check) -> float:
    """The most that one suspect moves a row of the check away from how it looks anyway."""
    rows = [network.numbers.rows[r.id] for r in check.rows]
    return max((q * (1.0 - row.leak) for row in rows for _, q in row.causes), default=0.0)


def _work(book: Book, work: Mapping[str, Collection[str]]) -> Iterable[Problem]:
    for check in book.checks.values():
        if check.procedure is not None and check.procedure in work and check.observes not in work[check.procedure]:
            yield _problem(book, check, f"procedure {check.procedure} does not observe {check.observes}.")


__all__ = ["Figures", "check_book", "figures"]
