"""`firststart rehearse --teach`: a pupil at the bench against a hidden condition, kept apart from all real jobs.

A lesson is a file of its own under `lessons` in the home: its beginning and every word that was entered, each line on
the disk before anything follows from it. It is taken up again by entering the same once more. Nothing of it is in the
record of jobs, and no real starter rests for it.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import re
import textwrap
import threading
import time
from pathlib import Path

from firststart import __version__
from firststart.bench.conductor import Reply
from firststart.bench.shop import book_of
from firststart.cli.bench import interrupts
from firststart.cli.common import home_of, load_rules
from firststart.cli.lessonfile import Beginning, LessonFile, lessons_of
from firststart.devices.stage import Event, Stage, open_stage
from firststart.diagnosis.book import Book
from firststart.errors import InputError, UnknownName
from firststart.job.rules import Rules
from firststart.rehearsal.draw import draw
from firststart.rehearsal.kit import Kit, load_kit
from firststart.rehearsal.lesson import Entry, Lesson
from firststart.rehearsal.lessonscore import (
    answer_lines,
    better_path,
    card_lines,
    path_lines,
    score,
    score_lines,
)
from firststart.rehearsal.scenario import Scenario, load_scenario, scenario_names

WIDTH = 78  # columns

_WELCOME = (
    "A lesson on a virtual engine: something hidden keeps it from starting. Find it.",
    "What you would see, hear and read is told; enter it as at a real engine, and choose yourself what comes next.",
    "Minutes are counted as the work would take them. All is kept, so you can leave and come back.",
)


def run_teach(arguments: argparse.Namespace, folder: Path) -> int:
    """One lesson, or the sheet of a class."""
    if len(arguments.scenario) > 1:
        raise InputError("A lesson has one engine: name one scenario, or none and a --seed.")
    rules, kit = load_rules(arguments), load_kit(folder)
    book = book_of(rules.library)
    if book is None:
        raise UnknownName("There is no book of suspects in the procedures, so there is nothing to find.")
    name = arguments.scenario[0] if arguments.scenario else ""
    scenario = _scenario(name, arguments.seed, folder, kit)
    if arguments.sheet:
        return _sheet(arguments, rules, kit, book, scenario, name)
    beginning = Beginning(name, arguments.seed, arguments.pupil, _digest(rules))
    path = _lessons(arguments) / f"{_plain(name or f'seed {arguments.seed}')}-{_plain(arguments.pupil)}.jsonl"
    stage = open_stage(plain=arguments.plain, colour="NO_COLOR" not in os.environ)
    with LessonFile(path, beginning) as kept, interrupts() as pressed:
        lesson = Lesson(rules, scenario, kit, book, arguments.seed)
        School(lesson, kept, stage, pressed).run()
        if lesson.over:
            _close(stage, lesson, rules, kit, book, scenario, arguments.seed)
    return 0


def _lessons(arguments: argparse.Namespace) -> Path:
    return home_of(arguments) / "lessons"


def _scenario(name: str, seed: int, folder: Path, kit: Kit) -> Scenario:
    """The hidden engine: a scenario by name or file, else a random one of this seed, the same for a whole class."""
    if not name:
        return draw(seed, kit.conditions)
    path = Path(name) if name.endswith(".yaml") else folder / f"{name}.yaml"
    if not path.is_file():
        raise UnknownName(f"There is no scenario called {name!r}; there are: {', '.join(scenario_names(folder))}.")
    return load_scenario(path, kit.conditions)


def _plain(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40] or "pupil"


def _digest(rules: Rules) -> str:
    """What the lesson was begun with: another version or other procedures would lead another way."""
    made = "\n".join([__version__, *(f"{n} {d}" for n, d in sorted(rules.library.digests.items()))])
    return hashlib.sha256(made.encode()).hexdigest()[:16]


class School:
    """The loop of a lesson: show, tell what is seen, take what is entered, keep it, and go on."""

    def __init__(self, lesson: Lesson, kept: LessonFile, stage: Stage, pressed: threading.Event) -> None:
        self.lesson, self.kept, self.stage, self._pressed = lesson, kept, stage, pressed
        self._began: float | None = None  # by the steady clock, while the starter turns
        self._told = ""

    def run(self) -> None:
        """Until it runs, is given up, or the pupil leaves."""
        reply = self.lesson.greet()
        for entry in self.kept.entries:
            reply = self.lesson.enter(entry)
        if self.kept.entries:
            self.stage.tell(f"Carrying on where you were, {len(self.kept.entries)} answers into the lesson.")
        else:
            tell_wrapped(self.stage, *_WELCOME, *card_lines(self.lesson.scenario))
        self._give(reply)
        while not self.lesson.over and not reply.finished:
            event = self.stage.next_event(self.lesson.prompt(), self._status, self._poll)
            if event.kind == "gone":
                self.stage.tell("Until next time. The lesson is kept.")
                return
            reply = self._take(event)

    def _take(self, event: Event) -> Reply:
        """Keep what was entered, and say what follows."""
        turned, self._began, self._told = self._turned(), None, ""
        words = "stop now" if event.kind == "stop" else event.text
        entry = Entry(words, event.channel, round(turned, 2))
        if not self.lesson.leaves(entry):
            self.kept.add(entry)
        reply = self.lesson.enter(entry)
        if self.lesson.desk.situation.open_crank is not None:
            self._began = time.monotonic()
        self._give(reply)
        return reply

    def _give(self, reply: Reply) -> None:
        tell_wrapped(self.stage, *reply.say)
        if self.lesson.over or reply.finished:
            return
        if reply.repeat:
            self.stage.show(self.lesson.prompt())
        tell_wrapped(self.stage, *self.lesson.shown())

    def _turned(self) -> float:
        return 0.0 if self._began is None else time.monotonic() - self._began

    def _poll(self) -> Event | None:
        """Obeys Ctrl-C; while the starter turns, what is heard, each thing once."""
        if self._pressed.is_set():
            self._pressed.clear()
            return Event("stop")
        if self._began is not None:
            heard = self.lesson.heard_so_far(self._turned())
            if heard and heard != self._told:
                self._told = heard
                self.stage.tell(heard)
        return None

    def _status(self) -> str:
        crank = self.lesson.desk.situation.open_crank
        if crank is not None:
            return f" THE STARTER TURNS: {self._turned():4.1f} s of {crank.limit_s:g} s "
        return f" lesson: {self.lesson.minutes:.0f} minutes so far "


def tell_wrapped(stage: Stage, *lines: str) -> None:
    """Lines told without a word broken at the edge of a narrow screen; what goes on stands further in."""
    for line in lines:
        for part in textwrap.wrap(line, WIDTH, subsequent_indent="   ") or [""]:
            stage.tell(part)


def _close(
    stage: Stage, lesson: Lesson, rules: Rules, kit: Kit, book: Book, scenario: Scenario, seed: int
) -> None:
    """The score, what was hidden, and the better path."""
    better = better_path(rules, scenario, kit, book, seed)
    tell_wrapped(stage, "", *score_lines(score(lesson, better)), "", *answer_lines(scenario, kit.conditions), "")
    tell_wrapped(stage, "A better path, as the tool leads it by its own advice:", *path_lines(better, rules.library))


def _sheet(arguments: argparse.Namespace, rules: Rules, kit: Kit, book: Book, scenario: Scenario, name: str) -> int:
    """The teacher's page: the engine, the answer, the better path, and how far each pupil is."""
    better = better_path(rules, scenario, kit, book, arguments.seed)
    engine = f"{name} --seed {arguments.seed}".strip()
    lines = [f"Class sheet. Each pupil: firststart rehearse --teach {engine} --pupil NAME", ""]
    lines += [*card_lines(scenario), *answer_lines(scenario, kit.conditions), "", "The tool's own path:"]
    lines += [f"  {line}" for line in path_lines(better, rules.library)]
    lines += ["", f"{'pupil':20}{'stands':16}{'minutes':>8}{'needless':>10}{'misjudged':>11}{'risks':>7}{'marks':>7}"]
    kept = lessons_of(_lessons(arguments), name, arguments.seed, _digest(rules))
    for pupil, entries in kept:
        lesson = Lesson(rules, scenario, kit, book, arguments.seed)
        lesson.greet()
        for entry in entries:
            lesson.enter(entry)
        s = score(lesson, better)
        stands = "runs" if s.runs else "given up" if s.gave_up else "under way"
        figures = f"{s.minutes:>8.0f}{len(s.wrong):>10}{s.misjudged:>11}{len(s.risks):>7}{s.marks:>7}"
        lines.append(f"{pupil[:19]:20}{stands:16}{figures}")
    if not kept:
        lines.append("No pupil has begun yet; their lessons must lie in this --home.")
    print("\n".join(lines))
    return 0
