"""The way out for the data, and back in: JSON against its schema, UCUM codes, CSV, and what is refused."""

from __future__ import annotations

import csv
import io
import json
from datetime import datetime, timedelta, timezone
from functools import cache
from importlib.resources import files
from random import Random
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from report_jobs import Bench, golden_report, rules, weekend
from report_random import jobs, random_job
from ucumvert import PintUcumRegistry

from firststart.errors import InputError, RecordTooNew
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.fold import fold_all
from firststart.report.build import build_report
from firststart.report.csvform import to_csv
from firststart.report.jsonform import MOST_BYTES, from_json, to_json
from firststart.report.text import to_text
from firststart.report.ucum import SI_CODES, quantity, step
from firststart.report.wire import schema_text
from firststart.units import KINDS, Measured, measured


def _document() -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads(to_json(golden_report(), weekend().facts))
    return loaded


def _validator() -> jsonschema.Draft202012Validator:
    schema = json.loads(files("firststart.report").joinpath("schema.json").read_text(encoding="utf-8"))
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker(["date-time"]))


def test_the_published_schema_is_the_one_the_models_make() -> None:
    """`schema.json` is `wire.schema_text()`: nobody edits one without the other."""
    assert schema_text() == files("firststart.report").joinpath("schema.json").read_text(encoding="utf-8")


def test_an_export_is_valid_by_its_schema() -> None:
    """Checked by the jsonschema library (JSON Schema 2020-12), times by RFC 3339."""
    _validator().check_schema(_validator().schema)

    assert [] == [e.message for e in _validator().iter_errors(_document())]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d.update(version=3),
        lambda d: d.update(made="yesterday"),
        lambda d: d["measurements"][0]["quantity"].pop("ucum"),
        lambda d: d["facts"][0].update(type="no-such-fact"),
        lambda d: d.update(more=1),
    ],
)
def test_the_schema_refuses_what_is_no_export(spoil: Any) -> None:
    """A document with a wrong version, time, unit, fact or a field too many is not valid."""
    document = _document()
    spoil(document)

    assert not _validator().is_valid(document)


def test_import_of_export_is_the_same_job() -> None:
    """Facts come back equal, and so does all that is folded from them."""
    back = from_json(to_json(golden_report(), weekend().facts))

    assert weekend().facts == back
    assert fold_all(weekend().facts) == fold_all(back)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(facts=jobs())
def test_any_job_can_be_reported_exported_and_read_back_equal(facts: tuple[f.Fact, ...]) -> None:
    """Random jobs of random answers: every form can be made, and the export comes back equal."""
    now = max(x.at for x in facts) + timedelta(hours=1)
    report = build_report(facts, rules(), now)
    text = to_json(report, facts)

    assert facts == from_json(text, now)
    assert len(report.readings) == len(list(csv.reader(io.StringIO(to_csv(report), newline="")))) - 1
    assert to_text(report).startswith("Report of job")


@pytest.mark.parametrize("seed", range(3))
def test_the_export_of_a_random_job_is_valid_by_the_schema(seed: int) -> None:
    """What random answers leave behind fits the published schema too."""
    facts = random_job(Random(seed), ("one", "tw\u00f6", ""), 60)
    now = max(x.at for x in facts)
    document = json.loads(to_json(build_report(facts, rules(), now), facts))

    assert [] == [e.message for e in _validator().iter_errors(document)]


def test_times_keep_their_zone_and_their_instant() -> None:
    """A report made two hours east is exported with +02:00; the facts stay as they were recorded."""
    east = datetime(2026, 5, 4, 12, tzinfo=timezone(timedelta(hours=2)))
    document = json.loads(to_json(build_report(weekend().facts, rules(), east), weekend().facts))

    assert ("2026-05-04T12:00:00+02:00", "2026-05-02T11:00:00+02:00") == (document["made"], document["opened"])
    assert document["facts"][0]["at"] == "2026-05-02T09:00:00Z"


def test_a_measurement_says_its_unit_in_ucum_beside_the_number_as_given() -> None:
    """The wet reading: 124 psi, its UCUM code, its SI value and the code of that."""
    found = next(m["quantity"] for m in _document()["measurements"] if m["name"] == "compression.wet")

    assert (124.0, "[psi]", "pressure", "Pa") == (found["value"], found["ucum"], found["kind"], found["si_ucum"])
    assert 124 * 6894.757293168361 == pytest.approx(found["si"])


# ucumvert reads [in_i'Hg] as the column at 60 degrees Fahrenheit; UCUM's own table (from memory) defines it by these
# parts: the metre column of mercury times the inch.
BY_PARTS = {"[in_i'Hg]": "m[Hg].[in_i]/m"}
UNITS = [(kind, unit.symbol) for kind in KINDS for unit in (KINDS[kind].units)]


@pytest.mark.parametrize(("kind", "unit"), UNITS)
def test_every_ucum_code_means_the_unit_it_stands_for(kind: str, unit: str) -> None:
    """Each code, read by the independent ucumvert library, converts 7.5 of it to the SI value given beside it."""
    found = quantity(measured(7.5, unit, kind))
    ucum = _ucum()
    unit_of_it = ucum.from_ucum(BY_PARTS.get(found.ucum, found.ucum))
    given, si = ucum.Quantity(found.value * unit_of_it.magnitude, unit_of_it.units), ucum.from_ucum(found.si_ucum)

    assert found.si == pytest.approx(given.to(si.units).magnitude / si.magnitude)


@cache
def _ucum() -> Any:
    return PintUcumRegistry()


