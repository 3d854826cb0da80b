"""One cylinder's compression: dry, wet and puff by puff."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from judge_bench import LIMITS, PSI, bench, engine, judged, psi

from firststart.errors import InputError, RangeError
from firststart.judge.amounts import AMOUNTS
from firststart.judge.compression import oil_rise
from firststart.judge.expected import FLOOR, MANUAL, RATIO, expected
from firststart.judge.model import Context, Reading
from firststart.judge.registry import JUDGES
from firststart.physics.compression import oil_factor
from firststart.units import from_si, parse

TWIN = engine(kind="motorcycle", ratio="9:1", displacement="360 ml", cylinders="2")

PUBLISHED = [
    ("Hyundai Excel 1994 service data", 9.4, 192, 192),
    ("Suzuki Swift 1995 service data", 9.5, 199, 199),
    ("Suzuki Swift GT 1992 service data", 10.0, 206, 206),
    ("Geo Tracker 1995 service data", 9.5, 199, 199),
    ("Jaguar XJS 1993 service data", 9.5, 160, 170),
    ("Jaguar XJS 4.0 1996 service data", 10.0, 157, 167),
    ("Jaguar XJS 6.0 1996 service data", 11.0, 194, 232),
    ("Cadillac XLR 2008 service data", 9.0, 131, 158),
]


@pytest.mark.external
@pytest.mark.parametrize(("source", "ratio", "low", "high"), PUBLISHED, ids=[p[0] for p in PUBLISHED])
def test_makers_own_compression_lies_in_the_band_of_their_ratio(
    source: str, ratio: float, low: float, high: float
) -> None:
    """The band from ratio and defaults holds what the maker of such an engine publishes, both ends."""
    found = expected(bench(engine(kind="car", ratio=f"{ratio}:1")))

    assert found.high is not None
    assert found.low / PSI <= low * 1.005, source
    assert high <= found.high / PSI


@pytest.mark.external
def test_a_decompressor_explains_a_low_reading() -> None:
    """Suzuki RM-Z250 service manual: 57 to 114 psi with the automatic decompressor at work, at a ratio of 13 or so."""
    context = bench(engine(kind="motorcycle", ratio="13:1"))
    verdict = judged("compression-dry", "85 psi", context)

    assert verdict.word == "low"
    assert any("decompressor" in d for d in verdict.details)


@pytest.mark.parametrize(
    ("reading", "word"),
    [
        ("150 psi", "inside"),
        ("10.5 bar", "inside"),
        ("100 psi", "low"),
        ("260 psi", "high"),
        ("4 psi", "none"),
        ("0 psi", "none"),
        ("0.3 bar", "none"),
        ("1100 kPa", "inside"),
    ],
)
def test_dry_reading_against_the_band(reading: str, word: str) -> None:
    """Any unit of the gauge, the same verdict."""
    assert word == judged("compression-dry", reading, bench(TWIN)).word


def test_too_near_the_edge_is_said_with_how_much() -> None:
    """Within half a step of the band's edge the verdict is unsure; a finer gauge decides the same reading."""
    edge = expected(bench(TWIN)).low
    near = f"{(edge + 300) / PSI:.3f} psi"

    assert judged("compression-dry", near, bench(TWIN)).word == "unsure"
    assert judged("compression-dry", near, bench(TWIN)).details[0].startswith("off the limit by")
    assert judged("compression-dry", near, bench(TWIN), resolution=100.0).word == "inside"


def test_the_band_prefers_the_manual_then_the_ratio_then_a_floor() -> None:
    """The maker's figure beats every computed one."""
    assert expected(bench(engine(manual_compression="170 psi", ratio="9:1"))).basis == MANUAL
    assert expected(bench(engine(ratio="9:1"))).basis == RATIO
    assert expected(bench(engine(kind="car"))).basis == FLOOR


@pytest.mark.parametrize(
    ("reading", "word"), [("105 psi", "inside"), ("80 psi", "unsure"), ("50 psi", "low"), ("5 psi", "none")]
)
def test_without_a_ratio_only_the_floors_speak(reading: str, word: str) -> None:
    """Over 100 psi is enough for most engines, under 60 for none; between them it is not known."""
    assert word == judged("compression-dry", reading, bench(engine(kind="car"))).word


