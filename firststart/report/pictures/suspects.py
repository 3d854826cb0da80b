"""Suspects before and after each check: a row a suspect, a column a check, a bar for the chance."""

from __future__ import annotations

from firststart.report.model import DiagnosisPart, Report, Round
from firststart.report.picture import TOP, Box, Picture, Rule, Shape, Table, Word, cells, fit
from firststart.report.wording import per_cent

_LEFT, _RIGHT, _ROW = 158.0, 454.0, 30.0
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
    width = (_RIGHT - _LEFT) / (len(rounds) + 1)
    head = 30.0
    shapes: list[Shape] = []
    first = len(d.rounds) - len(rounds)
    for k in range(len(rounds) + 1):
        x = _LEFT + k * width
        text = "before" if k == 0 else f"after {first + k}"
        shapes += [Word(x + 4, TOP + 6, text, "lb"), Rule(x, TOP + 12, x, TOP + head + _ROW * len(names), "gr")]
    for n, name in enumerate(names):
        shapes += _row(name, kept[name], TOP + head + _ROW * n, width)
    key = tuple((f"n{first + k}", f"{first + k}: {r.check}, {r.outcome}") for k, r in enumerate(rounds, 1))
    return Picture(
        "suspects", "Suspects before and after each check", _tells(rounds), TOP + head + _ROW * len(names) + 8,
        tuple(shapes), _twin(d.rounds, chances), key,
    )  # fmt: skip


def _row(name: str, chances: list[float | None], y: float, width: float) -> list[Shape]:
    """A suspect's name, and in each column its chance as a number over a bar."""
    shapes: list[Shape] = [Word(_LEFT - 8, y + 14, fit(name, 22), "lb name", "end")]
    for k, chance in enumerate(chances):
        x = _LEFT + k * width + 5
        if chance is None:
            shapes.append(Word(x, y + 11, "not told", "lb dim"))
            continue
        text = per_cent(chance)
        shapes.append(Word(x, y + 11, text.replace("under ", "<").replace("over ", ">"), "lb val"))
        shapes.append(Box(x, y + 15, width - 12, 6, "rail"))
        shapes.append(Box(x, y + 15, max((width - 12) * chance, 1.0), 6, "s0" if k else "s0 old", f"{name}: {text}"))
    return shapes


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
