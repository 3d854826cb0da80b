"""A procedure's machine as a picture: one self-contained SVG, light or dark as the reader's screen is.

Each sort of state has a shape of its own: an action is a plain card, a question a card with a cut corner, a
reading a ruled one, a wait a pill, a crank a card with a heavy frame. A gate is a bar across the way, and names
what must hold. Ends are coloured and say their outcome in words, so that nothing hangs on colour alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import pairwise
from textwrap import wrap

from firststart.machine.layout import Drawing, Point, Size, arrange
from firststart.machine.table import EVENTLESS, FINAL, GATE, LEAVE, Arrow, State, Table

CARD_W, LINE_H, PAD = 230.0, 16.0, 10.0
_CHARS, _LABEL_CHARS, _TAG_CHARS = 31, 30, 38
_MARGIN, _HEAD = 28.0, 74.0
_STYLE = """
svg { --paper: #fbfaf7; --ink: #20242a; --soft: #6b7280; --line: #8a929e; --card: #ffffff; --edge: #b9bfc8;
  --ask: #eef3fb; --read: #eef7f1; --wait: #f4f0fa; --crank: #fdf3e2; --judge: #f1f1ef; --gate: #fbe9e5;
  --gate-edge: #b4472e; --ok: #1f7a4a; --bad: #b4472e; --undecided: #8a6100; --left: #6b7280; }
@media (prefers-color-scheme: dark) {
  svg { --paper: #16181c; --ink: #e8e6e1; --soft: #9aa1ac; --line: #79818d; --card: #20242a; --edge: #464d57;
    --ask: #1f2733; --read: #1d2a24; --wait: #282433; --crank: #35291a; --judge: #26282b; --gate: #38231e;
    --gate-edge: #e58a72; --ok: #6fcf97; --bad: #e58a72; --undecided: #e0b354; --left: #9aa1ac; } }
.paper { fill: var(--paper); } text { fill: var(--ink); font: 12.5px/1.3 ui-sans-serif, system-ui, sans-serif; }
.title { font-size: 20px; font-weight: 600; } .soft { fill: var(--soft); font-size: 11px; }
.name { font-size: 10.5px; fill: var(--soft); letter-spacing: .04em; }
.shape { fill: var(--card); stroke: var(--edge); stroke-width: 1.2; }
.choice { fill: var(--ask); } .measure { fill: var(--read); } .wait { fill: var(--wait); }
.judge { fill: var(--judge); }
.crank { fill: var(--crank); stroke: var(--gate-edge); stroke-width: 2.6; }
.gate { fill: var(--gate); stroke: var(--gate-edge); } .tick { stroke: var(--edge); stroke-width: 1.2; }
.final { stroke-width: 2; } .ok { stroke: var(--ok); } .bad { stroke: var(--bad); }
.undecided { stroke: var(--undecided); } .left { stroke: var(--left); } .outcome { font-weight: 600; }
.way { fill: none; stroke: var(--line); stroke-width: 1.3; } .up { stroke-dasharray: 5 4; }
.label { font-size: 11px; paint-order: stroke; stroke: var(--paper); stroke-width: 4px; stroke-linejoin: round; }
.head { fill: var(--line); }
"""


def to_svg(table: Table) -> str:
    """The picture of a table, without its arrows for leaving, which stand at every state."""
    names = tuple(table.reachable())
    shown = {n for n in names if n != LEAVE and not _only_left(table, n)}
    arrows = [a for a in table.arrows if _drawn(a, shown)]
    ways = _ways(arrows)
    texts = {n: _lines(table.states[n]) for n in names if n in shown}
    sizes = {n: _size(table.states[n], texts[n]) for n in texts}
    drawing = arrange(sizes, list(ways), table.initial)
    width, height = max(drawing.width, 520.0) + 2 * _MARGIN, drawing.height + _HEAD + 2 * _MARGIN
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" width="{width:.0f}" '
        f'height="{height:.0f}" role="img" aria-labelledby="t d">',
        f'<title id="t">{escape(table.procedure.title)}</title>',
        f'<desc id="d">{escape(table.procedure.purpose)} {len(texts)} states, {len(ways)} ways.</desc>',
        f"<style>{_STYLE}</style>",
        '<defs><marker id="a" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="8" markerHeight="8" orient="auto">'
        '<path class="head" d="M0 0.6 8 4 0 7.4z"/></marker></defs>',
        f'<rect class="paper" width="{width:.0f}" height="{height:.0f}"/>',
        *_heading(table),
        f'<g transform="translate({_MARGIN:.0f} {_MARGIN + _HEAD:.0f})">',
        *_lines_of(drawing),
        *(p for n in texts for p in _node(table.states[n], drawing.centres[n], sizes[n], texts[n])),
        *_labels(drawing, ways),
        "</g></svg>",
    ]
    return "\n".join(parts) + "\n"


def _only_left(table: Table, name: str) -> bool:
    """The end "left", unless an answer of its own leads there."""
    if table.states[name].sort != FINAL:
        return False
    into = [a for a in table.arrows if a.target == name]
    return all(a.event == LEAVE for a in into) and name != table.initial


def _drawn(arrow: Arrow, shown: set[str]) -> bool:
    return arrow.event != LEAVE and not arrow.lacking and arrow.source in shown and arrow.target in shown


def _ways(arrows: Iterable[Arrow]) -> dict[tuple[str, str], list[str]]:
    """Arrows between the same two states are one line with all their answers."""
    ways: dict[tuple[str, str], list[str]] = {}
    for arrow in arrows:
        answers = ways.setdefault((arrow.source, arrow.target), [])
        if arrow.event not in (EVENTLESS, "done", "cranked", "elapsed", "taken"):
            answers.append(arrow.event.replace("-", " "))
    return ways


def _heading(table: Table) -> Iterable[str]:
    engine = ", ".join(f"{f} {w}" for f, w in sorted(table.words.items())) or "an engine of which nothing is known"
    yield f'<text class="title" x="{_MARGIN:.0f}" y="{_MARGIN + 16:.0f}">{escape(table.procedure.title)}</text>'
    yield f'<text x="{_MARGIN:.0f}" y="{_MARGIN + 38:.0f}">{escape(table.procedure.purpose)}</text>'
    gates = any(state.sort == GATE for state in table.states.values())
    told = f"For {engine}.{' A step whose hold points go stale falls back to its gate.' if gates else ''}"
    yield f'<text class="soft" x="{_MARGIN:.0f}" y="{_MARGIN + 56:.0f}">{escape(told)}</text>'


def _lines(state: State) -> tuple[str, ...]:
    """What stands on a state's card."""
    if state.sort == GATE:
        return tuple(wrap(f"Needs {', '.join(n.replace('-', ' ') for n in state.needs) or 'nothing more'}", _CHARS))
    if state.result is not None:
        return tuple(wrap(state.result.say, _CHARS))
    step = state.step
    assert step is not None  # gates and ends were before
    if step.judge:
        return tuple(wrap(f"Judged: {step.judge.replace('-', ' ')}", _CHARS))
    return tuple(wrap(step.cmd, _CHARS))


def _size(state: State, lines: Sequence[str]) -> Size:
    head = 0.0 if state.sort in (GATE, "judge") else LINE_H
    return Size(CARD_W, len(lines) * LINE_H + head + 2 * PAD)


def _node(state: State, centre: Point, size: Size, lines: Sequence[str]) -> Iterable[str]:
    x, y = centre[0] - size.width / 2, centre[1] - size.height / 2
    why = state.step.why if state.step is not None else ""
    yield f"<g>{f'<title>{escape(why)}</title>' if why else ''}{_shape(state, x, y, size)}"
    top = y + PAD + 11
    if state.sort not in (GATE, "judge"):
        tag, style = _tag(state)
        yield f'<text class="{style}" x="{x + PAD:.1f}" y="{top:.1f}">{escape(tag)}</text>'
        top += LINE_H
    for number, line in enumerate(lines):
        yield f'<text x="{x + PAD:.1f}" y="{top + number * LINE_H:.1f}">{escape(line)}</text>'
    yield "</g>"


def _tag(state: State) -> tuple[str, str]:
    """The small line on top of a card, and its style."""
    if state.result is not None:
        return f"{state.result.outcome}: {state.name}", "name outcome"
    hazards = f" · {', '.join(state.step.hazard)}" if state.step is not None and state.step.hazard else ""
    tag = f"{state.name} · {state.sort}{hazards}" if state.sort != "crank" else f"{state.name}{hazards}"
    return tag if len(tag) <= _TAG_CHARS else f"{tag[: _TAG_CHARS - 1]}…", "name"


def _shape(state: State, x: float, y: float, size: Size) -> str:
    w, h = size.width, size.height
    if state.sort == "choice":
        return f'<path class="shape choice" d="M{x:.1f} {y:.1f}h{w - 16:.1f}l16 16v{h - 16:.1f}h{-w:.1f}z"/>'
    if state.sort == GATE:
        return f'<rect class="shape gate" x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" rx="2"/>'
    radius = {"wait": h / 2, "judge": 14.0, FINAL: 12.0}.get(state.sort, 5.0)
    outcome = f" {state.result.outcome}" if state.result is not None else ""
    box = (
        f'<rect class="shape {state.sort}{outcome}" x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" '
        f'rx="{min(radius, 22.0):.1f}"/>'
    )
    if state.sort != "measure":
        return box
    ticks = "".join(f"M{x + w - 9:.1f} {y + 8 + n * 7:.1f}h{9 if n % 2 else 5}" for n in range(int((h - 10) // 7)))
    return f'{box}<path class="tick" d="{ticks}"/>'


def _lines_of(drawing: Drawing) -> Iterable[str]:
    for points, up in zip(drawing.lines, drawing.upward, strict=True):
        yield f'<path class="way{" up" if up else ""}" d="{_curve(points)}" marker-end="url(#a)"/>'


def _curve(points: Sequence[Point]) -> str:
    """A line that leaves and arrives upright, and is smooth in every bend."""
    path = f"M{points[0][0]:.1f} {points[0][1]:.1f}"
    for (ax, ay), (bx, by) in pairwise(points):
        half = (by - ay) / 2
        path += f"C{ax:.1f} {ay + half:.1f} {bx:.1f} {by - half:.1f} {bx:.1f} {by:.1f}"
    return path


def _labels(drawing: Drawing, ways: dict[tuple[str, str], list[str]]) -> Iterable[str]:
    """The answers, near where their line begins; two that begin at one place stand one above the other."""
    taken: list[Point] = []
    for points, answers in zip(drawing.lines, ways.values(), strict=True):
        if not answers:
            continue
        (ax, ay), (bx, by) = points[0], points[1]
        x, y = ax + (bx - ax) * 0.2, ay + (16 if by > ay else -10)
        while any(abs(x - tx) < 90 and abs(y - ty) < 12 for tx, ty in taken):
            y += 12 if by > ay else -12
        taken.append((x, y))
        text = " / ".join(answers)
        short = text if len(text) <= _LABEL_CHARS else f"{text[: _LABEL_CHARS - 1].rstrip(' /')}…"
        yield f'<text class="label" text-anchor="middle" x="{x:.1f}" y="{y:.1f}">{escape(short)}</text>'
