"""Battery and cable judges: published floors and limits, the makers' conflicts, and 6, 12 and 24 volts."""

from __future__ import annotations

import pytest
from electrical_bench import BY_NAME, LIMITS, context, judged, read
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.errors import InputError, RangeError
from firststart.judge.model import Reading
from firststart.physics import battery as physics
from firststart.units import measured


def volts(value: float, name: str = "battery.rest", resolution: float | None = None) -> Reading:
    return Reading(name, measured(value, "V", "voltage"), resolution=resolution)


@pytest.mark.external
@pytest.mark.parametrize(
    ("value", "system", "word"),
    [(12.65, "12", "full"), (12.45, "12", "usable"), (12.24, "12", "low"), (12.06, "12", "low"), (11.7, "12", "dead"),
     (6.33, "6", "full"), (6.12, "6", "low"), (5.8, "6", "dead"), (25.30, "24", "full"), (24.48, "24", "low"),
     (23.4, "24", "dead")],
)  # fmt: skip
def test_resting_voltage(value: float, system: str, word: str) -> None:
    """Battery maker's state of charge note and TM 5-3805-262-20 p 5-142 (12.4 V acceptable), by cells."""
    assert word == judged("battery-rest", volts(value), context(battery=system)).word


def test_a_reading_on_the_edge_is_unsure_and_says_of_what() -> None:
    """12.40 V is too near the army's 12.4 V to say, and sends to the load test."""
    verdict = judged("battery-rest", volts(12.40), context(battery="12"))

    assert verdict.word == "unsure"
    assert "Test it under load" in verdict.say
    assert "TM 5-3805-262-20" in verdict.source


def test_a_coarse_meter_is_unsure_sooner() -> None:
    """12.45 V on a meter that shows tenths could be either side; on a fine meter it is usable."""
    assert judged("battery-rest", volts(12.44, resolution=0.1), context(battery="12")).word == "unsure"
    assert judged("battery-rest", volts(12.44, resolution=0.01), context(battery="12")).word == "usable"


def test_surface_charge_is_not_full() -> None:
    """13.4 V is no resting battery: a charger is on or it has not rested."""
    verdict = judged("battery-rest", volts(13.4), context(battery="12"))

    assert verdict.word == "unsure"
    assert "charger" in verdict.say


def test_unknown_battery_is_read_off_the_voltage_or_asked() -> None:
    """6.3 V shows a 6 volt battery and says so; 8 V may be anything and asks."""
    six = judged("battery-rest", volts(6.33), context())

    assert (six.word, "taken as a 6 volt battery" in six.details) == ("full", True)
    assert judged("battery-rest", volts(8.0), context()).word == "unsure"


def test_flat_in_the_frost_warns_of_ice() -> None:
    """A flat battery at minus five warns that it may be frozen."""
    verdict = judged("battery-rest", volts(11.5), context(battery="12", air_temperature="-5 degC"))

    assert any("freeze" in d for d in verdict.details)


@pytest.mark.external
@pytest.mark.parametrize(
    ("density", "word"), [(1.270, "full"), (1.240, "usable"), (1.200, "low"), (1.120, "dead"), (1.320, "unsure")]
)
def test_density_bands(density: float, word: str) -> None:
    """TM 5-3740-214-14: 1.250 to 1.280 good, 1.225 fair, under 1.150 replace."""
    reading = Reading("battery.density", measured(density, "SG", "relative density"), 1)

    assert word == judged("battery-density", reading, context(air_temperature="26.7 degC")).word


@pytest.mark.external
def test_cold_acid_is_corrected() -> None:
    """1.250 read at 0 degF is 1.218 at 80 degF (battery maker's note), so low and not fair."""
    reading = Reading("battery.density", measured(1.250, "SG", "relative density"), 1)
    acid = read("acid-temperature", "0 degF", "temperature")
    verdict = judged("battery-density", reading, context(readings=acid))

    assert verdict.word == "low"
    assert "1.218 at 27 degrees" in verdict.details


