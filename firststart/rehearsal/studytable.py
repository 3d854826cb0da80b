"""What a study comes to: figures by policy, kind and number of faults, comparisons on the same engines, the bars."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from firststart.rehearsal.figures import Pair, bootstrap, bootstrap_ratio, mean, quantile, wilson
from firststart.rehearsal.study import Cpu, Row
from firststart.report.caveats import CONDEMNED_RATE

TOOL, SOUND = "firststart", "sound engines"


@dataclass(frozen=True)
class Figures:
    """What many jobs come to. Each pair is a 95 per cent interval; `found` is of all hidden conditions."""

    jobs: int
    started: float
    started_between: Pair
    found: float
    found_between: Pair
    wrong: float
    wrong_between: Pair
    minutes: float
    minutes_between: Pair
    minutes_95: float
    overhead: float
    overhead_between: Pair
    overhead_95: float
    hottest_c: float


def figures(rows: Sequence[Row], seed: int = 1) -> Figures:
    """The figures of some rows. Raises ValueError for none."""
    if not rows:
        raise ValueError("no job to reckon with")
    spent, wrong, whole = [r.overhead for r in rows], [float(r.wrong) for r in rows], [r.minutes for r in rows]
    ran, there, found = sum(r.runs for r in rows), sum(r.faults for r in rows), sum(r.found for r in rows)
    return Figures(
        jobs=len(rows), started=ran / len(rows), started_between=wilson(ran, len(rows)),
        found=found / there if there else 1.0, found_between=wilson(found, there) if there else (1.0, 1.0),
        wrong=mean(wrong), wrong_between=bootstrap(wrong, seed), minutes=mean(whole),
        minutes_between=bootstrap(whole, seed), minutes_95=quantile(whole, 0.95), overhead=mean(spent),
        overhead_between=bootstrap(spent, seed), overhead_95=quantile(spent, 0.95),
        hottest_c=max(r.hottest_c for r in rows),
    )


@dataclass(frozen=True)
class Compared:
    """Another policy against the tool on the same engines. Positive: the tool spends less, or is wrong less often."""

    policy: str
    jobs: int
    overhead: float
    overhead_between: Pair
    ratio: float  # the tool's overhead over the other's
    ratio_between: Pair
    wrong: float
    wrong_between: Pair
    started: float  # share of engines that the tool started, less the other's
    both: int  # engines that both started: there neither saves minutes by giving up
    both_overhead: float
    both_between: Pair

    @property
    def ahead(self) -> bool:
        """Less overhead, with all of the interval on that side."""
        return self.overhead_between[0] > 0

    @property
    def more_wrong(self) -> bool:
        """More wrong calls, with all of the interval on that side."""
        return self.wrong_between[1] < 0


def compared(ours: Iterable[Row], theirs: Iterable[Row], seed: int = 1) -> Compared | None:
    """The comparison of two policies on the engines that both were led through; None when there are none."""
    mine, other = {r.index: r for r in ours}, {r.index: r for r in theirs}
    both = sorted(set(mine) & set(other))
    if not both:
        return None
    pairs = [(mine[n], other[n]) for n in both]
    less = [b.overhead - a.overhead for a, b in pairs]
    calls = [float(b.wrong - a.wrong) for a, b in pairs]
    above, below = [a.overhead for a, _ in pairs], [b.overhead for _, b in pairs]
    started = [b.overhead - a.overhead for a, b in pairs if a.runs and b.runs]
    return Compared(
        pairs[0][1].policy, len(both), mean(less), bootstrap(less, seed), mean(above) / max(mean(below), 1e-12),
        bootstrap_ratio(above, below, seed), mean(calls), bootstrap(calls, seed),
        mean([float(a.runs) - float(b.runs) for a, b in pairs]), len(started), mean(started) if started else 0.0,
        bootstrap(started, seed) if started else (0.0, 0.0),
    )


def by(rows: Iterable[Row], key: Callable[[Row], object]) -> dict[str, list[Row]]:
    """Rows in groups, in the order in which their keys sort."""
    groups: dict[str, list[Row]] = {}
    for row in rows:
        groups.setdefault(str(key(row)), []).append(row)
    return dict(sorted(groups.items()))


@dataclass(frozen=True)
class Sound:
    """What was said of engines with nothing wrong, each led through all the work to its first run."""

    jobs: int
    condemned: int
    share: float
    between: Pair

    @property
    def kept(self) -> bool:
        """Is the share no higher than the rate that is stated, with all of the interval?"""
        return self.between[1] <= CONDEMNED_RATE


@dataclass(frozen=True)
class Result:
    """A study, reckoned."""

    policies: Mapping[str, Figures]
    by_faults: Mapping[str, Figures]
    by_kind: Mapping[str, Figures]
    others_by_faults: Mapping[str, Mapping[str, Figures]]  # number of hidden conditions, policy
    others_by_kind: Mapping[str, Mapping[str, Figures]]
    against: tuple[Compared, ...]
    sound: Sound | None
    cranks_unpermitted: int
    jobs: int
    cpu: Cpu  # a job

    def data(self) -> dict[str, Any]:
        """All of it as plain values, for JSON."""
        return asdict(self)


def reckon(rows: Sequence[Row]) -> Result:
    """The study of some rows. Raises ValueError for none."""
    led = [r for r in rows if r.policy != SOUND]
    groups = by(led, lambda r: r.policy)
    ours = groups.get(TOOL, [])
    others = [compared(ours, some) for policy, some in groups.items() if policy != TOOL]
    return Result(
        policies={p: figures(groups[p]) for p in sorted(groups, key=lambda p: (p != TOOL, p))},
        by_faults={p: figures(some) for p, some in by(ours, lambda r: r.faults).items()},
        by_kind={p: figures(some) for p, some in by(ours, lambda r: r.kind).items()},
        others_by_faults=_others(led, lambda r: r.faults), others_by_kind=_others(led, lambda r: r.kind),
        against=tuple(c for c in others if c is not None),
        sound=_sound([r for r in rows if r.policy == SOUND]),
        cranks_unpermitted=sum(r.unpermitted for r in rows), jobs=len(rows),
        cpu=Cpu(*(mean(x) for x in zip(*((r.cpu, r.cpu_virtual, r.cpu_advice) for r in rows), strict=True))),
    )


def _others(rows: Iterable[Row], key: Callable[[Row], object]) -> dict[str, dict[str, Figures]]:
    """For each group the figures of every policy but the tool's."""
    return {
        name: {policy: figures(x) for policy, x in by(some, lambda r: r.policy).items()}
        for name, some in by((r for r in rows if r.policy != TOOL), key).items()
    }


