"""`firststart rehearse --many N`: the closed-loop study over random engines, on all cores, resumable."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from firststart.bench.shop import book_of
from firststart.cli.common import load_rules
from firststart.errors import InputError, RecordReadOnly
from firststart.procedure.catalogue import data_folder
from firststart.rehearsal.belief import network_of
from firststart.rehearsal.disagree import disagreements
from firststart.rehearsal.draw import draw
from firststart.rehearsal.kit import load_kit
from firststart.rehearsal.many import POLICIES, Plan, study
from firststart.rehearsal.optimum import Ratio, cut, ratios
from firststart.rehearsal.study import Row
from firststart.rehearsal.studyplot import picture
from firststart.rehearsal.studytable import Result, reckon, table

CUTS = 60  # small cuts for which the optimum is reckoned
SOUND_OF = 5  # one sound engine for each so many


def run_study(arguments: argparse.Namespace, scenarios: Path) -> int:
    """Play, keep each row as it comes, and print the table; begun again it goes on where it was.

    1 when a starter turned without its permit: that must never be.
    """
    if arguments.many < 1:
        raise InputError(f"--many is {arguments.many}, but must be at least 1.")
    policies = POLICIES if arguments.against else POLICIES[:1]
    plan = Plan(arguments.many, arguments.seed, policies=policies, sound=-(-arguments.many // SOUND_OF))
    out = arguments.study or Path(f"study-{arguments.seed}-{arguments.many}.jsonl")
    rows = study(
        plan, data_folder("procedures"), scenarios, out, workers=os.cpu_count() or 1, on_row=_progress
    )  # fmt: skip
    if sys.stderr.isatty():
        print(file=sys.stderr)
    result = reckon(rows)
    best = _against_optimum(arguments, scenarios) if arguments.against else ()
    _tell(arguments, rows, result, best)
    if arguments.plot is not None:
        _write(arguments.plot, picture(result))
    return 1 if result.cranks_unpermitted else 0


def _against_optimum(arguments: argparse.Namespace, scenarios: Path) -> tuple[Ratio, ...]:
    """The ratio of every policy to the optimum, on small cuts around the study's first engines."""
    rules, kit = load_rules(arguments), load_kit(scenarios)
    book = book_of(rules.library)
    if book is None:
        return ()
    engines = range(arguments.seed, arguments.seed + min(CUTS, arguments.many))
    cases = [cut(network_of(rules, book, draw(n, kit.conditions)), n) for n in engines]
    found = [case for case in cases if case is not None]
    return ratios(found) if found else ()


def _tell(arguments: argparse.Namespace, rows: Sequence[Row], result: Result, best: Sequence[Ratio]) -> None:
    if arguments.json:
        told = {**result.data(), "optimum": [asdict(r) for r in best], "rows": [asdict(r) for r in rows]}
        print(json.dumps(told, indent=1))
        return
    print(table(result))
    if best:
        print(f"\nCost over the exact optimum (dynamic programming), {best[0].cuts} small cuts of the book:")
        for r in best:
            print(f"  {r.policy}: {r.ratio:.3f} ({r.between[0]:.3f} to {r.between[1]:.3f})")
    print(f"\nrows: {arguments.study or f'study-{arguments.seed}-{arguments.many}.jsonl'}")


def _progress(done: int, whole: int, _row: Row) -> None:
    """A bar on a terminal; nothing when the error stream is a file."""
    if sys.stderr.isatty():
        width = 40
        filled = width * done // max(whole, 1)
        print(f"\r[{'#' * filled}{'.' * (width - filled)}] {done} of {whole}", end="", file=sys.stderr, flush=True)


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise RecordReadOnly(f"{path} cannot be written ({error.strerror}); choose another place.") from error


def run_compare(arguments: argparse.Namespace, scenarios: Path) -> int:
    """Where the virtual engine's physics and the book's numbers differ by more than chance."""
    if arguments.compare_book < 5:
        raise InputError(f"--compare-book is {arguments.compare_book}, but needs at least 5 engines of each suspect.")
    rules, kit = load_rules(arguments), load_kit(scenarios)
    book = book_of(rules.library)
    found = disagreements(rules, book, kit, arguments.compare_book, arguments.seed) if book is not None else ()
    if arguments.json:
        print(json.dumps([asdict(d) for d in found], indent=1))
        return 0
    for one in found:
        print(one.line())
    missing = [s for s in (book.suspects if book is not None else ()) if not kit.repairs.get(s)]
    print(f"{len(found)} rows differ; suspects that the virtual engine cannot have: {', '.join(missing) or 'none'}.")
    return 0
