"""A thousand crashes: run with `python tests/journal/kill_harness.py`. Not collected as a test.

Each trial is a real process that leads somebody through real work on a real record, and that is killed, loses its
power or its disk. Then another process opens the record. Printed: for each kind of fault how often it was tried, and
how many acknowledged entries were lost, doubled, rests shortened, records damaged, and how often anything hung.
`--planted` puts a fault into the tool itself and shows that the trials find it.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path

from journal_trials import KINDS, Harness, Kind, Outcome, can_mount

from firststart.bench.shop import make_rules
from firststart.procedure.catalogue import data_folder, load_library

SHOWN = ("lost", "doubled", "shortened", "damaged", "hung", "untold")


def run(harness: Harness, kind: Kind, trials: int, first: int) -> list[Outcome]:
    return [harness.trial(kind, seed) for seed in range(first, first + trials)]


def line(name: str, outcomes: list[Outcome]) -> str:
    """One line of the table."""
    happened = sum(o.reached or o.failures > 0 for o in outcomes)
    figures = "".join(f"{sum(getattr(o, field) for o in outcomes):10,}" for field in SHOWN)
    return f"{name:<44}{len(outcomes):6,}{happened:10,}{sum(o.acknowledged for o in outcomes):10,}{figures}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=1000, help="how many in all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kind", help="only kinds whose name holds this")
    parser.add_argument("--planted", choices=("no sync", "no write"), default="")
    arguments = parser.parse_args()
    kinds = [k for k in KINDS if (arguments.kind or "") in k.name]
    began = time.monotonic()
    everything: list[Outcome] = []
    with tempfile.TemporaryDirectory() as folder:
        mountable = can_mount(Path(folder))
        harness = Harness(make_rules(load_library(data_folder("procedures"))), Path(folder), arguments.planted)
        harness.make_ready()
        head = "".join(f"{name:>10}" for name in SHOWN)
        print(f"{'kind of fault':<44}{'tried':>6}{'happened':>10}{'answers':>10}{head}")
        if not mountable:
            print("small file system full: not tried, since this user may not mount one")
            kinds = [k for k in kinds if k.small != "system"]
        for number, kind in enumerate(kinds):
            share = arguments.trials // len(kinds) + (number < arguments.trials % len(kinds))
            outcomes = run(harness, kind, share, arguments.seed)
            everything += outcomes
            print(line(kind.name, outcomes), flush=True)
    print(line("all", everything))
    print(f"{time.monotonic() - began:.0f} seconds; 'answers' are entries acknowledged in the trials")
    return 1 if any(getattr(o, field) for o in everything for field in SHOWN) else 0


if __name__ == "__main__":
    sys.exit(main())
