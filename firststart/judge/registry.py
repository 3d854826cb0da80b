"""The closed lists of judges and of amounts that procedures may name."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from firststart.judge import amounts, compression, leakdown, oil
from firststart.judge.model import Context, Judge

_ALL: tuple[Judge, ...] = (*compression.JUDGES, *leakdown.JUDGES, *oil.JUDGES)

JUDGES: Mapping[str, Judge] = MappingProxyType({judge.name: judge for judge in _ALL})
AMOUNTS: Mapping[str, Callable[[Context], str]] = MappingProxyType({**amounts.AMOUNTS})
