"""Figures of the diagnosis in one run: equality, time ratios, policy, the small optimum, latency, wrong numbers.

    python tests/diagnosis/bench_diagnosis.py [--engines N] [--part PART]

Every line that has a bar says whether it was met; the exit status is 1 when one was not. The policy figures take half
an hour on two cores, as minutes have a heavy tail and few engines tell little: `--engines 240` for a quick look.
"""

from __future__ import annotations

import argparse
import multiprocessing as mp
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from diagnosis_cuts import cut, optimum, policy_cost
from diagnosis_engines import AT, PROFILES, Played, advised, assisted_list, lists, play_many, printed_list, shipped
from diagnosis_libraries import agrum_marginals, agrum_network, faults_of, layout, pgmpy_marginals, pgmpy_network
from diagnosis_oracles import counted, random_case

from firststart.diagnosis import Finding, NoStart, advise
from firststart.diagnosis.infer import solve
from firststart.diagnosis.network import NetRow, Network, Numbers, fit

LIMIT_S = 60.0
"""A library that needs longer than this is stopped, and its ratio is a lower bound."""
KINDS = ("motorcycle", "car", "mower", "injected car", "outboard", "diesel tractor")
OURS, SEED, BLOCK = "the tool", 501, 20  # engines are drawn by blocks, each with a seed of its own from SEED on


@dataclass
class Sheet:
    """The lines of the report, and whether a bar was missed."""

    missed: int = 0

    def line(self, name: str, figure: str, bar: str = "", met: bool = True) -> None:
        self.missed += not met
        verdict = f"   bar {bar}: {'met' if met else 'MISSED'}" if bar else ""
        print(f"  {name:<58} {figure}{verdict}", flush=True)


def plain_case(seed: int, **sizes: tuple[int, int]):
    """A random case of one state: what the libraries can be given as it is."""
    net, found, _ = random_case(np.random.default_rng(seed), **sizes)
    kept = [f for f in found if f.until is None and not (f.row is None and f.outcome == "ok")]
    return net, [f for n, f in enumerate(kept) if f.row not in {g.row for g in kept[:n]}]


def equality(sheet: Sheet, count: int) -> None:
    """The largest difference of any chance on random networks."""
    print(f"\nEquality, {count} random networks of 5-10 faults and 4-9 checks")
    worst = {"pyAgrum": 0.0, "pgmpy": 0.0}
    for seed in range(count):
        net, found = plain_case(seed)
        nodes, hard, soft = layout(net, found)
        theirs = agrum_marginals(agrum_network(nodes), hard, soft, faults_of(net))
        worst["pyAgrum"] = max(worst["pyAgrum"], gap(theirs, net, found))
        theirs = pgmpy_marginals(pgmpy_network(nodes, soft), hard, soft, faults_of(net))
        worst["pgmpy"] = max(worst["pgmpy"], gap(theirs, net, found))
    for name, value in worst.items():
        sheet.line(f"largest difference from {name}", f"{value:.1e}", "1e-9", value < 1e-9)


def gap(theirs, net: Numbers, found) -> float:
    return float(np.abs(theirs - solve(net, found).chances.before).max())


def shipped_case(name: str, bad: int):
    """The shipped book for one engine with so many bad rows, fifteen good ones and a no-start."""
    net = fit(shipped(), PROFILES[name], 12, "damp").numbers
    rows = [r for r in net.rows if net.rows[r].causes]
    np.random.default_rng(1).shuffle(rows)
    found = [counted(r, "bad" if k < bad else "ok") for k, r in enumerate(rows[:bad + 15])]
    return net, [*found, counted(None, "bad")]


def best_of(work: Callable[[], object], times: int) -> float:
    took = []
    for _ in range(times):
        began = time.perf_counter()
        work()
        took.append(time.perf_counter() - began)
    return min(took)


def library_seconds(library: str, name: str, bad: int, sender) -> None:
    """In a process of its own: seconds for all chances, by one library. pgmpy answers a few, and they are scaled."""
    net, found = shipped_case(name, bad)
    nodes, hard, soft = layout(net, found)
    if library == "pyAgrum":
        network = agrum_network(nodes)
        theirs = agrum_marginals(network, hard, soft, faults_of(net))
        sender.send((best_of(lambda: agrum_marginals(network, hard, soft, faults_of(net)), 3), gap(theirs, net, found)))
        return
    model, asked = pgmpy_network(nodes, soft), faults_of(net)[:2]
    began = time.perf_counter()
    theirs = pgmpy_marginals(model, hard, soft, asked)
    took = (time.perf_counter() - began) * len(net.prior) / len(asked)
    ours = np.array(solve(net, found).chances.before[:2])
    sender.send((took, float(np.abs(theirs - ours).max())))


