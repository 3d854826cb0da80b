"""The only place that joins rooms to the world: read input, decide, append, fold, present."""

from __future__ import annotations

import argparse
import contextlib
import errno
import gc
import os
import sys
from collections.abc import Callable, Sequence
from importlib import import_module
from pathlib import Path

from firststart import __version__
from firststart.cli.arguments import ADD, add_bench
from firststart.cli.manual import PrintCompletion, PrintManual
from firststart.errors import FirststartError

_COMMANDS: dict[str, tuple[str, str, str]] = {
    # name: (module, one line, example)
    "rehearse": (
        "rehearse",
        "play a scenario on a virtual engine, on a virtual clock",
        "firststart rehearse twin-eight-years; a lesson: firststart rehearse --teach --seed 7 --pupil Ada",
    ),
    "verify": ("verify", "check procedures and fault data: every problem, with file and line", "firststart verify"),
    "jobs": ("records", "the jobs, where each stands, what has gone stale", "firststart jobs"),
    "tools": ("records", "what to carry to the engine for what is left", "firststart tools"),
    "next": ("records", "what is ruled out, what is left, the next check and why", "firststart next"),
    "report": ("records", "write the report of a job", "firststart report --format text"),
    "note": (
        "note",
        "keep words, a photo or a sound with a job",
        "firststart note the left tank leaks --photo tank.jpg",
    ),
    "compare": ("compare", "what changed between two jobs or two tests on one engine", "firststart compare"),
    "copy": (
        "care",
        "copy the record, also while a bench is open, and check the copy",
        "firststart copy /media/stick/record.db",
    ),
    "salvage": (
        "care",
        "what can be read of a damaged record, in a new one, and what is missing",
        "firststart salvage saved.db",
    ),
    "reckon": ("reckon", "one calculation with its formula and source", "firststart reckon battery-rest voltage=12.4V"),
    "draw": ("draw", "a procedure's machine as a picture or as SCXML", "firststart draw place --format scxml"),
    "trouble": (
        "trouble",
        "what to do when it goes wrong: no sound, a locked record, a wrong unit",
        "firststart trouble unit",
    ),
    "voice": ("voice", "try mouth, ears and pedal, one at a time", "firststart voice"),
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line; the exit status: 0 done, 1 problems found, 2 a mistake told in one sentence."""
    try:
        arguments = _parsed(argv)
        status: int = arguments.run(arguments)
        sys.stdout.flush()
    except FirststartError as error:
        print(f"firststart: {_plain(str(error))}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        sys.stderr.close()
        return 0
    except OSError as error:
        return _of_the_system(error)
    except KeyboardInterrupt:
        print("firststart: stopped; everything answered so far is recorded.", file=sys.stderr)
        return 130
    return status


def _of_the_system(error: OSError) -> int:
    """A name that the system does not take; or what was printed has no room where it was sent."""
    if error.filename is not None:
        print(f"firststart: {str(error.filename)[:80]!r} cannot be used ({error.strerror}).", file=sys.stderr)
        return 2
    if error.errno not in (errno.ENOSPC, errno.EIO, getattr(errno, "EDQUOT", -1)):
        raise error
    reason = error.strerror or "no room"
    print(f"firststart: not all could be printed ({reason}); send it somewhere with room.", file=sys.stderr)
    with contextlib.suppress(OSError):
        sys.stdout.close()  # so that nobody tries again when the program ends
    return 2


def _plain(text: str) -> str:
    """An error's words, which may hold names from anywhere, without what a terminal would obey."""
    return "".join(c if c.isprintable() or c == "\n" else "?" for c in text)


def _parsed(argv: Sequence[str] | None) -> argparse.Namespace:
    """The arguments; `name=value` may stand on either side of an option, which argparse alone does not take."""
    parser = _parser()
    arguments, rest = parser.parse_known_args(argv)
    if rest and (not hasattr(arguments, "values") or any(word.startswith("-") for word in rest)):
        parser.error(f"unrecognized arguments: {' '.join(rest)}")
    if rest:
        arguments.values = [*arguments.values, *rest]
    return arguments


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="firststart",
        description="Guided, hands-free first start of an engine that has stood. Without a command: the bench.",
        epilog="Example: firststart    (the bench: a new job, or carry on). When it goes wrong: firststart trouble",
    )
    parser.add_argument(
        "--print-completion", action=PrintCompletion, metavar="SHELL", help="print a shell's completion script"
    )
    parser.add_argument("--print-manual", nargs=0, action=PrintManual, help="print the manual page, as in man -l")
    parser.add_argument("--version", action="version", version=f"firststart {__version__}")
    _shared(parser)
    add_bench(parser)
    parser.set_defaults(run=_lazy("bench", "run_bench"))
    commands = parser.add_subparsers(metavar="COMMAND", title="commands")
    for name, (module, line, example) in _COMMANDS.items():
        child = commands.add_parser(
            name, help=line, description=f"{line[0].upper()}{line[1:]}.", epilog=f"Example: {example}"
        )
        _shared(child, default=argparse.SUPPRESS)
        ADD[name](child)
        child.set_defaults(run=_lazy(module, f"run_{name}"))
    return parser


def _shared(parser: argparse.ArgumentParser, default: object = None) -> None:
    parser.add_argument("--home", type=Path, default=default, metavar="DIR", help="where the records lie")
    parser.add_argument(
        "--procedures", type=Path, default=default, metavar="DIR", help="a folder of your own that adds procedures"
    )


def _lazy(module: str, function: str) -> Callable[[argparse.Namespace], int]:
    """The command's function, its module imported only when the command runs."""

    def run(arguments: argparse.Namespace) -> int:
        os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"  # nobody else's code checks our data, nor is looked for
        gc.disable()  # all that is imported stays: the collector of garbage need not look at it
        command = getattr(import_module(f"firststart.cli.{module}"), function)
        gc.freeze()
        gc.enable()
        status: int = command(arguments)
        return status

    return run