def test_unknown_acid_temperature_widens_the_doubt() -> None:
    """1.240 is fair at a known 27 degC; between 0 and 25 degC it may be low, so it is unsure and says so."""
    reading = Reading("battery.density", measured(1.240, "SG", "relative density"), 1)
    verdict = judged("battery-density", reading, context())

    assert verdict.word == "unsure"
    assert any("between 0 and 25 degC" in d for d in verdict.details)


def test_a_spread_within_the_marks_of_the_limit_is_unsure() -> None:
    """0.022 lies under 0.025, but two hydrometer readings are not good enough to say so."""
    cells = {
        **read("battery.density", "1.250 SG", "relative density", 1),
        **read("battery.density", "1.228 SG", "relative density", 2),
    }

    assert judged("battery-cells", None, context(cells)).word == "unsure"


@pytest.mark.external
@pytest.mark.parametrize(
    ("spread", "word"), [(0.010, "even"), (0.035, "unsure"), (0.070, "uneven")], ids=["both", "conflict", "neither"]
)
def test_cell_spread_conflict(spread: float, word: str) -> None:
    """TM 9-6140-200-14 condemns over 0.025, TM 5-3740-214-14 over 0.050: between them the verdict is unsure."""
    cells = {("battery.density", c): measured(1.25, "SG", "relative density") for c in range(1, 6)}
    cells["battery.density", 6] = measured(1.25 - spread, "SG", "relative density")
    verdict = judged("battery-cells", None, context(readings=cells))

    assert word == verdict.word
    assert any("TM 9-6140-200-14" in d and "0.025" in d for d in verdict.details)
    assert any("TM 5-3740-214-14" in d and "0.05" in d for d in verdict.details)


def test_one_cell_cannot_be_compared() -> None:
    """A single cell has no spread."""
    assert judged("battery-cells", None, context()).word == "unsure"


@pytest.mark.external
@pytest.mark.parametrize(
    ("value", "celsius", "system", "word"),
    [(9.7, 21, "12", "holds"), (9.5, 21, "12", "sags"), (4.9, 21, "6", "holds"), (4.7, 21, "6", "sags"),
     (19.4, 21, "24", "holds"), (19.0, 21, "24", "sags"), (9.2, -1, "12", "holds"), (8.6, -18, "12", "holds"),
     (7.9, -18, "12", "sags")],
)  # fmt: skip
def test_load_floor(value: float, celsius: float, system: str, word: str) -> None:
    """Kia Amanti and Suzuki Aerio load test tables; 19.2 and 4.8 V by cells."""
    where = context(battery=system, air_temperature=f"{celsius} degC")

    assert word == judged("battery-load", volts(value, "battery.load"), where).word


@pytest.mark.external
def test_two_makers_split_in_the_cold() -> None:
    """8.2 V at -18 degC passes one maker's 8.0 V and fails the other's 8.5 V: unsure, both shown."""
    where = context(battery="12", air_temperature="-18 degC")
    verdict = judged("battery-load", volts(8.2, "battery.load"), where)

    assert verdict.word == "unsure"
    assert {"amanti: 8.5 V", "aerio: 8 V"} <= set(verdict.details)


def test_unknown_weather_widens_the_floor() -> None:
    """Without a temperature 9.3 V is unsure, 9.7 V holds and 8.9 V sags."""
    words = [judged("battery-load", volts(v, "battery.load"), context(battery="12")).word for v in (9.3, 9.7, 8.9)]

    assert words == ["unsure", "holds", "sags"]


@pytest.mark.external
def test_cranking_voltage() -> None:
    """TM 10-3930-671-24 p F-299: under 9.6 V after 15 s at 70 to 80 degF, check the battery."""
    where = context(battery="12", air_temperature="24 degC")

    assert judged("crank-voltage", volts(9.4, "battery.crank"), where).word == "sags"
    assert judged("crank-voltage", volts(10.2, "battery.crank"), where).word == "holds"
    assert "TM 10-3930-671-24" in judged("crank-voltage", volts(9.4, "battery.crank"), where).source


