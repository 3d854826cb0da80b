"""What this report does not say. It never calls an engine safe; it says what was checked."""

from __future__ import annotations

from collections.abc import Sequence

from firststart.report.model import DiagnosisPart, HoldLine, ProfileLine, Reading, StarterPart, WorkLine
from firststart.report.wording import one_line, plural

CAUTIONS = (
    "The maker's manual and local codes come first. Where this report differs from them, follow them.",
    "Where the law or the insurer asks for licensed practice, have the work done or checked by someone licensed.",
    "A hold point that is not fresh counts for nothing. Do its check again before any work that needs it.",
    "What changes after the last entry of the record is not in this report: look again before you crank.",
)
REHEARSED = "This is a rehearsal on a virtual engine: nothing in it was done, measured or checked on a real one."
CONDEMNED_RATE = 0.08
"""Of sound engines that a patient person is led through all the work with, at most this share may have something
condemned. Such a person misjudges one look in two hundred, and meets about a hundred of them. Measured on virtual
engines by `rehearse --many`."""
NOT_SAFE = "It does not say that this engine is safe. It says what was checked, when, and what was found."


def cautions(tool: str) -> tuple[str, ...]:
    """What stands before everything else; the report of a rehearsal says first that it is one."""
    return (REHEARSED, *CAUTIONS) if tool == "rehearsal" else CAUTIONS


def silent(
    profile: Sequence[ProfileLine],
    work: Sequence[WorkLine],
    holds: Sequence[HoldLine],
    readings: Sequence[Reading],
    starter: StarterPart,
    diagnosis: DiagnosisPart | None,
) -> tuple[str, ...]:
    """The sentences of "what this report does not say", those that always hold first."""
    lines = [NOT_SAFE, "It does not say anything about parts that no line of it names."]
    lines.append("Readings and answers are as the person gave them. No instrument was connected to the tool.")
    lines += [*_work(work), *_holds(holds), *_profile(profile), *_readings(readings)]
    if starter.cranks and starter.electric:
        lines.append("The temperature of the starter's winding is computed from the seconds cranked, not measured.")
    if diagnosis is not None:
        lines.append("The chances of suspects put checks in order. They are estimates, not measurements.")
        lines.append(
            f"Of virtual engines with nothing wrong, up to {CONDEMNED_RATE * 100:.0f} in a hundred had something "
            "condemned all the same: look twice before a part is bought."
        )
    return tuple(lines)


def _work(work: Sequence[WorkLine]) -> list[str]:
    open_ = [w.title for w in work if w.stand in ("not done", "left for later", "under way")]
    unsure = [w.title for w in work if w.stand == "undecided"]
    lines = []
    if open_:
        lines.append(f"Nothing is said about work that was not done ({len(open_)}): {_few(open_)}.")
    if unsure:
        lines.append(f"These came to no decision: {_few(unsure)}.")
    return lines


def _holds(holds: Sequence[HoldLine]) -> list[str]:
    stale = [h.say for h in holds if not h.fresh and not h.quick and h.met is not None]
    return [f"These were met once and are stale now: {_few(stale)}."] if stale else []


def _profile(profile: Sequence[ProfileLine]) -> list[str]:
    assumed = [p.label for p in profile if p.known == "assumed"]
    unknown = sum(1 for p in profile if p.known == "unknown")
    lines = []
    if assumed:
        lines.append(f"These facts of the engine are assumed from its kind, not seen: {_few(assumed)}.")
    if unknown:
        lines.append(f"{plural(unknown, 'field')} of the engine's profile {'is' if unknown == 1 else 'are'} unknown.")
    return lines


def _readings(readings: Sequence[Reading]) -> list[str]:
    bare = sum(1 for r in readings if r.judged is None)
    stepless = sum(1 for r in readings if r.resolution is None)
    lines = []
    if bare:
        lines.append(f"No limit is recorded to judge {plural(bare, 'reading')} by.")
    if stepless:
        lines.append(f"For {plural(stepless, 'reading')} the instrument's step is not recorded.")
    return lines


def _few(names: Sequence[str], most: int = 12) -> str:
    shown = ", ".join(one_line(n) for n in names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"
