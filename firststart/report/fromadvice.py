"""The diagnosis's advice as the report takes it."""

from __future__ import annotations

from collections.abc import Sequence

from firststart.diagnosis.advice import Advice, Kind, Standing, Step
from firststart.report.model import DiagnosisPart, NextCheck, Round, Suspect

_TITLES: dict[Kind, str] = {
    "check": "Next check", "fix": "Next, put right", "try": "Next", "wait": "Wait with", "specialist": "Ask",
    "done": "It runs",
}  # fmt: skip


def part_of(advice: Advice, rounds: Sequence[Round] = ()) -> DiagnosisPart:
    """The advice, and what each check did to the suspects (`rounds.rounds_of`), as one part of a report."""
    return DiagnosisPart(
        ruled_out=_suspects(advice.ruled_out),
        left=_suspects(advice.left),
        found=_suspects(advice.found),
        mended=_suspects(advice.of("mended")),
        next_check=_next(advice.next, advice),
        reason=advice.spoken,
        outside=advice.outside,
        rounds=tuple(rounds),
        names={s.suspect: s.name for s in advice.standing},
        runs=advice.next.kind == "done",
    )


def _next(step: Step, advice: Advice) -> NextCheck | None:
    if step.kind == "done":
        return None
    return NextCheck(step.name, step.do, advice.spoken, step.minutes, advice.why_not, _TITLES[step.kind])


def _suspects(standing: Sequence[Standing]) -> tuple[Suspect, ...]:
    return tuple(Suspect(s.suspect, s.name, s.chance, s.word, s.reason or "", s.at) for s in standing)
