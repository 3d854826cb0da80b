"""Heat of a starter's winding: two thermal masses, solved exactly, and the resistance of warm copper.

The winding (copper) is heated by its own resistance and gives heat to the body (iron, housing), which
gives it to the air:

    dTw/dt = q (1 + f (Tw - T20)) - (Tw - Tb) / winding_s
    dTb/dt = mass_ratio (Tw - Tb) / winding_s - (Tb - Ta) / body_s

Both equations are linear, so each stretch of cranking or rest has a closed solution: the exponential
of a 2x2 matrix through its two real, distinct eigenvalues. No step size, no drift. Temperatures are
kelvin, times seconds, q kelvin per second at 20 degC, f the copper coefficient per kelvin (0 for a heat
that does not grow with temperature).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firststart.physics.guard import within

T20 = 293.15
ALPHA20 = 0.00393  # /K, IEC 60028 copper at 20 degC (meter maker's appendix)
RHO20 = 1.7241e-8  # ohm m, IEC 60028: 58 MS/m
COPPER_HEAT = 385.0  # J/(kg K), handbook value from memory
COPPER_DENSITY = 8890.0  # kg/m3, handbook value from memory
DENSEST = 2e8  # A/m2
_STILL = 1e-12  # a rate (1/s) below which an exponential is a straight line to 1e-9 over a day


@dataclass(frozen=True)
class TwoMass:
    """Time constants (s) of winding to body and body to air, and heat capacity of winding over body."""

    winding_s: float
    body_s: float
    mass_ratio: float


@dataclass(frozen=True)
class Modes:
    """The two exponentials of a `TwoMass`: rate (1/s), body share per unit of winding, share of an input."""

    rates: tuple[float, float]
    bodies: tuple[float, float]
    shares: tuple[float, float]

    def split(self, winding: float, body: float) -> tuple[float, float]:
        """The modal amplitudes of a state, given as excess over air in kelvin."""
        first, second = self.bodies
        one = (body - second * winding) / (first - second)
        return one, winding - one

    def join(self, one: float, two: float) -> tuple[float, float]:
        """Winding and body excess over air, from the modal amplitudes."""
        return one + two, self.bodies[0] * one + self.bodies[1] * two


def modes(masses: TwoMass, feedback: float = 0.0) -> Modes:
    """Eigenvalues and eigenvectors of the two masses; `feedback` is q times f in 1/s."""
    link, loss, back = 1 / masses.winding_s, 1 / masses.body_s, masses.mass_ratio / masses.winding_s
    first, last = feedback - link, -back - loss
    middle, half = (first + last) / 2, math.hypot((first - last) / 2, math.sqrt(link * back))
    rates = (middle - half, middle + half)
    bodies = (1 + (rates[0] - feedback) * masses.winding_s, 1 + (rates[1] - feedback) * masses.winding_s)
    span = bodies[0] - bodies[1]
    return Modes(rates, bodies, (-bodies[1] / span, bodies[0] / span))


def grown(rate: float, seconds: float) -> float:
    """Integral of exp(rate t) over `seconds`: (exp(rate seconds) - 1) / rate, without loss near zero."""
    return seconds if abs(rate) < _STILL else math.expm1(rate * seconds) / rate


def heating_rate(current_density: float, temperature: float = T20) -> float:
    """Adiabatic heating of copper in K/s for `current_density` in A/m2: J2 rho(T) / (c gamma).

    Raises RangeError below none and over 200 A/mm2, where copper melts in seconds.
    """
    within(current_density, "current density", 0, DENSEST, "A/m2")
    rise = 1 + ALPHA20 * (temperature - T20)
    return current_density**2 * RHO20 * rise / (COPPER_HEAT * COPPER_DENSITY)


def step(
    masses: TwoMass, winding: float, body: float, air: float, seconds: float, heat: float = 0.0
) -> tuple[float, float]:
    """Winding and body temperature (K) after `seconds` at `heat` K/s (as at 20 degC; grows with copper)."""
    m = modes(masses, heat * ALPHA20)
    one, two = m.split(winding - air, body - air)
    push = heat * (1 + ALPHA20 * (air - T20))
    one = one * math.exp(m.rates[0] * seconds) + push * m.shares[0] * grown(m.rates[0], seconds)
    two = two * math.exp(m.rates[1] * seconds) + push * m.shares[1] * grown(m.rates[1], seconds)
    up, down = m.join(one, two)
    return air + up, air + down