def _sound(rows: Sequence[Row]) -> Sound | None:
    if not rows:
        return None
    hits = sum(r.condemned > 0 for r in rows)
    return Sound(len(rows), hits, hits / len(rows), wilson(hits, len(rows)))


# as text -------------------------------------------------------------------------------------------------------------

_HEAD = (
    f"{'':26}{'jobs':>6}{'starts':>8}{'found':>18}{'wrong a job':>19}{'minutes':>19}{'95 %':>6}"
    f"{'overhead':>19}{'95 %':>6}"
)


def table(result: Result) -> str:
    """The study as text: every policy, the tool by number of faults and by kind, the comparisons and the bars."""
    lines = [_HEAD, *(_line(name, x) for name, x in result.policies.items())]
    lines += ["", f"by the number of hidden conditions, {TOOL} first"]
    lines += _groups(result.by_faults, result.others_by_faults, "{} hidden")
    lines += ["", f"by kind of engine, {TOOL} first", *_groups(result.by_kind, result.others_by_kind, "{}")]
    if result.against:
        lines += ["", "The others on the same engines; more overhead is worse, and so are more wrong calls:"]
        lines += [_against(c) for c in result.against]
    if result.sound is not None:
        lines += ["", _sound_line(result.sound)]
    lines.append(f"Cranks without a permit: {result.cranks_unpermitted} in {result.jobs} jobs.")
    lines.append(_cpu_line(result.cpu))
    return "\n".join(lines)


def _cpu_line(cpu: Cpu) -> str:
    path = max(cpu.whole - cpu.virtual - cpu.advice, 1e-9)
    return (
        f"Processor: {cpu.whole * 1000:.0f} ms a job, {1 / max(cpu.whole, 1e-9):.1f} jobs a second and core; of it "
        f"{path * 1000:.0f} ms to decide, fold, keep and prompt ({1 / path:.1f} jobs a second and core), "
        f"{cpu.advice * 1000:.0f} ms for the diagnosis, {cpu.virtual * 1000:.0f} ms for the virtual engine and person."
    )


def _groups(ours: Mapping[str, Figures], others: Mapping[str, Mapping[str, Figures]], head: str) -> list[str]:
    lines = []
    for name in dict.fromkeys((*ours, *others)):
        lines += [_line(head.format(name), ours[name])] if name in ours else [head.format(name)]
        lines += [_line(f"  {policy}", x) for policy, x in others.get(name, {}).items()]
    return lines


def _line(name: str, x: Figures) -> str:
    found = f"{x.found:.0%} ({x.found_between[0]:.0%}-{x.found_between[1]:.0%})"
    wrong = f"{x.wrong:.2f} ({x.wrong_between[0]:.2f}-{x.wrong_between[1]:.2f})"
    whole = f"{x.minutes:.0f} ({x.minutes_between[0]:.0f}-{x.minutes_between[1]:.0f})"
    spent = f"{x.overhead:.0f} ({x.overhead_between[0]:.0f}-{x.overhead_between[1]:.0f})"
    return (
        f"{name:26}{x.jobs:>6}{x.started:>8.0%}{found:>18}{wrong:>19}{whole:>19}{x.minutes_95:>6.0f}"
        f"{spent:>19}{x.overhead_95:>6.0f}"
    )


def _against(c: Compared) -> str:
    word = "ahead" if c.ahead else "not shown to be ahead"
    more = "more" if c.more_wrong else "fewer" if c.wrong_between[0] > 0 else "as many"
    share = f"{c.ratio:.2f} of it ({c.ratio_between[0]:.2f} to {c.ratio_between[1]:.2f})"
    return (
        f"  {c.policy}: overhead {_signed(c.overhead, c.overhead_between, 1)} minutes, firststart takes {share}:"
        f" firststart {word};\n"
        f"    wrong calls {_signed(c.wrong, c.wrong_between, 2)} a job: firststart has {more};"
        f" engines that firststart starts more: {c.started:+.1%};\n"
        f"    on the {c.both} engines that both start: overhead {_signed(c.both_overhead, c.both_between, 1)} minutes"
    )


def _signed(value: float, between: Pair, places: int) -> str:
    low, high = between
    return f"{value:+.{places}f} ({low:+.{places}f} to {high:+.{places}f})"


def _sound_line(sound: Sound) -> str:
    low, high = sound.between
    word = "kept" if sound.kept else "not shown to be kept"
    return (
        f"Sound engines with something condemned, led by a patient person: {sound.condemned} of {sound.jobs}, "
        f"{sound.share:.1%} ({low:.1%} to {high:.1%}); stated rate at most {CONDEMNED_RATE:.0%}: {word}."
    )