def test_every_kind_has_an_si_code() -> None:
    """No kind of quantity is without the UCUM code of its SI unit."""
    assert set() == {k.si for k in KINDS.values()} - set(SI_CODES)


def test_a_step_of_a_temperature_is_a_difference() -> None:
    """Half a degree Celsius of resolution is half a kelvin, not 273.65."""
    found = step(Measured(0.5, "degC", "temperature", 0.5))

    assert (0.5, "K") == (found.value, found.ucum)


def _changed(**change: Any) -> str:
    return json.dumps({**_document(), **change})


def _with_fact(entry: int, **change: Any) -> str:
    document = _document()
    document["facts"][entry - 1].update(change)
    return json.dumps(document)


@pytest.mark.parametrize(
    ("text", "error", "words"),
    [
        ("", InputError, "not JSON"),
        ("{", InputError, "not JSON in line 1"),
        (b"\xff\xfe\x00", InputError, "not JSON"),
        ("[" * 100_000, InputError, "not JSON"),
        ('{"format": "firststart-job", "format": "x"}', InputError, "stands twice"),
        ('{"format": NaN}', InputError, "no number"),
        ("[]", InputError, "no exported job"),
        ('{"format": "another"}', InputError, "no exported job"),
        ('{"format": "firststart-job", "version": 1}', InputError, "damaged: facts"),
        (_changed(version=3), RecordTooNew, "newer"),
        (_changed(version=0), InputError, "version"),
        (_changed(facts=[]), InputError, "entries"),
        (_changed(facts=[1]), InputError, "entry 1"),
        (_changed(facts=_document()["facts"][1:]), InputError, "opening of one job"),
        (_changed(facts=_document()["facts"] * 2), InputError, "open no other"),
        (_with_fact(3, type="boom"), InputError, "entry 3"),
        (_with_fact(3, at="2026-05-02T09:00:15"), InputError, "without a zone"),
        (_with_fact(12, run=99), InputError, "Entry 12 .* does not follow"),
        (_with_fact(6, number={"value": 2, "unit": "furlong", "kind": "count", "si": 2}), InputError, "Entry 6"),
        (_with_fact(6, number={"value": 2, "unit": "", "kind": "count", "si": 3}), InputError, "by hand"),
        (_with_fact(3, word="zeppelin"), InputError, "does not follow"),
    ],
    ids=lambda x: str(x)[:24] if not isinstance(x, type) else x.__name__,
)
def test_what_is_no_export_is_refused_in_a_sentence(text: str, error: type[Exception], words: str) -> None:
    """Each wrong file is refused with one line that says what is wrong and where."""
    with pytest.raises(error, match=words) as caught:
        from_json(text)

    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


def test_an_export_from_the_future_is_refused_when_the_time_is_known() -> None:
    """Entries dated after now would hold up every rest; a clock a few hours ahead is let pass."""
    text = to_json(golden_report(), weekend().facts)
    newest = weekend().facts[-1].at

    assert weekend().facts == from_json(text, newest - timedelta(hours=20))
    with pytest.raises(InputError, match="still to come"):
        from_json(text, newest - timedelta(days=2))


def test_an_export_too_large_for_one_job_is_refused_before_it_is_read() -> None:
    """The size is looked at first."""
    with pytest.raises(InputError, match="larger than 64 MB"):
        from_json(" " * (MOST_BYTES + 1))


def test_a_time_without_a_zone_is_not_exported() -> None:
    """RFC 3339 asks for an offset; a fact without one is refused and named."""
    facts = [*weekend().facts, f.NoteAdded(at=datetime(2026, 5, 4), text="x")]  # noqa: DTZ001

    with pytest.raises(InputError, match=f"Entry {len(facts)}"):
        to_json(golden_report(), facts)


def test_the_table_of_measurements_holds_each_reading_once() -> None:
    """Eight readings, their numbers with UCUM codes, limits in the unit of the reading."""
    rows = list(csv.DictReader(io.StringIO(to_csv(golden_report()), newline="")))
    low = next(r for r in rows if r["value"] == "96.0")

    assert [r.number for r in golden_report().readings] == [int(r["number"]) for r in rows]
    assert ("[psi]", "2", "counts", "low") == (low["ucum"], low["cylinder"], low["counts"], low["verdict"])
    assert (120.0, 150.0) == pytest.approx((float(low["low"]), float(low["high"])))


def test_a_spreadsheet_runs_nothing_of_it() -> None:
    """Text that begins like a formula is given an apostrophe; numbers below zero stay numbers."""
    bench = Bench(engine="=HYPERLINK(1)")
    bench.work("place", "open air")
    bench.work("battery", "12.5 V")
    facts = list(bench.facts)
    cold = f.ValueMeasured(
        at=facts[-1].at, run=2, state="x", name="cold", value=measured(-5, "degC", "temperature"), instrument="@probe"
    )
    report = build_report([*facts, cold], rules(), bench.clock.now())
    rows = list(csv.DictReader(io.StringIO(to_csv(report), newline="")))

    assert {"'=HYPERLINK(1)"} == {r["engine"] for r in rows}
    assert ("-5.0", "'@probe") == (rows[-1]["value"], rows[-1]["instrument"])


def test_notes_come_back_letter_for_letter() -> None:
    """The record keeps a note as it was left, whatever the page shows of it."""
    bench = Bench()
    note = "tab\there, <script>, \u202e turned, \U0001f527, \x07"
    bench.give(i.Note(note))
    back = from_json(to_json(build_report(bench.facts, rules(), bench.clock.now()), bench.facts))

    assert note == next(x.text for x in back if isinstance(x, f.NoteAdded))
