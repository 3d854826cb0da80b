"""The closed list of judges that procedures may name."""

from __future__ import annotations

from types import MappingProxyType

from firststart.judge.model import Judge

_ALL: tuple[Judge, ...] = ()

JUDGES = MappingProxyType({judge.name: judge for judge in _ALL})
