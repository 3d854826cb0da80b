"""The arguments of each command; kept apart from the commands so that --help stays quick."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path


def add_bench(parser: argparse.ArgumentParser) -> None:
    """The options of the bench itself."""
    parser.add_argument("--job", metavar="NAME", help="open this job, or make it when there is none of that name")
    parser.add_argument("--engine", metavar="NAME", help="the engine's name for a new job; its jobs share one starter")
    parser.add_argument("--no-voice", action="store_true", help="do not speak")
    parser.add_argument("--no-ears", action="store_true", help="do not listen")
    parser.add_argument(
        "--plain", action="store_true", help="plain lines only: for a screen reader or a simple terminal"
    )
    parser.add_argument("--pedal", metavar="KEY", help="the key that a pedal or clicker sends, such as f9 or pagedown")
    add_sounding(parser)
    parser.add_argument("--say-to", type=Path, metavar="DIR", help="write what would be said as sound files instead")
    parser.add_argument("--language", metavar="CODE", help="the language spoken, such as de; none: the job's own")


def add_sounding(parser: argparse.ArgumentParser) -> None:
    """The options of mouth and ears, the same for the bench and for `firststart voice`."""
    parser.add_argument("--speed", type=int, metavar="WPM", help="speed of the voice in words a minute, 80 to 450")
    parser.add_argument("--voice", metavar="NAME", help="the voice that speaks, such as en-gb or en-us+f2")
    parser.add_argument("--loudness", type=int, metavar="PERCENT", help="loudness of the voice, 0 to 100")
    parser.add_argument("--loudspeaker", metavar="NAME", help="the loudspeaker: part of its name")
    parser.add_argument("--microphone", metavar="NAME", help="the microphone: part of its name")


def _rehearse(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("scenario", nargs="*", help="names of scenarios, or files; none: the first two")
    parser.add_argument("--pace", type=float, metavar="FACTOR", help="watch it live: 60 plays a minute in a second")
    parser.add_argument("--quiet", action="store_true", help="the closing summary alone")
    parser.add_argument("--seed", type=int, default=1, help="the seed of readings and of the person")
    parser.add_argument("--list", action="store_true", help="list the scenarios")
    parser.add_argument(
        "--report", metavar="PATH", type=Path,
        help="write reports: a folder for the page of each scenario, or a file (.html, .txt, .json, .csv) for the last",
    )  # fmt: skip
    parser.add_argument("--language", metavar="CODE", help="show the transcript in this language, such as de")
    parser.add_argument("--teach", action="store_true", help="a lesson: you are at the bench, and something is hidden")
    parser.add_argument("--pupil", default="pupil", metavar="NAME", help="with --teach: whose lesson it is")
    parser.add_argument("--sheet", action="store_true", help="with --teach: the teacher's page, with the answer")
    parser.add_argument(
        "--plain", action="store_true", default=argparse.SUPPRESS, help="with --teach: plain lines only"
    )
    parser.add_argument("--many", type=int, metavar="N", help="play N random engines and print the table of the study")
    parser.add_argument("--against", action="store_true", help="with --many: beside plain lists of checks")
    parser.add_argument("--study", type=Path, metavar="FILE", help="with --many: where its rows are kept")
    parser.add_argument("--json", action="store_true", help="with --many or --compare-book: as JSON")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="with --many: draw the figures, as SVG")
    parser.add_argument(
        "--compare-book", type=int, metavar="N",
        help="list where physics and the book of suspects differ, by N engines of each suspect",
    )


def _verify(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="*", type=Path, help="procedure files to check with the rest; none: all")
    parser.add_argument("--format", choices=("text", "json"), default="text")
    parser.add_argument("--matrix", action="store_true", help="print the work of each stage for each sort of engine")
    parser.add_argument("--book", action="store_true", help="print how well the book of faults sees and tells apart")
    parser.add_argument("--wording", action="store_true", help="print word counts and reading grades of all prompts")
    parser.add_argument("--language", metavar="CODE", help="check a language: what is left out, lost or too long")
    parser.add_argument("--template", action="store_true", help="with --language: print its catalogue anew")


def _job(parser: argparse.ArgumentParser, *formats: str) -> None:
    parser.add_argument("job", nargs="?", help="the job; none: the newest")
    parser.add_argument("--format", choices=formats, default=formats[0])


def _next(parser: argparse.ArgumentParser) -> None:
    _job(parser, "text", "json")
    form = parser.add_mutually_exclusive_group()
    form.add_argument(
        "--tree", nargs="?", type=int, const=4, metavar="DEPTH", help="the elimination as a tree to print, 1 to 8 deep"
    )
    form.add_argument("--checks", action="store_true", help="the suspects before and after each check")


def _jobs(parser: argparse.ArgumentParser) -> None:
    one = parser.add_mutually_exclusive_group()
    one.add_argument(
        "--export", nargs="?", const="", metavar="JOB", help="write a job with its photos and sounds as one file"
    )
    one.add_argument(
        "--import", dest="bring", type=Path, metavar="FILE", help="take a job in, from such a file or from report JSON"
    )
    parser.add_argument("--as", dest="as_name", metavar="NAME", help="with --import: call the job so")
    parser.add_argument("--output", "-o", type=Path, metavar="FILE", help="with --export: the file; none: JOB.zip here")
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _note(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", nargs="*", help="what to keep, in words")
    parser.add_argument("--job", metavar="NAME", help="the job; none: the newest")
    parser.add_argument("--photo", type=Path, action="append", metavar="FILE", help="a photo: JPEG, PNG or WebP")
    parser.add_argument("--sound", type=Path, action="append", metavar="FILE", help="a sound: WAV or AIFF of 16 bits")


def _compare(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("jobs", nargs="*", metavar="JOB", help="the earlier and the later job; none: the newest two")
    parser.add_argument("--tests", nargs=2, type=int, metavar="RUN", help="two tests of one job, by their numbers")
    parser.add_argument("--list", action="store_true", help="list the tests of a job with their numbers")
    parser.add_argument("--format", choices=("text", "json", "schema"), default="text")


def _report(parser: argparse.ArgumentParser) -> None:
    _job(parser, "html", "text", "json", "csv", "schema")
    parser.add_argument("--output", "-o", type=Path, metavar="FILE", help="where to write it; - for the screen")


def _copy(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", type=Path, help="the new file; nothing is overwritten")
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _salvage(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("file", nargs="?", type=Path, help="the new record; none: only tell what is missing")
    parser.add_argument("--from", dest="source", type=Path, metavar="FILE", help="the damaged record; none: your own")
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _reckon(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("subject", nargs="?", help="what to reckon")
    parser.add_argument("values", nargs="*", metavar="name=value", help="inputs with their units, such as ratio=9:1")
    parser.add_argument("--sound", type=Path, metavar="FILE", help="cranking: the recording, a WAV file of 16 bits")
    parser.add_argument("--list", action="store_true", help="every subject with its formula and source")
    parser.add_argument("--format", choices=("text", "json"), default="text")


def _draw(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("procedure", help="the procedure's id")
    parser.add_argument("--format", choices=("svg", "scxml"), default="svg")
    parser.add_argument("--cylinders", type=int, default=2, help="for how many cylinders")
    parser.add_argument("--output", "-o", type=Path, metavar="FILE", help="where to write it; none: the screen")


def _voice(parser: argparse.ArgumentParser) -> None:
    add_sounding(parser)
    parser.add_argument("--say-to", type=Path, metavar="DIR", help="write the trial as sound files")
    parser.add_argument("--language", metavar="CODE", help="the language the voice speaks, such as de")


def _trouble(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("word", nargs="?", help="what goes wrong, such as sound or unit; none: the whole page")


ADD: dict[str, Callable[[argparse.ArgumentParser], None]] = {
    "rehearse": _rehearse,
    "verify": _verify,
    "jobs": _jobs,
    "tools": lambda parser: _job(parser, "text", "json"),
    "next": _next,
    "report": _report,
    "note": _note,
    "compare": _compare,
    "copy": _copy,
    "salvage": _salvage,
    "reckon": _reckon,
    "draw": _draw,
    "trouble": _trouble,
    "voice": _voice,
}
