"""Rules with two small procedures beside the shipped ones."""

from __future__ import annotations

from dataclasses import replace

import pytest
from job_desk import READ, SPIN

from firststart.job.rules import Rules
from firststart.procedure.library import Library


@pytest.fixture(scope="session")
def spin_rules(library: Library) -> Rules:
    """The shipped rules with one small procedure that only cranks, and one that only measures."""
    return Rules(replace(
        library, procedures={**library.procedures, "spin": SPIN, "read": READ},
        documents={**library.documents, **dict.fromkeys(("spin", "read"), library.documents["place"])},
    ))  # fmt: skip
