"""Heat of a starter by the book: copper heating, temperature by resistance, cooling, tries on a bench clock.

Constants stand in `winding.py` with their sources. Temperatures are kelvin, current densities A/m2, times s.
"""

from __future__ import annotations

import math

from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.physics.winding import ALPHA20, T20, TwoMass, heating_rate, step
from firststart.units import from_si, measured

ZERO_C = 273.15
K_IEC, K_US = 235.0, 234.5  # inferred absolute zero of copper in degC: IEC 60034-1 clause 8, and US practice (memory)
K_ADIABATIC = 226.0  # A s^0.5 / mm2, copper, IEC 60949:1988 (from memory)


def adiabatic_temperature(start: float, current_density: float, seconds: float) -> float:
    """Temperature in K of copper that loses no heat, at constant current. Raises RangeError."""
    above(start, "start", 0, "K")
    within(seconds, "time", 0, None, "s")
    rate = heating_rate(current_density)
    return T20 + ((1 + ALPHA20 * (start - T20)) * math.exp(ALPHA20 * rate * seconds) - 1) / ALPHA20


def adiabatic_seconds(start: float, limit: float, current_density: float) -> float:
    """Seconds until copper that loses no heat reaches `limit` (K) from `start` (K). Raises RangeError."""
    rate = above(heating_rate(current_density), "heating rate", 0, "K/s", "some current")
    within(limit, "limit", start, None, "K", "no less than the start")
    return math.log((1 + ALPHA20 * (limit - T20)) / (1 + ALPHA20 * (start - T20))) / (ALPHA20 * rate)


def temperature_by_resistance(cold: float, ratio: float, k: float = K_IEC) -> float:
    """Winding temperature in K from R2/R1 and the cold temperature in K: (R2/R1)(k + t1) - k. Raises RangeError."""
    within(ratio, "ratio", 0.5, 3)
    return ratio * (k + cold - ZERO_C) - k + ZERO_C


def resistance_at(ohm20: float, kelvin: float) -> float:
    """Resistance of copper at `kelvin`, from its resistance at 20 degC. Raises RangeError."""
    within(kelvin, "temperature", 150, 600, "K")
    return above(ohm20, "resistance", 0, "ohm") * (1 + ALPHA20 * (kelvin - T20))


def resistance_as_at_20(ohm: float, kelvin: float) -> float:
    """What a copper winding of `ohm` at `kelvin` would read at 20 degC. Raises RangeError."""
    within(kelvin, "temperature", 150, 600, "K")
    return within(ohm, "resistance", 0, None, "ohm") / (1 + ALPHA20 * (kelvin - T20))


def cooled(excess: float, seconds: float, constant: float) -> float:
    """Excess over air in K after `seconds`, by Newton's law with time `constant`. Raises RangeError."""
    return excess * math.exp(-within(seconds, "time", 0, None, "s") / above(constant, "time-constant", 0, "s"))


def cooling_seconds(excess: float, wanted: float, constant: float) -> float:
    """Seconds until an excess over air of `excess` K has fallen to `wanted` K. Raises RangeError."""
    above(wanted, "limit over air", 0, "K", "a body never quite reaches the air")
    above(constant, "time-constant", 0, "s")
    return 0.0 if excess <= wanted else constant * math.log(excess / wanted)


def fusing_current(area: float, start: float, melt: float, seconds: float) -> float:
    """Current in A that melts bare copper of `area` m2 in `seconds`, after Onderdonk. Raises RangeError.

    The form used is 234 + Ta inside the logarithm, which follows from the adiabatic relation; a widely copied
    page prints 234 - Ta, which is wrong by 5 % at 25 degC.
    """
    mils = above(area, "area", 0, "m2") / (math.pi / 4 * 2.54e-5**2)
    first = above(start, "start", 0, "K") - ZERO_C
    within(melt, "melt", start, None, "K", "no less than the start")
    return mils * math.sqrt(math.log10(1 + (melt - start) / (234 + first)) / (33 * above(seconds, "time", 0, "s")))


def adiabatic_current(area: float, start: float, limit: float, seconds: float) -> float:
    """Current in A that heats copper of `area` m2 from `start` to `limit` (K): I2 t = K2 S2 ln(...).

    Raises RangeError.
    """
    above(area, "area", 0, "m2")
    within(limit, "limit", start, None, "K", "no less than the start")
    span = math.log((limit - ZERO_C + K_US) / (above(start, "start", 0, "K") - ZERO_C + K_US))
    return K_ADIABATIC * area * 1e6 * math.sqrt(span / above(seconds, "time", 0, "s"))


def tries(
    masses: TwoMass, rate: float, air: float, crank: float, rest: float, limit: float, most: int = 20,
    start: float | None = None,
) -> tuple[tuple[float, float], ...]:
    """(winding at the end of the crank, winding at the end of the rest) in K, try by try, up to `limit` K.

    A cold start begins at the `air` temperature; a hot one, beside an engine that has run, at `start`, winding and body
    alike. The last pair is the last whose crank ends at or below the limit; none when even the first goes over it.
    """
    winding = body = air if start is None else above(start, "start", 0, "K")
    done: list[tuple[float, float]] = []
    for _ in range(most):
        winding, body = step(masses, winding, body, air, crank, rate)
        if winding > limit:
            break
        hot = winding
        winding, body = step(masses, winding, body, air, rest)
        done.append((hot, winding))
    return tuple(done)


def _kelvin(value: float, note: str = "", name: str = "temperature") -> Answer:
    return Answer(name, from_si(value, "degC", "temperature"), note)


def _density(values: Values) -> float:
    return float(values["current"]) / above(values["area"], "area", 0, "m2")


