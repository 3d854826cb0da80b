"""Strict YAML: text in, plain data and the line of every path out.

The parser is PyYAML's (libyaml where present). Resolution is ours and is YAML 1.2's core schema cut
down to what a person expects: only `true` and `false` are booleans, `null` and `~` are nothing, plain
decimal numbers are numbers, everything else is text (so `no`, `12:30` and `2026-01-02` stay words).
Refused: duplicate keys, anchors and aliases, tags, several documents, anything nested too deep.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import yaml

from firststart.errors import DataError, Problem

Path = tuple[str | int, ...]
_INT = re.compile(r"[-+]?[0-9]{1,15}", re.ASCII)
_FLOAT = re.compile(r"[-+]?[0-9]{1,15}(\.[0-9]{1,15})?([eE][-+]?[0-9]{1,2})?", re.ASCII)
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_DEPTH = 12
MAX_CHARS = 1_000_000


@dataclass
class Document:
    """Plain data with the place of every path in it."""

    file: str
    data: Any
    lines: dict[Path, int] = field(default_factory=dict)

    def line(self, path: Sequence[str | int]) -> int:
        """The line of `path`, or of its nearest ancestor that has one."""
        key = tuple(path)
        while key and key not in self.lines:
            key = key[:-1]
        return self.lines.get(key, 1)

    def problem(self, path: Sequence[str | int], message: str) -> Problem:
        """A problem at the line of `path`."""
        return Problem(self.file, self.line(path), message)


def read(text: str, file: str) -> Document:
    """Parse one YAML document. Raises DataError with every problem of the text."""
    if len(text) > MAX_CHARS:
        raise DataError([Problem(file, 1, f"the file is longer than {MAX_CHARS} characters; split it")])
    _refuse_hidden(text, file)
    try:
        loader = _LOADER(text)
        try:
            root = loader.get_single_node()
        finally:
            loader.dispose()
    except yaml.YAMLError as error:
        raise DataError([_syntax_problem(error, file)]) from None
    except RecursionError:
        raise DataError([Problem(file, 1, "the file is nested too deep; flatten it")]) from None
    document = Document(file, None)
    problems: list[Problem] = []
    document.data = _build(root, (), document, problems) if root is not None else {}
    if problems:
        raise DataError(problems)
    return document


def _refuse_hidden(text: str, file: str) -> None:
    """Anchors and aliases are refused before parsing: they can blow up a small file."""
    if "&" not in text and "*" not in text:
        return
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
                line = event.start_mark.line + 1 if event.start_mark else 1
                raise DataError([Problem(file, line, "anchors and aliases are not used here; write the value out")])
    except yaml.YAMLError as error:
        raise DataError([_syntax_problem(error, file)]) from None
    except RecursionError:
        raise DataError([Problem(file, 1, "the file is nested too deep; flatten it")]) from None


def _syntax_problem(error: yaml.YAMLError, file: str) -> Problem:
    mark = getattr(error, "problem_mark", None)
    what = getattr(error, "problem", None) or str(error)
    line = mark.line + 1 if mark is not None else 1
    return Problem(file, line, f"not YAML: {what}; mend the line")


def _build(node: Any, path: Path, document: Document, problems: list[Problem]) -> Any:
    line = node.start_mark.line + 1
    document.lines.setdefault(path, line)
    if len(path) > _DEPTH:
        problems.append(Problem(document.file, line, "nested too deep; flatten it"))
        return None
    if isinstance(node, yaml.MappingNode):
        return _build_mapping(node, path, document, problems)
    if isinstance(node, yaml.SequenceNode):
        return [_build(child, (*path, i), document, problems) for i, child in enumerate(node.value)]
    if node.tag not in _PLAIN_TAGS:
        problems.append(Problem(document.file, line, f"the tag {node.tag} is not used here; remove it"))
        return None
    return node.value if node.style else _scalar(node.value)


_PLAIN_TAGS = {f"tag:yaml.org,2002:{t}" for t in ("str", "int", "float", "bool", "null", "timestamp", "merge", "value")}


def _build_mapping(node: Any, path: Path, document: Document, problems: list[Problem]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key_node, value_node in node.value:
        line = key_node.start_mark.line + 1
        if not isinstance(key_node, yaml.ScalarNode):
            problems.append(Problem(document.file, line, "a key must be a plain word"))
            continue
        key = key_node.value
        if key in result:
            first = document.lines[(*path, key)]
            problems.append(
                Problem(document.file, line, f"the key {key!r} stands twice (first on line {first}); keep one")
            )
            continue
        document.lines[(*path, key)] = line
        result[key] = _build(value_node, (*path, key), document, problems)
    return result


def _scalar(text: str) -> Any:
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if _INT.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text):
        return float(text)
    return text
