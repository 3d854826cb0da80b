"""A comparison for machines: pydantic models, from which `schema-comparison.json` is made, and the way into them."""

from __future__ import annotations

import json
from typing import Any, Literal

from firststart.report.compare import HIGHER, LOWER, Change, Comparison
from firststart.report.ucum import quantity, step
from firststart.report.wire import Part, Quantity

FORMAT: Literal["firststart-comparison"] = "firststart-comparison"
SCHEMA_ID = "firststart-comparison-1.schema.json"


class Changed(Part):
    """One reading made in both. `number` is its entry in its job.

    `beyond`: is the difference larger than both half steps together; null when a step is not recorded.
    `standard_uncertainty` is the combined standard uncertainty of the two steps (GUM, rectangular).
    """

    name: str
    cylinder: int | None
    before: Quantity
    after: Quantity
    before_number: int
    after_number: int
    before_instrument: str
    after_instrument: str
    difference: Quantity
    both_half_steps: Quantity | None
    standard_uncertainty: Quantity | None
    beyond: bool | None
    word: str
    notes: tuple[str, ...]


class ToldOtherwise(Part):
    """One thing told in words that is not the same any more."""

    sort: Literal["outcome", "verdict", "answer", "engine"]
    what: str
    before: str
    after: str


class ComparisonDocument(Part):
    """Two tests or two jobs on one engine."""

    format: Literal["firststart-comparison"] = FORMAT
    version: Literal[1] = 1
    engine: str
    before: str
    after: str
    changes: tuple[Changed, ...]
    told: tuple[ToldOtherwise, ...]
    only_before: tuple[str, ...]
    only_after: tuple[str, ...]


def comparison_json(c: Comparison) -> str:
    """The comparison as JSON text."""
    told: tuple[Any, ...] = tuple(vars(t) for t in c.told)
    document = ComparisonDocument(
        engine=c.engine, before=c.before, after=c.after, changes=tuple(_changed(x) for x in c.changes), told=told,
        only_before=c.only_before, only_after=c.only_after,
    )  # fmt: skip
    return document.model_dump_json(indent=1) + "\n"


def comparison_schema() -> str:
    """The JSON Schema (draft 2020-12) of a comparison, as the file `schema-comparison.json` holds it."""
    schema: dict[str, Any] = ComparisonDocument.model_json_schema(mode="serialization")
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA_ID}
    whole = {**head, **schema, "title": "A comparison of two jobs or tests of firststart"}
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def _changed(x: Change) -> Changed:
    return Changed(
        name=x.name, cylinder=x.cylinder, before=quantity(x.before.value), after=quantity(x.after.value),
        before_number=x.before.number, after_number=x.after.number, before_instrument=x.before.instrument,
        after_instrument=x.after.instrument, difference=step(x.by),
        both_half_steps=None if x.doubt is None else step(x.doubt),
        standard_uncertainty=None if x.standard is None else step(x.standard),
        beyond=None if x.doubt is None else x.word in (HIGHER, LOWER), word=x.word, notes=x.notes,
    )  # fmt: skip