@pytest.mark.external
@pytest.mark.parametrize(
    ("path", "value", "word"),
    [("feed", 0.05, "inside"), ("feed", 0.3, "unsure"), ("feed", 0.7, "high"), ("ground", 0.15, "unsure"),
     ("ground", 0.25, "high"), ("joint", 0.15, "high"), ("joint", 0.05, "inside"), ("coil-ground", 0.15, "high"),
     ("kill-switch", 0.3, "unsure"), ("kill-switch", 0.6, "high")],
)  # fmt: skip
def test_voltage_drop_by_path_and_maker(path: str, value: float, word: str) -> None:
    """Impala 1983, Mazda B4000, Kia Rio, Ford E-450 and NAVEDTRA 14329 disagree: 0.1, 0.2, 0.4, 0.5 V by path."""
    verdict = judged("voltage-drop", volts(value, f"voltage-drop.{path}"), context())

    assert word == verdict.word
    assert all(path in d for d in verdict.details if d.endswith(" V"))
    assert sum(d.endswith(" V") for d in verdict.details) == max(
        1, len(LIMITS.under(f"wiring.drop.{path}")) or len(LIMITS.under("wiring.drop.any"))
    )
    assert verdict.limit.startswith("wiring.drop.")


@pytest.mark.parametrize(
    ("name", "limit"),
    [("drop.earth", "wiring.drop.ground."), ("drop.terminals", "wiring.drop.joint."),
     ("points.drop", "wiring.drop.coil-ground."), ("drop.feed", "wiring.drop.feed.")],
)  # fmt: skip
def test_a_reading_finds_its_path(name: str, limit: str) -> None:
    """The names of the shipped procedures lead to the limits of their own path."""
    assert judged("voltage-drop", volts(0.9, name), context()).limit.startswith(limit)


@pytest.mark.external
@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("battery.load.floor.amanti", physics.FLOOR_A),
        ("battery.load.floor.aerio", physics.FLOOR_B),
        ("battery.charge.voltage", physics.VOLTAGE_12),
    ],
)
def test_data_and_calculator_hold_the_same_published_table(name: str, table: physics.Table) -> None:
    """The data file and the calculator were copied from one published table and agree in every number."""
    assert [list(row) for row in table] == [[float(a), float(b)] for a, b in LIMITS[name].value]


@pytest.mark.parametrize(
    ("judge", "reading", "error"),
    [
        ("battery-rest", None, InputError),
        ("battery-rest", Reading("r", measured(3, "A", "current")), InputError),
        ("battery-rest", volts(-12.6), InputError),
        ("battery-rest", volts(12.6, resolution=-1), RangeError),
        ("battery-density", Reading("r", measured(2.0, "SG", "relative density"), 1), RangeError),
        ("voltage-drop", Reading("r", measured(3, "ohm", "resistance")), InputError),
    ],
)
def test_impossible_readings_are_refused(judge: str, reading: Reading | None, error: type[Exception]) -> None:
    """No reading, another kind, leads swapped, an instrument with a negative step: a typed error."""
    with pytest.raises(error):
        BY_NAME[judge].run(reading, context(battery="12"))


RANK = {"dead": 0, "low": 1, "usable": 2, "full": 3}


@settings(deadline=None)
@given(st.floats(0, 12.99), st.floats(0, 12.99), st.sampled_from([0.01, 0.05, 0.1]))
def test_more_volts_is_never_a_worse_word(first: float, second: float, resolution: float) -> None:
    """Among decided verdicts the word never worsens as the voltage rises."""
    low, high = sorted((first, second))
    where = context(battery="12")
    words = [judged("battery-rest", volts(v, resolution=resolution), where).word for v in (low, high)]

    assert "unsure" in words or RANK[words[0]] <= RANK[words[1]]


@settings(deadline=None)
@given(st.floats(5, 12), st.floats(0.001, 0.2), st.floats(-25, 40))
def test_a_decided_load_verdict_holds_for_every_true_value(value: float, resolution: float, celsius: float) -> None:
    """When it says holds or sags, no true voltage within half a step would reverse it."""
    where = context(battery="12", air_temperature=f"{celsius:.3f} degC")
    word = judged("battery-load", volts(value, "battery.load", resolution), where).word
    half = resolution / 2.001
    ends = [judged("battery-load", volts(v, "battery.load", 0), where).word for v in (value - half, value + half)]

    assert word == "unsure" or [word, word] == ends
