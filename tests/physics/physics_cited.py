"""Tables of outside values whose test names carry their source."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import pytest


def cited(source: str, rows: Iterable[Sequence[Any]]) -> list[Any]:
    """One case a row; its name is the source and the row's first two values."""
    return [pytest.param(*row, id=f"{source}: {', '.join(str(v) for v in row[:2])}") for row in rows]