@pytest.mark.parametrize("facts", [{"ratio": "9:1"}, {"manual_compression": "150 psi"}, {}], ids=str)
def test_altitude_lowers_what_is_asked(facts: dict[str, str]) -> None:
    """At 2000 m everything asked is 78.46 % of that at sea level (ISO 2533), whatever the band rests on."""
    low = expected(bench(engine(altitude="0 m", **facts))).low
    high_up = expected(bench(engine(altitude="2000 m", **facts))).low

    assert pytest.approx(0.78462, abs=1e-4) == high_up / low


def test_known_valve_timing_and_rod_narrow_the_band() -> None:
    """Each fact the person knows makes the band narrower, never wider."""
    wide = expected(bench(engine(kind="car", ratio="9:1")))
    closer = expected(bench(engine(kind="car", ratio="9:1", intake_closes="50 deg")))
    closest = expected(bench(engine(kind="car", ratio="9:1", intake_closes="50 deg", stroke="80 mm", rod="135 mm")))
    widths = [(b.high or 0) - b.low for b in (wide, closer, closest)]

    assert widths == sorted(widths, reverse=True)
    assert len(set(widths)) == 3


def test_a_two_stroke_compresses_from_its_exhaust_port() -> None:
    """Same ratio, much less reading, and the verdict says what was assumed."""
    found = expected(bench(engine(kind="snowmobile", cycle="two-stroke", ratio="9:1")))

    assert (found.high or 0) < (expected(bench(engine(kind="snowmobile", ratio="9:1"))).high or 0)
    assert any("exhaust port" in d for d in found.details)


@pytest.mark.parametrize(
    ("dry", "wet", "word"),
    [(80, 140, "rises"), (80, 84, "same"), (80, 80, "same"), (80, 90, "unsure"), (0, 60, "rises"), (100, 70, "same")],
)
def test_wet_against_dry(dry: float, wet: float, word: str) -> None:
    """A clear rise is rings or bore, none is valves or gasket, and in between is not said."""
    assert word == judged("compression-wet", f"{wet} psi", bench(TWIN, psi([dry])), cylinder=1).word


def test_the_room_of_the_oil_is_taken_out_of_a_rise() -> None:
    """15 ml in a 180 ml cylinder raises the reading by itself; what looks like rings is then not said."""
    much = {("wet-oil", None): parse("15 ml", "volume")}
    little = {("wet-oil", None): parse("1 ml", "volume")}

    assert judged("compression-wet", "140 psi", bench(TWIN, {**psi([80]), **much}), cylinder=1).word == "unsure"
    assert judged("compression-wet", "140 psi", bench(TWIN, {**psi([80]), **little}), cylinder=1).word == "rises"


def test_oil_that_fills_the_chamber_proves_nothing() -> None:
    """More oil than room above the piston: a rise is not believed, and the detail says so."""
    flood = {("wet-oil", 1): parse("30 ml", "volume")}
    verdict = judged("compression-wet", "160 psi", bench(TWIN, {**psi([80]), **flood}), cylinder=1)

    assert verdict.word == "unsure"
    assert "proves nothing" in verdict.details[0]


def test_wet_without_its_dry_reading_is_not_said() -> None:
    """The other cylinder's dry reading does not stand in."""
    assert judged("compression-wet", "140 psi", bench(TWIN, psi([80])), cylinder=2).word == "unsure"


@given(st.floats(50, 200), st.floats(0.5, 4), st.floats(5, 13), st.floats(50, 600))
def test_a_leak_free_rise_from_oil_room_alone_is_never_called_rings(
    dry: float, share: float, ratio: float, swept: float
) -> None:
    """However much oil goes in, the rise that its room alone explains is never "rises"."""
    oil = swept / (ratio - 1) * share / 5
    factor = oil_factor(swept * 1e-6, ratio, oil * 1e-6, 1.25)
    profile = engine(ratio=f"{ratio:.3f}:1", displacement=f"{swept:.3f} ml", cylinders="1")
    readings = {**psi([dry]), ("wet-oil", None): parse(f"{oil:.4f} ml", "volume")}
    wet = min(dry * factor, 1e5)

    assert judged("compression-wet", f"{wet:.3f} psi", bench(profile, readings), cylinder=1).word != "rises"


