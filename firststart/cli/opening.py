"""How a bench opens: the job named, one to carry on, or a new one; the first time it says what it is and is heard."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from datetime import datetime

from firststart import __version__
from firststart.bench.desk import Desk, open_job, resume_job
from firststart.cli.common import job_shelf
from firststart.cli.sounding import SPOKEN_NAME, SPOKEN_YES_NO, by_voice_line, half_heard, spoken_choices
from firststart.cli.tongue import Tongue
from firststart.clock import Clock
from firststart.devices.ears import DeafEars, Ears, Vocabulary, Zone
from firststart.devices.mouth import Mouth, SilentMouth
from firststart.devices.stage import Event, Stage
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.port import JobLine, Journal
from firststart.prompt.expect import Expectation
from firststart.prompt.language import ENGLISH
from firststart.prompt.onekey import DOUBLE, HELD
from firststart.prompt.prompt import Prompt

WELCOME = (
    "I lead you to the first start of an engine that has stood, one action at a time.",
    "Say or type the answers shown; say why, say again, go back or stop at any time.",
    "Everything is recorded at once, so you can leave whenever you like.",
)
HEARD = "Do you hear me? Press enter for yes, or say no."
NOT_HEARD = (
    "The prompts come on the screen all the same. Look at the volume and the loudspeaker; "
    "the command firststart voice tries them one by one."
)
NAME = "What do you call this engine? Enter alone gives it a number."
_LONGEST = 40


class Opening:
    """Finds out which job the bench opens."""

    def __init__(
        self, arguments: argparse.Namespace, rules: Rules, journal: Journal, clock: Clock, stage: Stage, tongue: Tongue
    ) -> None:
        self.arguments, self.rules, self.journal = arguments, rules, journal
        self.clock, self.stage, self.tongue = clock, stage, tongue
        self.mouth: Mouth | None = None
        """The voice that was tried; the caller goes on with it, and closes it."""
        self.ears: Ears | None = None
        """The ears that heard the answers; the caller's too from then on."""
        self._mouth: Callable[[], Mouth] = SilentMouth
        self._ears: Callable[[Mouth], Ears] | None = None

    def desk(self, mouth: Callable[[], Mouth], ears: Callable[[Mouth], Ears] | None = None) -> Desk | None:
        """The desk of the job; None when the person leaves. `mouth` brings the voice, when it is to be tried; with
        `ears` every question is said too, and may be answered by voice."""
        self._mouth, self._ears = mouth, ears
        every = self.journal.jobs()
        lines = [line for line in every if not line.closed]
        job, engine = self.arguments.job, self.arguments.engine
        if job is not None:
            known = job in {line.job for line in every}
            return self._resume(job) if known else self._new(job, engine or job)
        if engine is None and lines:
            chosen = self._choose(lines)
            if chosen is None:
                return None
            if chosen:
                return self._resume(chosen)
        name = engine or self._ask_name(first=not every, mouth=mouth)
        return None if name is None else self._new(self._free(name), name)

    def close(self) -> None:
        """Let go of voice and ears: the bench does not open, or speaks another language."""
        for device in (self.ears, self.mouth):
            if device is not None:
                device.close()
        self.ears = self.mouth = None

    def _resume(self, job: str) -> Desk:
        return resume_job(self.rules, self.journal, self.clock, job, job_shelf(self.arguments))

    def _new(self, job: str, engine: str) -> Desk:
        language = self.arguments.language or ENGLISH
        return open_job(self.rules, self.journal, self.clock, i.Open(job, engine, __version__, "place 1", language))

    def _choose(self, lines: list[JobLine]) -> str | None:
        """A job to carry on, "" for a new one, None to leave."""
        self.stage.tell("Jobs under way:")
        for number, line in enumerate(lines[:9], 1):
            self.stage.tell(f"  [{number}] carry on with {line.job} (last entry {_day(line.newest)})")
        self.stage.tell("  [n] new engine")
        by_voice = spoken_choices(len(lines[:9]))
        while True:
            answer = self._line(f"Carry on with {lines[0].job}? Press enter, or say a number or new.", by_voice)
            if answer is None:
                return None
            chosen = self._meant(answer, lines)
            if chosen is not None:
                return chosen
            self.stage.tell(f"There is no {answer!r} here.")

    def _meant(self, answer: str, lines: list[JobLine]) -> str | None:
        """The job that an answer names, "" for a new one; None when it names none."""
        word = self.tongue.english(answer, "carry on", "new", "new engine").lower()
        if word in ("", "yes", "y", "carry on"):
            return lines[0].job
        if word in ("n", "new", "new engine"):
            return ""
        if word.isdecimal() and 0 < int(word) <= len(lines[:9]):
            return lines[int(word) - 1].job
        return answer if answer in {line.job for line in lines} else None

    def _ask_name(self, *, first: bool, mouth: Callable[[], Mouth]) -> str | None:
        """The engine's name, after a welcome; the very first time the voice is tried with it. None: the person left."""
        for line in WELCOME:
            self.stage.tell(line)
        if first:
            self.mouth = self.mouth or mouth()
            if not self._heard(self.mouth):
                return None
        answer = self._line(NAME, SPOKEN_NAME)
        if answer is None:
            return None
        return answer[:_LONGEST] or f"engine {len(self.journal.jobs()) + 1}"

    def _heard(self, mouth: Mouth) -> bool:
        """Say the welcome and ask whether it was heard, where there is a voice. False: the person left."""
        if isinstance(mouth, SilentMouth):
            return True
        for line in WELCOME if self._ears else (*WELCOME, HEARD):
            mouth.say(self.tongue.text(line))
        answer = self._line(HEARD, SPOKEN_YES_NO)
        mouth.silence()
        if answer is not None and self.tongue.english(answer, "no", "n").lower() in ("no", "n"):
            self.stage.tell(NOT_HEARD)
        return answer is not None

    def _line(self, question: str, by_voice: Mapping[str, str]) -> str | None:
        """One line: typed, or said as one of `by_voice`, or with the pedal (short as enter, double the other answer);
        None when the person leaves."""
        self.stage.tell(question)
        self._ask_aloud(question, by_voice)
        event = self.stage.next_event(Prompt(question, "", Expectation("text")), lambda: "", self._poll)
        if event.kind == "heard":
            return by_voice[event.text]
        if event.kind == "pedal" and event.text != HELD:
            return next(filter(None, by_voice.values()), "") if event.text == DOUBLE else ""
        return event.text.strip() if event.kind == "typed" else None

    def _ask_aloud(self, question: str, by_voice: Mapping[str, str]) -> None:
        """Say the question and listen for its answers, where there are ears."""
        if self._ears is None:
            return
        self.mouth = self.mouth or self._mouth()
        if self.ears is None:
            self.ears = self._ears(self.mouth)
            self.ears.start()
        self.mouth.say(self.tongue.text(question))
        if not isinstance(self.ears, DeafEars):
            self.stage.tell(by_voice_line(by_voice))
        self.ears.listen_for(Vocabulary({phrase: phrase for phrase in by_voice}, about=question))

    def _poll(self) -> Event | None:
        heard = self.ears.heard() if self.ears is not None else None
        if heard is None:
            return None
        if heard.zone is Zone.ACCEPT:
            return Event("heard", heard.text)
        self.stage.tell(half_heard(heard.text))
        return None

    def _free(self, engine: str) -> str:
        """The engine's name, with a number when it has had a job before."""
        taken = {line.job for line in self.journal.jobs()}
        numbered = (f"{engine} {n}" for n in range(2, 1000))
        return engine if engine not in taken else next(name for name in numbered if name not in taken)


def _day(moment: datetime) -> str:
    return moment.astimezone().strftime("%A %d %B %Y, %H:%M")
