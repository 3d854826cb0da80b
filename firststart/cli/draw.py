"""`firststart draw`: the machine of a procedure as a picture or as SCXML."""

from __future__ import annotations

import argparse
import sys

from firststart.cli.common import load_rules
from firststart.errors import RecordReadOnly
from firststart.machine.compile import MAX_CYLINDERS, compile_table
from firststart.machine.picture import to_svg
from firststart.machine.scxml import to_scxml
from firststart.units import in_range


def run_draw(arguments: argparse.Namespace) -> int:
    """Write the machine to a file or to the screen. Raises UnknownName, RangeError, RecordReadOnly."""
    rules = load_rules(arguments)
    procedure = rules.library.procedure(arguments.procedure)
    in_range(arguments.cylinders, "cylinders", 1, MAX_CYLINDERS, "")
    table = compile_table(procedure, rules.library.safety, rules.judge_words, {}, arguments.cylinders)
    text = to_scxml(table) if arguments.format == "scxml" else to_svg(table)
    if arguments.output is None:
        sys.stdout.write(text)
        return 0
    try:
        arguments.output.write_text(text, encoding="utf-8")
    except OSError as error:
        message = f"{arguments.output} cannot be written ({error.strerror}); choose another place."
        raise RecordReadOnly(message) from None
    print(arguments.output)
    return 0
