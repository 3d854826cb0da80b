"""The manual page, made from the same parser as `--help` and from the page "when it goes wrong"."""

from __future__ import annotations

import argparse
from collections.abc import Iterable

from firststart import __version__
from firststart.cli.trouble import TROUBLES

_FILES = (
    ("HOME/record.db", "every job and every answer; HOME is what --home or FIRSTSTART_HOME names, else your platform's "
     "folder for data"),
    ("HOME/procedures/", "procedures, hazards and languages of your own"),
    ("HOME/settings.json", "what firststart voice has learnt"),
)  # fmt: skip
_ENVIRONMENT = (
    ("FIRSTSTART_HOME", "where the records lie, when --home is not given"),
    ("FIRSTSTART_CACHE", "where things lie that can be worked out again, when not in the platform's folder for them"),
    ("NO_COLOR", "when set, no colour is used"),
)  # fmt: skip
_STATUS = (
    ("0", "done"), ("1", "problems were found, or a device does not work"), ("2", "a mistake, told in one sentence"),
)  # fmt: skip


class PrintCompletion(argparse.Action):
    """`--print-completion SHELL`: print the script and leave."""

    def __call__(self, parser: argparse.ArgumentParser, _space: object, shell: object, _name: object = None) -> None:
        import shtab  # slow to fetch, and wanted once in the life of an installation

        if shell not in shtab.SUPPORTED_SHELLS:
            parser.error(f"there is no completion for {shell!r}; name one of {', '.join(shtab.SUPPORTED_SHELLS)}")
        print(shtab.complete(parser, str(shell)))
        parser.exit()


class PrintManual(argparse.Action):
    """`--print-manual`: print the page and leave."""

    def __call__(self, parser: argparse.ArgumentParser, *_others: object) -> None:
        print(manual(parser))
        parser.exit()


def manual(parser: argparse.ArgumentParser) -> str:
    """The page in the language of man(7): show it with `man -l FILE`."""
    lines = [f'.TH FIRSTSTART 1 "" "firststart {__version__}"']
    lines += [".SH NAME", "firststart \\- guided, hands-free first start of an engine that has stood"]
    lines += [".SH SYNOPSIS", *_usage(parser), ".SH DESCRIPTION", _text(parser.description or "")]
    lines += [".SH OPTIONS", *_arguments(parser), _text(parser.epilog or "")]
    lines += [".SH COMMANDS"]
    for name, child in _children(parser):
        lines += [f".SS firststart {_text(name)}", _text(child.description or ""), *_arguments(child)]
        lines += [".PP", _text(child.epilog or "")]
    lines += [".SH FILES", *_list(_FILES), ".SH ENVIRONMENT", *_list(_ENVIRONMENT), ".SH EXIT STATUS", *_list(_STATUS)]
    lines += [".SH WHEN IT GOES WRONG", *_list((t.seen, t.do) for t in TROUBLES)]
    return "\n".join(line for line in lines if line)


def _children(parser: argparse.ArgumentParser) -> list[tuple[str, argparse.ArgumentParser]]:
    """The commands and their parsers."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            return list(action.choices.items())
    return []


def _usage(parser: argparse.ArgumentParser) -> Iterable[str]:
    yield _text(f"{parser.prog} [options]")
    for name, _ in _children(parser):
        yield f".br\n{_text(f'{parser.prog} {name} [options]')}"


def _arguments(parser: argparse.ArgumentParser) -> Iterable[str]:
    """Every option and argument with its help; those that are hidden, and the list of commands, are left out."""
    formatter = argparse.HelpFormatter(parser.prog)
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction) or action.help == argparse.SUPPRESS:
            continue
        shown = formatter._format_action_invocation(action)
        yield from _entry(shown, formatter._expand_help(action) if action.help else _choices(action))


def _choices(action: argparse.Action) -> str:
    return f"one of {', '.join(map(str, action.choices))}; {action.default} if not given" if action.choices else ""


def _list(entries: Iterable[tuple[str, str]]) -> Iterable[str]:
    for name, text in entries:
        yield from _entry(name.replace("`", ""), text.replace("`", ""))


def _entry(name: str, text: str) -> Iterable[str]:
    return (".TP", f".B {_text(name)}", _text(text) or "\\&")


def _text(text: str) -> str:
    """`text` so that roff shows it as it is."""
    plain = text.replace("\\", "\\e").replace("-", "\\-")
    return f"\\&{plain}" if plain[:1] in (".", "'") else plain
