"""Fuel flow an engine needs, the head that drives it, and the decay of a pressurised system. SI floats."""

from __future__ import annotations

from firststart.physics.atmosphere import GRAVITY, density
from firststart.physics.fuel import GAS_CONSTANT, PETROL
from firststart.physics.guard import above, within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si

ATMOSPHERE = 101325.0
IDLE_PER_SWEPT = 5e-6 / 60 / 1e-3  # m3/s per m3: 5 ml/min a litre, US Department of Energy Fact 861
CONSUMPTION = 300 / 3.6e9  # kg/J, 300 g/kWh at full load (common practice, no source)
START_MIXTURE, START_FILL = 12.0, 0.8  # air to fuel by mass, and share of the swept volume, while cranking


def cranking_flow(
    swept: float, speed: float, strokes: int = 4, fill: float = START_FILL, mixture: float = START_MIXTURE,
    air: float | None = None,
) -> float:  # fmt: skip
    """Fuel in m3/s taken while cranking at `speed` rev/s. Raises RangeError."""
    within(fill, "fill", 0, 1.2)
    drawn = above(swept, "displacement", 0, "m3") * above(speed, "speed", 0, "Hz") / (strokes / 2) * fill
    kg = drawn * (density(ATMOSPHERE, 293.15) if air is None else above(air, "air density", 0, "kg/m3"))
    return kg / (above(mixture, "mixture", 0) * PETROL)


def idle_flow(swept: float) -> float:
    """Fuel in m3/s at idle; good to 20 %. Raises RangeError."""
    return above(swept, "displacement", 0, "m3") * IDLE_PER_SWEPT


def full_load_flow(power: float, consumption: float = CONSUMPTION) -> float:
    """Fuel in m3/s at `power` W. Raises RangeError."""
    return above(power, "power", 0, "W") * above(consumption, "consumption", 0, "kg/J") / PETROL


def gravity_head(height: float, liquid: float = PETROL) -> float:
    """Pressure in Pa under `height` m of fuel. Raises RangeError."""
    return within(liquid, "density", 600, 1200, "kg/m3") * GRAVITY * within(height, "height", 0, 100, "m")


def corrected_end(start: float, start_k: float, end_k: float, ambient: float = ATMOSPHERE) -> float:
    """Gauge Pa a tight, rigid system would read at `end_k`, from `start` gauge Pa at `start_k`. Raises RangeError."""
    absolute = above(start + above(ambient, "ambient", 0, "Pa"), "absolute pressure", 0, "Pa")
    return absolute * above(end_k, "end temperature", 0, "K") / above(start_k, "start temperature", 0, "K") - ambient


def leak_moles(volume: float, start: float, start_k: float, end: float, end_k: float, seconds: float) -> float:
    """Gas lost (below zero: gained) in mol/s, absolute Pa: V/R (p2/T2 - p1/T1)/t turned round. Raises RangeError."""
    first = above(start, "start", 0, "Pa") / above(start_k, "start temperature", 0, "K")
    last = above(end, "end", 0, "Pa") / above(end_k, "end temperature", 0, "K")
    return above(volume, "volume", 0, "m3") / GAS_CONSTANT * (first - last) / above(seconds, "time", 0, "s")


def leak_flow(volume: float, fall: float, seconds: float) -> float:
    """Leak in m3/s of air at one atmosphere, temperature steady: V dp / (t p0). Raises RangeError."""
    within(fall, "fall", 0, None, "Pa")
    return above(volume, "volume", 0, "m3") * fall / (above(seconds, "time", 0, "s") * ATMOSPHERE)


def _flow(value: float, name: str, note: str) -> Answer:
    return Answer(name, from_si(value, "ml/min", "flow"), note)


def _needed(values: Values) -> tuple[Answer, ...]:
    strokes = 2 if values["cycle"] == "two-stroke" else 4
    cranking = cranking_flow(values["displacement"], values["speed"], strokes)
    return (
        _flow(cranking, "cranking", "mixture 12 to one, fill 0.8"),
        _flow(idle_flow(values["displacement"]), "idle", "good to 20 %"),
        _flow(full_load_flow(values["power"]), "full-load", "at 300 g/kWh"),
    )


def _head(values: Values) -> tuple[Answer, ...]:
    return (Answer("pressure", from_si(gravity_head(values["height"]), "kPa", "pressure"), "petrol of 740 kg/m3"),)


def _decay(values: Values) -> tuple[Answer, ...]:
    tight = corrected_end(values["start"], values["start-temperature"], values["end-temperature"])
    fall = tight - values["end"]
    leak = leak_flow(values["volume"], fall, values["time"]) if fall >= 0 else 0.0
    return (
        Answer("tight-would-read", from_si(tight, "kPa", "pressure"), "gauge, at the end temperature"),
        Answer("fall", from_si(fall, "kPa", "pressure"), "below zero: it gained; read the gauge and thermometer again"),
        _flow(leak, "leak", "air at one atmosphere"),
    )


_ROOM = Given("start-temperature", "temperature", "degC", -40, 100, "20 degC", "temperature at the start")

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "fuel-flow", "Fuel flow an engine needs",
        "V n / (strokes/2) fill rho / (AFR rho_f); 5 ml/min a litre; P x 300 g/kWh",
        "US Department of Energy Fact 861 (idle); mass balance", "read",
        (Given("displacement", "volume", "ml", 20, 20000, meaning="engine size"),
         Given("power", "power", "kW", 0.1, 500, meaning="full power"),
         Given("speed", "speed", "rpm", 20, 1500, "300 rpm", "cranking speed"),
         Given("cycle", "count", "", 0, 0, "four-stroke", "cycle", ("four-stroke", "two-stroke"))),
        _needed,
    ),
    Subject(
        "gravity-head", "Pressure of a gravity feed", "p = rho g h", "hydrostatics", "computed",
        (Given("height", "length", "m", 0, 10, meaning="fuel level over the carburettor"),), _head,
    ),
    Subject(
        "pressure-decay", "Leak of a pressurised system", "p2' = (p1 + p0) T2/T1 - p0; Q = V dp / (t p0)",
        "40 CFR 1065.644; leak rate note", "read",
        (Given("volume", "volume", "l", 0.001, 1000, meaning="volume under pressure"),
         Given("start", "pressure", "kPa", 0, 700, meaning="gauge at the start"),
         Given("end", "pressure", "kPa", 0, 700, meaning="gauge at the end"),
         Given("time", "time", "s", 1, 1e5, meaning="between the two"), _ROOM,
         Given("end-temperature", "temperature", "degC", -40, 100, "20 degC", "temperature at the end")),
        _decay,
    ),
)  # fmt: skip
