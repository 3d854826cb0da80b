"""Small words shared by prompts: spans of time, the phrases for "done" and "cannot measure"."""

from __future__ import annotations

DONE_PHRASES = ("done", "next", "ready", "next step", "ok", "okay", "yes")
CANNOT = ("cannot measure", "no gauge", "can't measure", "cannot read it", "unknown", "don't know")


def duration(seconds: float) -> str:
    """A span of time as people say it, rounded up so that nobody comes too early."""
    whole = int(-(-seconds // 1))
    if whole < 60:
        return _count(whole, "second")
    minutes, rest = divmod(whole, 60)
    if whole < 600 and rest:
        return f"{_count(minutes, 'minute')} {_count(rest, 'second')}"
    minutes += 1 if rest else 0
    if minutes < 120:
        return _count(minutes, "minute")
    hours, rest = divmod(minutes, 60)
    if hours < 48:
        return _count(hours, "hour") + (f" {_count(rest, 'minute')}" if rest else "")
    return _count(-(-hours // 24), "day")


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
