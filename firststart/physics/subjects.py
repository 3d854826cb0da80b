"""The closed list of calculations a person can ask for by name."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from firststart.physics import (
    atmosphere,
    battery,
    carbonmonoxide,
    coil,
    compression,
    crankgeometry,
    firingorder,
    fuel,
    fuelflow,
    ignition,
    leakdown,
    oil,
    timingmark,
    uncertainty,
    windingheat,
    wiring,
)
from firststart.physics.subject import Subject

_PARTS = (
    atmosphere, compression, leakdown, crankgeometry, timingmark, firingorder, battery, wiring, windingheat, ignition,
    coil, fuel, fuelflow, carbonmonoxide, oil, uncertainty,
)  # fmt: skip

SUBJECTS: Mapping[str, Subject] = MappingProxyType({s.name: s for part in _PARTS for s in part.SUBJECTS})