def timed(library: str, name: str, bad: int) -> tuple[float, float | None]:
    """(seconds, difference); the limit and None when the library was not ready in time, or died of want of memory."""
    receiver, sender = mp.Pipe(duplex=False)
    process = mp.get_context("spawn").Process(target=library_seconds, args=(library, name, bad, sender))
    process.start()
    sender.close()
    try:
        if receiver.poll(LIMIT_S):
            return receiver.recv()
    except EOFError:
        pass
    finally:
        process.kill()
        process.join()
    return LIMIT_S, None


def time_ratios(sheet: Sheet, cases: tuple[tuple[str, int], ...]) -> None:
    """All chances of the shipped book: ours against the two libraries."""
    print("\nTime for all chances on the shipped book (bad rows, 15 good ones and a no-start)")
    for name, bad in cases:
        net, found = shipped_case(name, bad)
        ours = best_of(lambda n=net, f=found: solve(n, f).chances, 20)
        sheet.line(f"{name}, {bad} bad: here", f"{1000 * ours:.2f} ms")
        ratios = []
        for library in ("pyAgrum", "pgmpy"):
            took, difference = timed(library, name, bad)
            ratios.append(took / ours)
            least = "at least " if difference is None else ""
            told = "stopped" if difference is None else f"difference {difference:.0e}"
            sheet.line(f"  {library} ({told})", f"{least}{took / ours:,.0f} times as long")
        sheet.line("  the faster / the slower", f"{min(ratios):,.0f} / {max(ratios):,.0f}", "5 / 100",
                   min(ratios) >= 5 and max(ratios) >= 100)


def mean_overhead(some: list[Played]) -> float:
    return statistics.fmean(p.overhead for p in some)


LISTS = {"": printed_list, "assisted ": assisted_list}
"""Ways to work a list: as a printed one (the bar is against the best of these), and with the tool's other rules."""