def _copper(values: Values) -> tuple[Answer, ...]:
    end = adiabatic_temperature(values["start"], _density(values), values["time"])
    first = heating_rate(_density(values), values["start"])
    until = adiabatic_seconds(values["start"], values["limit"], _density(values))
    return (
        _kelvin(end, "no heat lost"),
        Answer("heating-rate", f"{first:.3g} K/s", "at the start"),
        Answer("time-to-limit", from_si(until, "s", "time"), "no heat lost"),
    )


def _by_resistance(values: Values) -> tuple[Answer, ...]:
    ratio = above(values["hot"], "hot", 0, "ohm") / above(values["cold"], "cold", 0, "ohm")
    found = temperature_by_resistance(values["temperature"], ratio)
    return (_kelvin(found, "the mean of the winding; its hottest spot is hotter"),)


def _cooling(values: Values) -> tuple[Answer, ...]:
    wait = cooling_seconds(values["winding"] - values["air"], values["limit"] - values["air"], values["constant"])
    note = "the time constant of a starter is not published: measure it"
    return (Answer("wait", from_si(wait, "min", "time"), note),)


def _tries(values: Values) -> tuple[Answer, ...]:
    masses = TwoMass(values["winding-constant"], values["body-constant"], values["mass-ratio"])
    rate, crank, rest = heating_rate(_density(values)), values["crank"], values["rest"]
    found = tries(masses, rate, values["air"], crank, rest, values["limit"], start=values["air"] + values["over-air"])
    duty = crank / (crank + rest)
    rows = [_kelvin(hot, "end of crank", f"try-{i}") for i, (hot, _) in enumerate(found[:10], 1)]
    return (
        Answer("tries", measured(float(len(found)), "", "count"), "below the limit, at most twenty tried"),
        Answer("duty-factor", from_si(duty, "%", "percent")),
        *rows,
    )


def _fuse(values: Values) -> tuple[Answer, ...]:
    melting = measured(1083, "degC", "temperature").si
    melt = fusing_current(values["area"], values["start"], melting, values["time"])
    heat = adiabatic_current(values["area"], values["start"], values["limit"], values["time"])
    return (
        Answer("melting-current", from_si(melt, "A", "current"), "bare copper, no heat lost: upper bound"),
        Answer("limit-current", from_si(heat, "A", "current"), "reaches the limit temperature in that time"),
    )


_AREA = Given("area", "area", "mm2", 0.01, 500, meaning="copper cross-section")
_START = Given("start", "temperature", "degC", -40, 250, "20 degC", "temperature at the start")
_LIMIT = Given("limit", "temperature", "degC", 0, 400, "100 degC", "limit; 100 degC is class A by resistance")
_AIR = Given("air", "temperature", "degC", -40, 80, "40 degC", "air around the starter")
_COPPER = "IEC 60028 copper; handbook heat and density (from memory)"
_INVENTED = "invented model constants, conservative; the equations are those of two thermal masses"

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "copper-heating", "Heating of copper by current", "dT/dt = J2 rho20 (1 + 0.00393 (T - 20)) / (c gamma)",
        _COPPER, "secondary copy",
        (Given("current", "current", "A", 0.001, 3000, meaning="current"), _AREA, _START, _LIMIT,
         Given("time", "time", "s", 0, 600, meaning="how long")),
        _copper,
    ),
    Subject(
        "winding-temperature", "Winding temperature by resistance", "t2 = (R2/R1)(235 + t1) - 235",
        "IEC 60034-1 clause 8", "from memory",
        (Given("cold", "resistance", "ohm", 1e-4, 1e5, meaning="resistance cold"),
         Given("hot", "resistance", "ohm", 1e-4, 1e5, meaning="resistance hot"),
         Given("temperature", "temperature", "degC", -40, 60, "20 degC", "temperature when cold")),
        _by_resistance,
    ),
    Subject(
        "cool-down", "Cooling time of a winding", "t = tau ln((T - Ta) / (limit - Ta))",
        "Newton's law of cooling", "from memory",
        (Given("winding", "temperature", "degC", -40, 400, meaning="winding now"), _LIMIT, _AIR,
         Given("constant", "time", "s", 5, 36000, "30 min", "time constant")),
        _cooling,
    ),
    Subject(
        "starter-tries", "Tries before the winding reaches its limit",
        "two masses: Tw' = q(1 + f(Tw - 20)) - (Tw - Tb)/tw; Tb' = m(Tw - Tb)/tw - (Tb - Ta)/tb; exact steps",
        _INVENTED, "common practice, no source",
        (Given("current", "current", "A", 1, 3000, meaning="current while cranking"), _AREA,
         Given("crank", "time", "s", 0.1, 60, "10 s", "one crank"),
         Given("rest", "time", "s", 0, 3600, "60 s", "one rest"),
         _AIR, _LIMIT,
         Given("over-air", "count", "", 0, 150, "0", "kelvins over the air before the first crank, as in a hot start"),
         Given("winding-constant", "time", "s", 5, 3600, "90 s", "winding to body"),
         Given("body-constant", "time", "s", 60, 36000, "40 min", "body to air"),
         Given("mass-ratio", "count", "", 0.01, 2, "0.2", "heat capacity of winding over body")),
        _tries,
    ),
    Subject(
        "wire-melting", "Current that melts or overheats a wire",
        "I = A sqrt(log10(1 + (Tm - Ta)/(234 + Ta)) / (33 t)), A in circular mils; I = K S sqrt(ln(...)/t)",
        "Onderdonk's relation (no original paper has been found); IEC 60949:1988", "from memory",
        (_AREA, _START, _LIMIT, Given("time", "time", "s", 0.01, 60, "5 s", "how long")),
        _fuse,
    ),
)  # fmt: skip
