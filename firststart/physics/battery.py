"""Lead-acid batteries: state of charge by voltage and by density, freezing, the floor under load.

Everything is reckoned per cell (about 2 V) and scaled to 6, 12 or 24 V. Volts, kelvin, relative density.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from firststart.errors import InputError
from firststart.physics.guard import within
from firststart.physics.subject import Answer, Given, Subject, Values
from firststart.units import from_si, measured

Table = Sequence[tuple[float, float]]

CELLS = {"6": 3, "12": 6, "24": 12}
SYSTEMS = ("6", "12", "24")
F80 = 299.8166666666667  # K, 80 degF, to which density is corrected
PER_KELVIN = 0.00072  # relative density per K: 0.004 per 10 degF (battery maker's note; TM 5-1185 Table IV)

PER_CELL = 0.845  # V above the relative density: rule of thumb, from memory

# Battery maker's note on state of charge, 12 V at 80 degF: (share, volts) and (share, relative density).
VOLTAGE_12: Table = ((0.0, 11.89), (0.25, 12.06), (0.50, 12.24), (0.75, 12.45), (1.0, 12.65))
DENSITY: Table = ((0.0, 1.120), (0.25, 1.155), (0.50, 1.190), (0.75, 1.225), (1.0, 1.265))
# TM 5-3805-262-20 p 5-142: (share, volts).
ARMY_12: Table = ((0.0, 11.7), (0.25, 12.0), (0.50, 12.2), (0.75, 12.4), (1.0, 12.6))
# Least volts after 15 s at half the cold cranking current: (degC, volts), Kia Amanti manual, and Suzuki Aerio manual.
FLOOR_A: Table = ((-18, 8.5), (-12, 8.7), (-7, 8.9), (-1, 9.1), (4, 9.3), (10, 9.4), (16, 9.5), (20, 9.6))
FLOOR_B: Table = ((-18, 8.0), (-10, 8.8), (0, 9.1), (10, 9.4), (21, 9.6))
# Self-discharge of a full battery, relative density a day: (degF, per day), TM 9-6140-200-14 section 4-8.
SELF_DISCHARGE: Table = ((50, 0.0003), (80, 0.001), (100, 0.0025))


def interpolate(table: Table, x: float) -> float:
    """The value at `x` on straight lines between the table's points; its end value beyond its ends.

    Ends are held, not extended: the caller decides whether beyond the table is an error.
    """
    xs = [p[0] for p in table]
    if x <= xs[0]:
        return table[0][1]
    if x >= xs[-1]:
        return table[-1][1]
    i = bisect_right(xs, x)
    (x0, y0), (x1, y1) = table[i - 1], table[i]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def beyond(table: Table, x: float) -> str:
    """What to tell when `x` lies beyond the table, whose end value then stands for it; "" inside."""
    if table[0][0] <= x <= table[-1][0]:
        return ""
    return f"{'under' if x < table[0][0] else 'over'} the published table; its end is given"


def cells(system: str) -> int:
    """Cells of a battery called 6, 12 or 24. Raises InputError."""
    if system not in CELLS:
        raise InputError(f"battery is {system!r}, but must be one of {', '.join(CELLS)}.")
    return CELLS[system]


def as_12(volts: float, system: str) -> float:
    """The same voltage per cell on a 12 V battery. Raises InputError, RangeError."""
    within(volts, "voltage", 0, 20 * cells(system), "V")
    return volts * 6 / cells(system)


def scaled(volts12: float, system: str) -> float:
    """A 12 V figure for this battery. Raises InputError."""
    return volts12 * cells(system) / 6


def charge_by_voltage(volts: float, system: str = "12", table: Table = VOLTAGE_12) -> float:
    """Share of charge 0 to 1 from the resting voltage; 0 or 1 beyond the table. Raises InputError, RangeError."""
    return interpolate([(v, share) for share, v in table], as_12(volts, system))


def corrected_density(reading: float, kelvin: float) -> float:
    """Relative density brought to 80 degF. Raises RangeError."""
    within(reading, "density", 1.0, 1.4)
    within(kelvin, "temperature", 223.15, 343.15, "K")
    return reading + PER_KELVIN * (kelvin - F80)


def charge_by_density(reading: float, kelvin: float = F80) -> float:
    """Share of charge 0 to 1 from a hydrometer reading at electrolyte temperature `kelvin`. Raises RangeError."""
    return interpolate([(d, share) for share, d in DENSITY], corrected_density(reading, kelvin))


def voltage_from_density(density: float, system: str = "12") -> float:
    """Open-circuit volts by the rule of thumb density + 0.845 a cell (from memory). Raises InputError, RangeError."""
    return (within(density, "density", 1.0, 1.4) + PER_CELL) * cells(system)


def load_floor(kelvin: float, system: str = "12", table: Table = FLOOR_A) -> float:
    """Least volts at the end of a 15 s load test at half the cold cranking current. Raises InputError, RangeError."""
    within(kelvin, "temperature", 233.15, 343.15, "K")
    return scaled(interpolate(table, kelvin - 273.15), system)


def self_discharge(days: float, kelvin: float) -> float:
    """Fall in relative density of a full battery left for `days`; held beyond 50 to 100 degF. Raises RangeError."""
    within(kelvin, "temperature", 223.15, 343.15, "K")
    return within(days, "time", 0, 36525, "d") * interpolate(SELF_DISCHARGE, kelvin * 9 / 5 - 459.67)


def freezing_caution(charge: float, kelvin: float, freezes: float = 273.15) -> str:
    """A caution when the electrolyte may freeze, else "".

    Published points disagree: one maker's note prints -10 degF for a flat battery, handbooks about +20 degF for
    density 1.120 (from memory). So a battery below a quarter is treated as freezing at `freezes`, 0 degC.
    """
    if kelvin <= freezes and charge <= 0.25:
        return "a flat battery can freeze and burst; do not charge or jump a frozen one"
    if kelvin <= 253.15 and charge <= 0.5:
        return "a half charged battery can freeze in this cold"
    return ""


def load_test_current(cca: float | None = None, capacity: float | None = None) -> float:
    """Load-test current in A: half the cold cranking amps, else 3 A for each amp hour (C given as coulomb).

    Raises InputError when neither is known.
    """
    if cca is not None:
        return within(cca, "cca", 20, 2000, "A") / 2
    if capacity is not None:
        return 3 * within(capacity / 3600, "capacity", 1, 300, "Ah")
    raise InputError("The load test needs the battery's cold cranking amps or its amp hours; read them off its label.")


def _share(value: float, note: str = "", name: str = "charge", end: str = "") -> Answer:
    return Answer(name, from_si(value, "%", "percent"), "; ".join(t for t in (note, end) if t))


def _turned(table: Table) -> Table:
    """A table the other way round: by its second column."""
    return tuple((y, x) for x, y in table)


def _charge(values: Values) -> tuple[Answer, ...]:
    volts, system = values["voltage"], values["battery"]
    found, twelve = charge_by_voltage(volts, system), as_12(volts, system)
    army = charge_by_voltage(volts, system, ARMY_12)
    return (
        _share(found, "maker's note, 80 degF", end=beyond(_turned(VOLTAGE_12), twelve)),
        _share(army, "TM 5-3805-262-20", "charge-army", beyond(_turned(ARMY_12), twelve)),
        Answer("caution", freezing_caution(found, values["temperature"]) or "none"),
    )


def _density(values: Values) -> tuple[Answer, ...]:
    at80 = corrected_density(values["density"], values["temperature"])
    found = charge_by_density(values["density"], values["temperature"])
    return (
        Answer("corrected", measured(round(at80, 4), "SG", "relative density"), "at 80 degF"),
        _share(found, end=beyond(_turned(DENSITY), at80)),
        Answer("rest-voltage", from_si((at80 + PER_CELL) * cells(values["battery"]), "V", "voltage"), "rule of thumb"),
        Answer("caution", freezing_caution(found, values["temperature"]) or "none"),
    )


def _floor(values: Values) -> tuple[Answer, ...]:
    first = load_floor(values["temperature"], values["battery"])
    second = load_floor(values["temperature"], values["battery"], FLOOR_B)
    celsius = values["temperature"] - 273.15
    ends = [f"; {beyond(table, celsius)}" if beyond(table, celsius) else "" for table in (FLOOR_A, FLOOR_B)]
    other = f"Suzuki Aerio manual; they part below -10 degC{ends[1]}"
    return (
        Answer("floor", from_si(first, "V", "voltage"), f"Kia Amanti manual{ends[0]}"),
        Answer("floor-other", from_si(second, "V", "voltage"), other),
        Answer("test-current", from_si(load_test_current(values["cca"]), "A", "current"), "for 15 s"),
    )


def _standing(values: Values) -> tuple[Answer, ...]:
    fall = self_discharge(values["time"] / 86400, values["temperature"])
    left, warmth = 1.265 - fall, values["temperature"] * 9 / 5 - 459.67
    flat = "" if left >= DENSITY[0][1] else "flat before that time was over"
    rate = beyond(SELF_DISCHARGE, warmth)
    return (
        Answer("fall", f"{fall:.3f}", f"relative density, as long as it lasts{'; ' if rate else ''}{rate}"),
        _share(charge_by_density(left) if left >= DENSITY[0][1] else 0.0, "of a battery full at the start", end=flat),
    )


BATTERY = Given("battery", "count", "", 0, 0, "12", "nominal voltage", SYSTEMS)
AIR = Given("temperature", "temperature", "degC", -40, 60, "27 degC", "battery temperature")

SUBJECTS: tuple[Subject, ...] = (
    Subject(
        "battery-rest", "Charge of a rested battery by its voltage",
        "linear between 11.89, 12.06, 12.24, 12.45, 12.65 V",
        "battery maker's note, 80 degF; TM 5-3805-262-20 p 5-142", "read",
        (Given("voltage", "voltage", "V", 0, 40, meaning="rested, lamps 15 s then 3 min off"), BATTERY, AIR), _charge,
    ),
    Subject(
        "battery-density", "Charge of a battery by its acid",
        "SG80 = SG + 0.00072 (t - 26.7 degC); linear 1.120 to 1.265",
        "battery maker's note; TM 5-1185 Table IV", "read",
        (Given("density", "relative density", "SG", 1.0, 1.4, meaning="hydrometer reading"), BATTERY, AIR), _density,
    ),
    Subject(
        "battery-load", "Floor of a battery load test", "half the cold cranking amps for 15 s; floor by temperature",
        "Kia Amanti 2004 and Suzuki Aerio 2005 manuals", "read",
        (Given("cca", "current", "A", 20, 2000, meaning="cold cranking amps"), BATTERY, AIR), _floor,
    ),
    Subject(
        "battery-standing", "What standing takes from a full battery",
        "0.0003, 0.001, 0.0025 SG a day at 50, 80, 100 degF",
        "TM 9-6140-200-14 section 4-8", "read",
        (Given("time", "time", "d", 0, 36525, meaning="days left"), AIR), _standing,
    ),
)  # fmt: skip
