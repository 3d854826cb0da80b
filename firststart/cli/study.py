"""`firststart rehearse --many N`: the closed-loop study over random engines, on all cores, resumable."""

from __future__ import annotations

import argparse
import json
import os
import sys
from dataclasses import asdict
from pathlib import Path

from firststart.procedure.catalogue import data_folder
from firststart.rehearsal.many import POLICIES, Plan, study
from firststart.rehearsal.study import Row, table


def run_study(arguments: argparse.Namespace, scenarios: Path) -> int:
    """Play, keep each row as it comes, and print the table; begun again it goes on where it was."""
    policies = POLICIES if arguments.against else POLICIES[:1]
    plan = Plan(arguments.many, first=arguments.seed, policies=policies)
    out = arguments.study or Path(f"study-{arguments.seed}-{arguments.many}.jsonl")
    rows = study(
        plan, data_folder("procedures"), scenarios, out, workers=os.cpu_count() or 1, on_row=_progress
    )  # fmt: skip
    if sys.stderr.isatty():
        print(file=sys.stderr)
    if arguments.json:
        print(json.dumps([asdict(r) for r in rows], indent=1))
    else:
        print(table(rows))
        print(f"rows: {out}")
    return 0


def _progress(done: int, whole: int, _row: Row) -> None:
    """A bar on a terminal; nothing when the error stream is a file."""
    if sys.stderr.isatty():
        width = 40
        filled = width * done // max(whole, 1)
        print(f"\r[{'#' * filled}{'.' * (width - filled)}] {done} of {whole}", end="", file=sys.stderr, flush=True)