def played(task: tuple[str, str, str, tuple[int, ...], int]) -> list[Played]:
    """The engines of one kind, worked by the tool or by one list."""
    kind, way, name, counts, share = task
    network = fit(shipped(), PROFILES[kind], 12, "damp")
    pick = advised if name == OURS else LISTS[way](lists(network)[name])
    some: list[Played] = []
    for start in range(0, share, BLOCK):
        some += play_many(network, pick, counts, min(BLOCK, share - start), seed=SEED + start // BLOCK)
    return some


def policy_figures(sheet: Sheet, engines: int, title: str, counts: tuple[int, ...]) -> None:
    """Minutes beyond the mending of what was broken, against lists that share everything but the order.

    The bar is against the best printed list. Below it stand, without a bar, the same orders with the tool's own
    thresholds and early fixes ("assisted"): what is left then is the order of the checks alone.
    """
    print(f"\nPolicy, {engines} engines with {title}, {len(KINDS)} kinds in turn, 12 years damp")
    share, names = max(1, engines // len(KINDS)), list(lists(fit(shipped(), PROFILES["car"], 12, "damp")))
    who = [("", OURS), *((way, name) for way in LISTS for name in names)]
    tasks = [(kind, way, name, counts, share) for way, name in who for kind in KINDS]
    found: dict[str, list[Played]] = {}
    with mp.get_context("spawn").Pool(2) as pool:
        for (_, way, name, *_), some in zip(tasks, pool.map(played, tasks, chunksize=1), strict=True):
            found.setdefault(way + name, []).extend(some)
    for name, some in found.items():
        told = f"{mean_overhead(some):.1f}, wrong repairs {_wrong(some):.2f}, specialists {_asked(some):.2f}"
        sheet.line("overhead minutes of the tool" if name == OURS else f"  {name}", told)
    for way in LISTS:
        best = min((way + name for name in names), key=lambda n: mean_overhead(found[n]))
        ratio, error = ratio_of(found[OURS], found[best])  # of a heavy tail: at 60 engines the error is above 0.1
        bar = ("0.72", ratio <= 0.72) if way == "" else ()
        sheet.line(f"of the best {way or 'printed '}list ({best})", f"{ratio:.2f} +- {error:.2f}", *bar)


def ratio_of(ours: list[Played], theirs: list[Played]) -> tuple[float, float]:
    """Our mean overhead as a part of theirs on the same engines, and its standard error."""
    base = mean_overhead(theirs)
    ratio = mean_overhead(ours) / base
    spread = statistics.stdev([a.overhead - ratio * b.overhead for a, b in zip(ours, theirs, strict=True)])
    return ratio, spread / len(ours) ** 0.5 / base


def _wrong(some: list[Played]) -> float:
    return statistics.fmean(p.wrong_fixes for p in some)


def _asked(some: list[Played]) -> float:
    return statistics.fmean(p.specialists for p in some)


def small_cuts(sheet: Sheet, count: int) -> None:
    """Exact expected cost of the shipped order of checks on small cuts, as a part of the exact optimum's."""
    print(f"\nSmall cuts of the book against the exact optimum, {count} each")
    for kind in ("car", "mower", "diesel tractor"):
        network = fit(shipped(), PROFILES[kind], 12, "damp")
        for faults in (1, 2):
            cases = [cut(network, suspects=7, checks=6, faults=faults, seed=seed) for seed in range(count)]
            ratio = sum(policy_cost(c) for c in cases) / sum(optimum(c) for c in cases)
            sheet.line(f"{kind}, up to {faults} fault(s)", f"{ratio:.3f}", "1.05", ratio <= 1.05)


def many_findings(name: str, bad: int):
    """Evidence with so many bad rows, twenty good ones and a no-start, in the order of the book."""
    network = fit(shipped(), PROFILES[name], 12, "damp")
    rows = [r.id for c in network.checks if not c.first for r in c.rows[:1] if network.numbers.rows[r.id].causes]
    np.random.default_rng(2).shuffle(rows)
    evidence = [NoStart(1, AT), Finding("cranking.nothing", "ok", AT, 2)]
    evidence += [Finding(r, "bad" if k < bad else "ok", AT, 3 + k) for k, r in enumerate(rows[:bad + 20])]
    return evidence


def latency(sheet: Sheet) -> None:
    """Advice with its sentence and its long form, in processor time, so that no neighbour counts."""
    print("\nAdvice at ten bad findings, twenty good ones and a no-start (processor time)")
    book = shipped()
    for name in ("motorcycle", "car", "diesel tractor"):
        evidence = many_findings(name, 10)
        advise(book, PROFILES[name], 12, "damp", evidence)
        took = []
        for _ in range(15):
            began = time.process_time()
            advise(book, PROFILES[name], 12, "damp", evidence)
            took.append(time.process_time() - began)
        middle = statistics.median(took)
        sheet.line(f"{name}: median, worst of 15", f"{1000 * middle:.0f} ms, {1000 * max(took):.0f} ms", "50 ms",
                   middle <= 0.05)


def perturbed(network: Network, spread: float, seed: int) -> Network:
    """The network with noise on the log-odds of every prior, every q and every leak."""
    rng = np.random.default_rng(seed)

    def shake(p: float) -> float:
        if p in (0.0, 1.0):
            return p
        return float(1.0 / (1.0 + (1.0 - p) / p * np.exp(-rng.normal(0.0, spread))))

    numbers = network.numbers
    rows = {
        name: NetRow(shake(row.leak), tuple((i, shake(q)) for i, q in row.causes)) for name, row in numbers.rows.items()
    }
    return replace(network, numbers=Numbers(tuple(map(shake, numbers.prior)), numbers.stops, rows))


def wrong_numbers(sheet: Sheet, engines: int) -> None:
    """The policy with a belief that is wrong everywhere, on engines drawn from the book as it is."""
    print(f"\nWrong numbers in the book: noise on all log-odds, {engines} engines with one to three faults")
    kinds = KINDS[:3]
    base: list[Played] = []
    for spread in (0.0, 0.5, 1.0):
        some: list[Played] = []
        for kind in kinds:
            network = fit(shipped(), PROFILES[kind], 12, "damp")
            belief = perturbed(network, spread, 11) if spread else network
            some += play_many(network, advised, (1, 2, 3), max(1, engines // len(kinds)), seed=7, belief=belief)
        base = base or some
        change = mean_overhead(some) / mean_overhead(base) - 1.0
        sheet.line(f"standard deviation {spread:.1f}", f"overhead {mean_overhead(some):.1f} min ({change:+.0%})")


PARTS: dict[str, Callable[[Sheet, int], None]] = {
    "equality": lambda sheet, _: equality(sheet, 200),
    "times": lambda sheet, _: time_ratios(sheet, (("motorcycle", 3), ("car", 5))),
    "cuts": lambda sheet, _: small_cuts(sheet, 40),
    "latency": lambda sheet, _: latency(sheet),
    "one-fault": lambda sheet, engines: policy_figures(sheet, engines, "one fault", (1,)),
    "several-faults": lambda sheet, engines: policy_figures(sheet, engines // 2, "two to three faults", (2, 3)),
    "wrong": lambda sheet, engines: wrong_numbers(sheet, min(engines, 120)),
}


def main() -> int:
    """Print all figures, or those of one part; 1 when a bar was missed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--engines", type=int, default=1200, help="engines of one fault, and half as many of several")
    parser.add_argument("--part", choices=PARTS, action="append", help="only this part; may be given again")
    sheet, arguments = Sheet(), parser.parse_args()
    for part in arguments.part or PARTS:
        PARTS[part](sheet, arguments.engines)
    print(f"\n{sheet.missed} bars missed")
    return 1 if sheet.missed else 0


if __name__ == "__main__":
    sys.exit(main())
