"""`firststart rehearse`: scenarios on a virtual engine, through the same code, on a virtual clock."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from firststart.bench.advice import Adviser
from firststart.bench.shop import book_of
from firststart.cli.common import load_rules
from firststart.cli.reports import report_of, write_out, written
from firststart.cli.tongue import load_language
from firststart.errors import UnknownName
from firststart.job.fold import fold_all
from firststart.job.rules import Rules
from firststart.procedure.catalogue import data_folder
from firststart.prompt.wording import duration
from firststart.rehearsal.kit import Kit, load_kit
from firststart.rehearsal.play import Event, Played, play
from firststart.rehearsal.scenario import Scenario, load_scenario, scenario_names
from firststart.rehearsal.verdict import missed

_FORMS = {".html": "html", ".txt": "text", ".json": "json", ".csv": "csv"}
FIRST = ("twin-eight-years", "twin-hidden-fault")


def run_rehearse(arguments: argparse.Namespace) -> int:
    """Play scenarios; 1 when one of them does not end as it says it must."""
    folder = data_folder("scenarios")
    if arguments.list:
        return _list(folder)
    if arguments.teach:
        from firststart.cli.teach import run_teach

        return run_teach(arguments, folder)
    if arguments.many is not None:
        from firststart.cli.study import run_study

        return run_study(arguments, folder)
    if arguments.compare_book is not None:
        from firststart.cli.study import run_compare

        return run_compare(arguments, folder)
    kit = load_kit(folder)
    rules = load_rules(arguments)
    adviser = Adviser(rules, book_of(rules.library))
    names = arguments.scenario or [n for n in FIRST if n in scenario_names(folder)]
    wrong = 0
    for name in names:
        scenario = _scenario(name, folder, kit)
        played = play(rules, scenario, kit, seed=arguments.seed, adviser=adviser, on_event=_teller(arguments))
        lacks = missed(scenario, played)
        wrong += bool(lacks)
        _close(scenario, played, lacks)
        if arguments.report is not None:
            print(f"  report: {_report(rules, played, arguments.report)}")
    return 1 if wrong else 0


def _report(rules: Rules, played: Played, target: Path) -> Path:
    """The page of a scenario in a folder, or its report in a file by the file's ending; where it was written."""
    form = _FORMS.get(target.suffix.lower())
    path = target if form else target / f"{played.scenario}.html"
    report = report_of(rules, played.facts, fold_all(played.facts), played.facts[-1].at)
    write_out(path, written(report, played.facts, form or "html"), folder=form is None)
    return path


def _list(folder: Path) -> int:
    kit = load_kit(folder)
    for name in scenario_names(folder):
        print(f"{name}: {_scenario(name, folder, kit).title}")
    return 0


def _scenario(name: str, folder: Path, kit: Kit) -> Scenario:
    """A scenario by name, or from a file of the user's. Raises UnknownName, DataError."""
    path = Path(name) if name.endswith(".yaml") else folder / f"{name}.yaml"
    if not path.is_file():
        known = ", ".join(scenario_names(folder))
        raise UnknownName(f"There is no scenario called {name!r}; there are: {known}.")
    return load_scenario(path, kit.conditions)


def _teller(arguments: argparse.Namespace) -> Callable[[Event], None] | None:
    """Prints each line as it happens, at the pace asked for; nothing when quiet."""
    if arguments.quiet:
        return None
    last = [0.0]

    language = load_language(arguments, arguments.language)

    def tell(event: Event) -> None:
        if arguments.pace:
            time.sleep(min(max(event.at - last[0], 0) / arguments.pace, 5))
        last[0] = event.at
        typed = event.text.startswith("[") and event.text.endswith("]")
        text = f"[{language.text(event.text[1:-1])}]" if typed else language.text(event.text)
        print(replace(event, text=text).line(), flush=bool(arguments.pace))

    return tell


def _close(scenario: Scenario, played: Played, lacks: Sequence[str]) -> None:
    """The closing summary."""
    ending = "It runs." if played.runs else f"It does not run ({played.ended})."
    print(f"\n{played.scenario}: {scenario.title}")
    print(f"  {ending} {duration(played.minutes * 60)} of work, {played.checks} checks answered.")
    hidden = ", ".join(played.left) or "none"
    print(f"  put right: {', '.join(played.found) or 'nothing was hidden'}; still hidden: {hidden}")
    print(f"  mended without need: {', '.join(played.wrong) or 'nothing'}")
    hottest = played.hottest - 273.15
    if scenario.given.profile.get("starting", "electric") in ("electric", "unknown"):
        print(f"  starter: {played.cranked:.0f} seconds in all, winding at most {hottest:.0f} degrees Celsius")
    else:
        print(f"  turned by hand: {played.cranked:.0f} seconds in all")
    print(f"  cautions spoken: {played.warnings}; refused until met: {', '.join(played.refused) or 'nothing'}")
    for lack in lacks:
        print(f"  NOT AS EXPECTED: {lack}", file=sys.stderr)
