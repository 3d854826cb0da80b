"""Quick to the first prompt and to every one after it: nothing is made twice, and what is heavy is fetched ahead."""

from __future__ import annotations

import contextlib
import gc
import threading
from collections.abc import Iterator
from importlib import import_module

from firststart.job.rules import Rules

AHEAD_S = 0.5
"""Seconds after the first prompt when the fetching ahead begins: long before anybody can have answered it."""


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """What is made in here stays: the collector of garbage waits meanwhile, and never looks at it later."""
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def fetch_ahead(rules: Rules) -> threading.Timer:
    """What the opening had no need of and an answer may, fetched while the person reads the first prompt."""
    timer = threading.Timer(AHEAD_S, fetch, (rules,))
    timer.daemon = True
    timer.start()
    return timer


def fetch(rules: Rules) -> None:
    """The calculators, the units and the diagnosis."""
    from firststart.units import measured

    import_module("firststart.diagnosis.advise")
    measured(1, "V", "voltage")
    assert rules.judges  # looking at them has fetched them
    gc.freeze()
