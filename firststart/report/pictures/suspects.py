"""Suspects before and after each check: a row a suspect, a column a check, a bar for the chance."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from firststart.report.inline import DIM, HAIR, INK
from firststart.report.model import DiagnosisPart, Report, Round
from firststart.report.picture import Picture, Table, cells
from firststart.report.plot import FILLS, canvas, rows, tip, write
from firststart.report.wording import per_cent

if TYPE_CHECKING:
    from firststart.report.plot import Axes

_ROW = 30.0
_ROUNDS, _SUSPECTS = 4, 10
_LEAST = 0.02  # a suspect that stays under it in all columns has no row


def suspect_pictures(report: Report) -> tuple[Picture, ...]:
    """One picture when the diagnosis tells what its checks did; none otherwise."""
    d = report.diagnosis
    if d is None or not d.rounds:
        return ()
    return (_picture(d),)


def _picture(d: DiagnosisPart) -> Picture:
    rounds = d.rounds[-_ROUNDS:]
    chances = _chances(d.rounds)
    kept = {n: c[len(d.rounds) - len(rounds) :] for n, c in chances.items()}
    likely = {n: max(x for x in c if x is not None) for n, c in kept.items()}
    names = sorted((n for n in kept if likely[n] >= _LEAST), key=lambda n: -likely[n])[:_SUSPECTS]
    first = len(d.rounds) - len(rounds)
    with canvas(30 + _ROW * len(names), apart=0.06) as figure:
        for k, axes in enumerate(figure.subplots(1, len(rounds) + 1, sharey=True)):
            short = k > 1 and len(rounds) == _ROUNDS  # "after 9", "10", "11": all of them have room on a phone
            axes.set_title("before" if k == 0 else f"{first + k}" if short else f"after {first + k}", loc="left")
            _column(axes, names, [kept[n][k] for n in names], 0.55 if k == 0 else 1.0)
        rows(figure.axes[0], names, 24, lines=2)
    key = tuple((f"n{first + k}", f"{first + k}: {r.check}, {r.outcome}") for k, r in enumerate(rounds, 1))
    title = "Suspects before and after each check"
    return Picture("suspects", title, _tells(rounds), figure, _twin(d.rounds, chances), key)


def _column(axes: Axes, names: Sequence[str], chances: Sequence[float | None], strong: float) -> None:
    """The chance of each suspect at one time, as a number over a bar."""
    axes.set(xlim=(0, 1), xticks=[])
    axes.spines["bottom"].set_visible(False)
    for row, (name, chance) in enumerate(zip(names, chances, strict=True)):
        at = (0, row + 0.1)
        if chance is None:
            write(axes, at, "not told", ha="left", color=DIM)
            continue
        text = per_cent(chance)
        write(axes, at, text.replace("under ", "<").replace("over ", ">"), ha="left", weight="bold", color=INK)
        axes.barh(row + 0.3, 1, 0.2, facecolor=HAIR, label="rail")
        (bar,) = axes.barh(row + 0.3, max(chance, 0.01), 0.2, label=name, alpha=strong, **FILLS["s0"])
        tip(bar, f"{name}: {text}")


def _chances(rounds: tuple[Round, ...]) -> dict[str, list[float | None]]:
    """Each suspect's chance before the first check and after each; what a check leaves out stays as it was."""
    names = list(dict.fromkeys(s.name for r in rounds for s in r.shifts))
    found: dict[str, list[float | None]] = {n: [] for n in names}
    for n in names:
        first = next(s.before for r in rounds for s in r.shifts if s.name == n)
        known: float | None = first
        found[n].append(first)
        for r in rounds:
            known = next((s.after for s in r.shifts if s.name == n), known)
            found[n].append(known)
    return found


def _tells(rounds: tuple[Round, ...]) -> str:
    last = rounds[-1]
    top = sorted(last.shifts, key=lambda s: -s.after)[:3]
    parts = [f"{s.name} from {per_cent(s.before)} to {per_cent(s.after)}" for s in top]
    return f"The newest check, {last.check} ({last.outcome}), moved {', '.join(parts)}." if parts else "Nothing moved."


def _twin(rounds: tuple[Round, ...], chances: dict[str, list[float | None]]) -> Table:
    head = ("Suspect", "Before", *(f"After {n}: {r.check}" for n, r in enumerate(rounds, 1)))
    rows = tuple(
        cells(name, *("not told" if c is None else per_cent(c) for c in values)) for name, values in chances.items()
    )
    return Table("Chances of the suspects", head, rows)
