"""A short run of every way in: whatever is fed in, one clear sentence or a right value, quickly, and nothing runs."""

from __future__ import annotations

import resource

import pytest
from fuzz_guard import FOLDER, Hung, RanCode, guarded, warm
from fuzz_targets import TARGETS
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

EXAMPLES = {"fault-tables": 10, "answers": 25, "lessons": 15}  # the slower ones
MOST_KB = 1_500_000  # what a process that has fed in everything may hold


@pytest.mark.parametrize("name", sorted(TARGETS))
def test_nothing_fed_in_does_harm(name: str) -> None:
    """No traceback, no second lost, no code run, no file written, no memory eaten."""
    warm(TARGETS[name].do)

    @settings(
        max_examples=EXAMPLES.get(name, 40), derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )
    @given(data=st.binary(max_size=400))
    @example(data=b"")
    def feed(data: bytes) -> None:
        guarded(TARGETS[name].do, data, limit=3.0)

    feed()

    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss < MOST_KB


@pytest.mark.parametrize(
    ("planted", "seen"),
    [
        (lambda _data: exec("1 + 1"), RanCode),
        (lambda _data: __import__("subprocess").run(["true"], check=True), RanCode),
        (lambda _data: (FOLDER.parent / "firststart-planted").write_text("x"), RanCode),
        (lambda _data: {}["x"], KeyError),
        (lambda _data: sum(range(10**10)) if _spin() else None, Hung),
    ],
)
def test_the_guard_sees_what_is_planted(planted: object, seen: type[BaseException]) -> None:
    """Code that runs, a file written elsewhere, a traceback and a hang are each found."""
    with pytest.raises(seen):
        guarded(planted, b"", limit=0.2)  # type: ignore[arg-type]
    (FOLDER.parent / "firststart-planted").unlink(missing_ok=True)


def _spin() -> bool:
    while True:
        pass
