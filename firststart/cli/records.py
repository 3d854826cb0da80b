"""`firststart jobs`, `tools`, `next` and `report`: what the record says."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

from firststart.bench.advice import Adviser
from firststart.bench.desk import Desk, resume_job
from firststart.bench.gone import gone_evidence
from firststart.bench.shop import book_of
from firststart.bench.tools import Tools, tools_for
from firststart.cli.common import job_meant, job_shelf, load_rules, open_record, wall_clock
from firststart.job.holds import hold_states
from firststart.job.plan import plan
from firststart.job.rules import Rules
from firststart.journal.sqlite import SqliteJournal


def _desks(arguments: argparse.Namespace) -> Iterator[tuple[Rules, SqliteJournal, Desk]]:
    """The job that is meant, opened for reading; exactly one."""
    journal = open_record(arguments, write=False)
    try:
        rules = load_rules(arguments)
        yield rules, journal, resume_job(
            rules, journal, wall_clock(), job_meant(journal, arguments.job), job_shelf(arguments)
        )
    finally:
        journal.close()


def run_jobs(arguments: argparse.Namespace) -> int:
    """Each job: where it stands, what holds, what has gone stale, since when and because of what."""
    if arguments.export is not None or arguments.bring is not None:
        from firststart.cli.archives import run_export, run_import

        return run_import(arguments) if arguments.bring is not None else run_export(arguments)
    journal = open_record(arguments, write=False)
    try:
        rules = load_rules(arguments)
        told = [
            _standing(rules, resume_job(rules, journal, wall_clock(), line.job, job_shelf(arguments)), line.newest)
            for line in journal.jobs()
        ]
    finally:
        journal.close()
    if arguments.format == "json":
        print(json.dumps(told, indent=2))
        return 0
    for job in told:
        print(f"{_plain(job['job'])}: {_plain(job['stands'])}, last entry {job['newest']}")
        for hold in job["stale"]:
            since = f" since {hold['since']}" if hold["since"] else ""
            print(f"  stale: {hold['say']}{since}, because: {hold['because']}")
        for answer in job["stale answers"]:
            print(f"  counts no more: {answer['say']} since {answer['since']}, because: {answer['because']}")
        if job["holding"]:
            print(f"  holding: {', '.join(job['holding'])}")
    if not told:
        print("There is no job yet; open the bench with: firststart")
    return 0


def _standing(rules: Rules, desk: Desk, newest: datetime) -> dict[str, Any]:
    situation, now = desk.situation, desk.now
    words = rules.words(situation)
    holds = hold_states(rules.library.safety, situation, words, now)
    run = situation.run
    items = plan(rules.library, situation, words, now)
    if situation.closed:
        stands = "finished"
    elif run is not None:
        stands = f"in {rules.library.procedure(run.procedure).title}"
    else:
        stands = f"next is {items[0].title}" if items else "all planned work is done"
    return {
        "job": situation.job,
        "engine": situation.engine,
        "stands": stands,
        "newest": _day(newest),
        "entries": situation.count,
        "minutes left": sum(i.minutes for i in items),
        "holding": [h.say for h in holds if h.fresh],
        "stale": [
            {"say": h.say, "since": _day(h.since) if h.since else "", "because": _plain(h.because)}
            for h in holds
            if not h.fresh and h.name in situation.holds
        ],
        "stale answers": [
            {"say": g.say, "since": _day(g.since), "because": _plain(g.because)}
            for g in gone_evidence(rules.library, situation)
        ],
    }


def run_tools(arguments: argparse.Namespace) -> int:
    """Tools, supplies and gear for what is left, with amounts for this engine."""
    for rules, _journal, desk in _desks(arguments):
        next_work = Adviser(rules, book_of(rules.library)).leads_to(desk.situation)
        tools = tools_for(rules, desk.situation, desk.now, next_work)
        if arguments.format == "json":
            print(json.dumps(vars(tools), indent=2))
        else:
            _print_tools(desk.situation.job, tools)
    return 0


def _print_tools(job: str, tools: Tools) -> None:
    print(f"For what is left on {job}:")
    for title, items in (("tools", tools.tool), ("supplies", tools.supply), ("protective gear", tools.gear)):
        print(f"\n{title}")
        for item in items:
            print(f"  - {item}")


def run_next(arguments: argparse.Namespace) -> int:
    """What is ruled out, what is left, the next check and why."""
    from firststart.cli.elimination import show_next

    for rules, _journal, desk in _desks(arguments):
        show_next(rules, desk, arguments)
    return 0


def run_report(arguments: argparse.Namespace) -> int:
    """Write the report of a job; the path is printed."""
    from firststart.cli.noting import drawer_of
    from firststart.cli.reports import file_name, render, write_out

    for rules, journal, desk in _desks(arguments):
        text = render(rules, journal, desk, arguments.format, drawer_of(arguments).get)
        target = arguments.output
        if target is None and arguments.format != "html":
            target = Path("-")
        if target is None:
            target = Path(f"{file_name(desk.job)}.html")
        if str(target) == "-":
            sys.stdout.write(text)
        else:
            write_out(target, text)
            print(target)
    return 0


def _day(moment: datetime) -> str:
    return moment.astimezone().strftime("%d %b %Y %H:%M")


def _plain(text: str) -> str:
    """Words of a record without what a terminal would obey."""
    return "".join(c if c.isprintable() else " " for c in text)
