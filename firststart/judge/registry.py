"""The closed lists of judges and of amounts that procedures may name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from firststart.judge import (
    amounts,
    amounts_electrical,
    amounts_engine,
    battery,
    compression,
    fuel,
    ignition,
    leakdown,
    oil,
    running,
    timing,
)
from firststart.judge.model import Context, Judge

_ALL: tuple[Judge, ...] = (
    *compression.JUDGES,
    *leakdown.JUDGES,
    *oil.JUDGES,
    *battery.JUDGES,
    *ignition.JUDGES,
    *fuel.JUDGES,
    *running.JUDGES,
    *timing.JUDGES,
)

JUDGES: Mapping[str, Judge] = MappingProxyType({judge.name: judge for judge in _ALL})
AMOUNTS: Mapping[str, Callable[[Context], str]] = MappingProxyType(
    {**amounts.AMOUNTS, **amounts_electrical.AMOUNTS, **amounts_engine.AMOUNTS}
)
