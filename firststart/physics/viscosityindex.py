"""Viscosity index by ASTM D2270, both ways. Kinematic viscosities in mm2/s, the unit the standard's fits are made in.

L and H, the viscosities at 40 degC of the reference oils of index 0 and 100, come from the standard's quadratic fits
in Y, the viscosity at 100 degC (from memory; the tests hold them against an independent table).
"""

from __future__ import annotations

import math

from firststart.physics.guard import above, within

LEAST, MOST = 2.0, 500.0  # mm2/s at 100 degC
_ANTILOG = 0.00715

# upper end of Y, then a, b, c of L = a Y^2 + b Y + c, then of H
_FITS: tuple[tuple[float, float, float, float, float, float, float], ...] = (
    (3.8, 1.14673, 1.7576, -0.109, 0.84155, 1.5521, -0.077),
    (4.4, 3.38095, -15.4952, 33.196, 0.78571, 1.7929, -0.183),
    (5.0, 2.5000, -7.2143, 13.812, 0.82143, 1.5679, 0.119),
    (6.4, 0.10100, 16.6350, -45.469, 0.04985, 9.1613, -18.557),
    (7.0, 3.35714, -23.5643, 78.466, 0.22619, 7.7369, -16.656),
    (7.7, 0.01191, 21.4750, -72.870, 0.79762, -0.7321, 14.610),
    (9.0, 0.41858, 16.1558, -56.040, 0.05794, 10.5156, -28.240),
    (12.0, 0.88779, 7.5527, -16.600, 0.26665, 6.7015, -10.810),
    (15.0, 0.76720, 10.7972, -38.180, 0.20073, 8.4658, -22.490),
    (18.0, 0.97305, 5.3135, -2.200, 0.28889, 5.9741, -4.930),
    (22.0, 0.97256, 5.2500, -0.980, 0.24504, 7.4160, -16.730),
    (28.0, 0.91413, 7.4759, -21.820, 0.20323, 9.1267, -34.230),
    (40.0, 0.87031, 9.7157, -50.770, 0.18411, 10.1015, -46.750),
    (55.0, 0.84703, 12.6752, -133.310, 0.17029, 11.4866, -80.620),
    (70.0, 0.85921, 11.1009, -83.190, 0.17130, 11.3680, -76.940),
    (math.inf, 0.83531, 14.6731, -216.246, 0.16841, 11.8493, -96.947),
)


def references(y: float) -> tuple[float, float]:
    """(L, H): mm2/s at 40 degC of the reference oils of index 0 and 100 with `y` mm2/s at 100 degC. RangeError."""
    within(y, "viscosity at 100 degC", LEAST, MOST, "mm2/s")
    _, a, b, c, d, e, f = next(row for row in _FITS if y <= row[0])
    return a * y * y + b * y + c, d * y * y + e * y + f


def viscosity_index(at40: float, at100: float) -> float:
    """Viscosity index of an oil of `at40` and `at100` mm2/s. Raises RangeError."""
    low, high = references(at100)
    above(at40, "viscosity at 40 degC", at100, "mm2/s", "an oil is thicker when colder")
    if at40 >= high:
        return 100 * (low - at40) / (low - high)
    power = math.log10(high / at40) / math.log10(at100)
    return float((10**power - 1) / _ANTILOG + 100)


def kv40_from_index(at100: float, index: float) -> float:
    """Viscosity in mm2/s at 40 degC of an oil of `at100` mm2/s and viscosity `index` 0 to 400. Raises RangeError."""
    low, high = references(at100)
    within(index, "index", 0, 400)
    if index <= 100:
        return low - index / 100 * (low - high)
    return float(high / at100 ** math.log10(1 + _ANTILOG * (index - 100)))
