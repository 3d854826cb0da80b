"""Every export held against a schema of SCXML: `python tests/machine/scxml_schema.py [FILE]`. Not collected as a test.

FILE is a copy of the W3C's schema with its modules beside it, as they stand at https://www.w3.org/2011/04/SCXML/
(driver scxml-strict.xsd, XML Schema 1.1 with assertions); without it, our own transcription in scxml.xsd. Printed:
documents, and each that is not valid with the reasons; 1 when there is any. With the W3C's it takes minutes: its
assertions compare every transition with every state.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from functools import cache
from itertools import islice
from pathlib import Path

import xmlschema

from firststart.bench.shop import make_rules
from firststart.job.rules import Rules
from firststart.machine.compile import compile_table
from firststart.machine.prove import engines
from firststart.machine.scxml import to_scxml
from firststart.procedure.catalogue import data_folder, load_library

OURS = Path(__file__).resolve().parent / "scxml.xsd"


@cache
def schema() -> xmlschema.XMLSchema:
    """Our transcription, read once."""
    return xmlschema.XMLSchema(OURS)


def reasons(text: str, by: xmlschema.XMLSchema) -> list[str]:
    """Why the document is not valid; nothing when it is."""
    return [f"{error.path}: {error.reason}" for error in by.iter_errors(text)]


def exports(rules: Rules, kinds: int) -> Iterator[tuple[str, str]]:
    """Each procedure's name and document, for the first few kinds of engine that it can tell apart."""
    for procedure in rules.library.procedures.values():
        for words, cylinders in islice(engines(procedure, rules.library), kinds):
            table = compile_table(procedure, rules.library.safety, rules.judge_words, words, cylinders)
            yield procedure.id, to_scxml(table)


def main() -> int:
    """Print what is not valid."""
    by = xmlschema.XMLSchema11(sys.argv[1]) if len(sys.argv) > 1 else schema()
    documents = bad = 0
    for name, text in exports(make_rules(load_library(data_folder("procedures"))), 1):
        found = reasons(text, by)
        documents, bad = documents + 1, bad + bool(found)
        for reason in found[:3]:
            print(f"{name}: {reason}", flush=True)
    print(f"{documents} documents, {documents - bad} valid, {bad} not, by {Path(by.url or '').name}")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
