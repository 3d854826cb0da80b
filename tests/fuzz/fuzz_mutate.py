"""Bytes as a source of choices, and samples changed by them: whole lines, words, letters, or nothing but the bytes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, TypeVar

T = TypeVar("T")
ODD = (
    "", "null", "~", "true", "no", "-1", "0", "0.0", "1e99", "999999999999999", "-0.000001", ".nan", "12,6", "12:30",
    "[]", "{}", "[[[[[[[[[[[[[[[[", "{a: {b: {c: {d: {e: 1}}}}}", "!!python/object/apply:os.system ['true']",
    "!!python/name:os.system", "&a [*a]", "*a", "<<: *a", "|", ">", "'", '"', "\\", "---", "...", "# ", "? ", "- ",
    "{amount:x}", "{cylinder}", "{0.__class__}", "{cylinder.__class__.__mro__}", "{{7*7}}", "${HOME}", "%s%n", "next",
    "each", "leave", "stop", "x" * 3000, "\u202e", "\x00", "\ufeff", "٣", "½", "𝟙", "0x10", "9" * 400, "1_000", "1 000",
    "__import__('os')", "../../../etc/passwd", "a b", ":", ": ", "\t", "psi", "kind", "car", "compression", "100",
)  # fmt: skip
NUMBERS = (0, -1, 1, 2, 10**6, 10**18, 10**400, 0.5, -0.0, 1e308, -1e308, 1e-320)


class Bytes:
    """Choices taken from bytes, one after the other; zeros when they are used up."""

    def __init__(self, data: bytes) -> None:
        self._data, self._at = data, 0

    def below(self, limit: int) -> int:
        """A whole number from 0 up to, and without, `limit`."""
        size = 1 if limit <= 256 else 3
        part = self._data[self._at : self._at + size]
        self._at += size
        return int.from_bytes(part, "big") % max(limit, 1)

    def pick(self, choices: Sequence[T]) -> T:
        return choices[self.below(len(choices))]

    def take(self, most: int) -> bytes:
        """Up to `most` bytes as they are."""
        length = self.below(most + 1)
        part = self._data[self._at : self._at + length]
        self._at += length
        return part

    def text(self, most: int) -> str:
        return self.take(most).decode("utf-8", "replace") if self.below(2) else self.pick(ODD)[:most]


def changed_text(source: Bytes, samples: Sequence[str]) -> str:
    """One of the samples with a few changes; now and then the bytes alone."""
    if source.below(12) == 0:
        return source.take(250).decode("utf-8", "replace")
    lines = source.pick(samples).splitlines()
    for _ in range(1 + source.below(4)):
        at = source.below(len(lines)) if lines else 0
        _change_line(source, lines, at)
    return "\n".join(lines) + "\n"


def _change_line(source: Bytes, lines: list[str], at: int) -> None:
    if not lines:
        lines.append(source.text(40))
        return
    line = lines[at]
    indent = line[: len(line) - len(line.lstrip())]
    match source.below(7):
        case 0:
            del lines[at]
        case 1:
            lines.insert(at, source.pick(lines))
        case 2:
            lines[at] = f"{line.partition(':')[0]}: {source.text(60)}"
        case 3:
            words = line.split(" ")
            words[source.below(len(words))] = source.text(40)
            lines[at] = " ".join(words)
        case 4:
            cut = source.below(len(line) + 1)
            lines[at] = line[:cut] + source.text(20) + line[cut:]
        case 5:
            lines[at] = f"{indent}{source.pick(ODD)}: {source.pick(ODD)}"
        case _:
            lines[at] = " " * source.below(8) + line.lstrip()


def changed_json(source: Bytes, sample: str) -> str:
    """The sample with values, names or letters changed."""
    if source.below(10) == 0:
        text = bytearray(sample.encode())
        return changed_bytes(source, bytes(text)).decode("utf-8", "replace")
    tree = json.loads(sample)
    for _ in range(1 + source.below(3)):
        _change_tree(source, tree)
    return json.dumps(tree)


def _change_tree(source: Bytes, tree: Any) -> None:
    """Walk down to some place, and put something else there."""
    node = tree
    for _ in range(12):
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        if not keys:
            return
        key = source.pick(keys)
        child = node[key]
        if isinstance(child, dict | list) and child and source.below(5):
            node = child
            continue
        match source.below(5):
            case 0:
                node[key] = source.pick(NUMBERS)
            case 1:
                node[key] = source.text(40)
            case 2:
                node[key] = source.pick((None, True, [], {}, [[]], "2026-05-02T09:00:00Z", "0001-01-01T00:00:00+14:00"))
            case 3 if isinstance(node, dict):
                node[source.text(20)] = node.pop(key)
            case _:
                del node[key]
        return


def changed_bytes(source: Bytes, sample: bytes) -> bytes:
    """The sample with bytes flipped, cut or put in."""
    data = bytearray(sample)
    for _ in range(source.below(6)):
        at = source.below(len(data) + 1)
        match source.below(4):
            case 0:
                data[at : at + 1] = bytes([source.below(256)])
            case 1:
                del data[at : at + source.below(5000)]
            case 2:
                data[at:at] = source.take(200)
            case _:
                data[at : at + 4] = source.pick((b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff", b"\x00\x00\x10\x00"))
    return bytes(data)
