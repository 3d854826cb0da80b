"""Questions that do not belong to a procedure: the date, the place, and cranking told afterwards."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime

from firststart.bench.desk import Desk
from firststart.job import inputs as i
from firststart.job.clock import SHORT_GAP_S
from firststart.job.rules import MAX_CRANK_S
from firststart.procedure.model import UNREAD
from firststart.prompt.expect import Expectation, Option
from firststart.prompt.prompt import Prompt
from firststart.prompt.told import MOST_SECONDS, MOST_TIMES, Told
from firststart.prompt.wording import CANNOT, duration

DATE, PLACE, TIMES, SECONDS = "is-the-date-right", "same-place", "told-times", "told-seconds"
_YES_NO = (Option("yes", ("yes",), weighty=True), Option("no", ("no",)))
_UNKNOWN = (Option(UNREAD, CANNOT), Option("never-mind", ("never mind", "leave it")))


def standing(desk: Desk) -> Prompt | None:
    """The question that must be answered before work goes on; None when there is none."""
    situation = desk.situation
    if situation.closed or situation.stopped or situation.open_crank is not None:
        return None
    if situation.withheld_s > SHORT_GAP_S:
        return _date(desk)
    return _place(situation.place) if situation.place_doubted else None


def _date(desk: Desk) -> Prompt:
    unseen = duration(desk.situation.withheld_s)
    return Prompt(
        f"The clock says {_day(desk.clock.now())}. Is that right, and did {unseen} pass since the last entry?",
        "the date",
        Expectation("choice", _YES_NO, name=DATE),
        info=f"{unseen} are not counted for any rest until you say. Say no if the clock was put right or wrong.",
        why="A clock that jumped ends a rest too early, or lets an old check pass for a new one.",
        place="Before we go on",
    )


def _place(place: str) -> Prompt:
    return Prompt(
        "Are you still at the same place?",
        "same place",
        Expectation("choice", _YES_NO, name=PLACE),
        info=f"So far the work was done at {place}." if place else "",
        why="Fire and fumes are checked for one place. Elsewhere they are checked again.",
        place="Before we go on",
    )


def answered(desk: Desk, name: str, event: str) -> i.Input | None:
    """What an answer to a standing question means; None when `name` is no such question."""
    if name == DATE:
        return i.ConfirmDate(event == "yes")
    if name == PLACE:
        return i.NamePlace(desk.situation.place if event == "yes" else next_place(desk.situation.place))
    return None


def next_place(place: str) -> str:
    """A name for the place after `place`: "place 1" gives "place 2"."""
    match = re.fullmatch(r"(.*?)\s*(\d{1,6})", place)
    return f"{match[1]} {int(match[2]) + 1}".strip() if match else f"{place or 'place'} 2"


def _day(moment: datetime) -> str:
    local = moment.astimezone()
    return f"{local:%A} {local.day} {local:%B %Y}, {local:%H:%M}"


@dataclass(frozen=True)
class Telling:
    """Cranking that is being told, question by question."""

    told: Told = field(default_factory=Told)

    def prompt(self) -> Prompt:
        """The question for what is not known yet."""
        if self.told.times is None:
            expects = Expectation("measure", _UNKNOWN, "count", "", 1, MOST_TIMES, TIMES)
            text, big = "How many times did you crank it?", "how many times"
        else:
            expects = Expectation("measure", _UNKNOWN, "time", "s", 0.5, MOST_SECONDS, SECONDS)
            text, big = "For how many seconds each time?", "seconds each"
        why = "All cranking heats the starter, counted or not."
        return Prompt(text, big, expects, info="An estimate is enough.", why=why, place="Cranking told afterwards")

    def heard(self, si: float) -> Telling:
        """With one more answer: a number of times, or seconds."""
        if self.told.times is None:
            return Telling(Told(round(si), self.told.seconds, self.told.ago_s))
        return Telling(Told(self.told.times, si, self.told.ago_s))

    def unknown(self) -> Telling | None:
        """Not known: seconds count as the longest crank; how often must be guessed (None)."""
        return None if self.told.times is None else self.heard(MAX_CRANK_S)


def tell(told: Told) -> i.TellCrank:
    """The input for cranking that is told whole."""
    assert told.times is not None and told.seconds is not None  # only whole ones come here
    return i.TellCrank(told.times, told.seconds, told.ago_s)