@pytest.mark.parametrize(
    ("first", "last", "word"),
    [(95, 160, "normal"), (40, 90, "climbs"), (80, 92, "stuck"), (65, 92, "unsure")],
    ids=["normal", "low, climbs: rings", "low, stays: valves", "neither"],
)
def test_build_up_patterns_of_the_makers(first: float, last: float, word: str) -> None:
    """Pontiac Solstice 2006 and Chevrolet Epica 2009 service manuals name the patterns; the shares are our own."""
    assert word == judged("compression-first", f"{first} psi", bench(TWIN, psi([last])), 1).word


def test_build_up_needs_both_puffs() -> None:
    """Without a last reading of the same cylinder there is no pattern; the neighbour's does not stand in."""
    assert judged("compression-first", "40 psi", bench(TWIN, psi([90])), 2).word == "unsure"


def test_a_gauge_that_fell_is_not_believed() -> None:
    """A first puff over the last reading is a slip of the eye, as the gauge keeps the highest."""
    verdict = judged("compression-first", "95 psi", bench(TWIN, psi([80])), 1)

    assert ("unsure", "95 psi first, 80 psi last. Read again.") == (verdict.word, verdict.say)


@pytest.mark.parametrize("judge", ["compression-dry", "compression-wet"])
def test_a_judge_of_pressure_refuses_anything_else(judge: str) -> None:
    """No reading, a voltage, and a pressure below a vacuum are typed errors."""
    with pytest.raises(InputError, match="pressure"):
        JUDGES[judge].run(None, bench())
    with pytest.raises(InputError, match="pressure"):
        JUDGES[judge].run(Reading("x", parse("12 V", "voltage"), 1), bench())
    with pytest.raises(RangeError, match="below a vacuum"):
        judged(judge, "-20 psi", bench(), cylinder=1)


@given(st.floats(0, 400), st.floats(4, 15), st.floats(-400, 5000))
def test_every_reading_has_a_finite_verdict(reading: float, ratio: float, metres: float) -> None:
    """No NaN, no exception, a word of the list and a source, for any reading, ratio and altitude."""
    context = bench(engine(ratio=f"{ratio:.2f}:1", altitude=f"{metres:.0f} m"))
    verdict = judged("compression-dry", f"{reading:.2f} psi", context)

    assert verdict.source
    assert verdict.mark
    assert all(math.isfinite(b) for b in (verdict.low, verdict.high) if b is not None)


def test_the_verdict_s_sentence_is_short_enough_to_hear() -> None:
    """At most twenty words, for every word of the list."""
    for reading in ("150 psi", "100 psi", "260 psi", "4 psi"):
        assert len(judged("compression-dry", reading, bench(TWIN)).say.split()) <= 20


def test_the_expected_band_as_an_amount() -> None:
    """A prompt can name the band in the person's unit."""
    context = Context(TWIN, LIMITS, {("compression.dry", 1): parse("10 bar", "pressure")})
    low = from_si(expected(context).low, "bar", "pressure").value

    assert AMOUNTS["expected-compression"](context).startswith(f"{low:.1f} to ")
    assert AMOUNTS["expected-compression"](context).endswith(" bar")


def test_a_two_stroke_is_not_told_to_look_at_valves() -> None:
    """It has none over the piston: what oil does not help points to the head gasket."""
    twin = TWIN.with_word("cycle", "two-stroke")

    assert "valves" not in judged("compression-wet", "80 psi", bench(twin, psi([80])), cylinder=1).say
    assert "valves" in judged("compression-wet", "80 psi", bench(TWIN, psi([80])), cylinder=1).say


def test_a_rise_just_over_what_oil_room_explains_is_too_near_to_say() -> None:
    """Half a psi over the limit is inside the doubt of two readings; five psi over is a rise."""
    factor, _ = oil_rise(bench(TWIN), 1)
    limit = 80 * 1.1 * factor

    assert judged("compression-wet", f"{limit + 0.5:.2f} psi", bench(TWIN, psi([80])), cylinder=1).word == "unsure"
    assert judged("compression-wet", f"{limit + 5:.2f} psi", bench(TWIN, psi([80])), cylinder=1).word == "rises"


def test_the_rod_counts_when_it_is_known() -> None:
    """A longer rod leaves less of the stroke after intake closing."""
    facts = {"ratio": "9:1", "intake_closes": "60 deg", "stroke": "80 mm"}
    short, long = (expected(bench(engine(rod=rod, **facts))).low for rod in ("110 mm", "200 mm"))

    assert long < short
