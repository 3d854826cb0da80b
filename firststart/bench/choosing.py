"""Other work than what is offered: the plan first, then what is led only when asked for, a page at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from firststart.job.plan import Item
from firststart.procedure.library import Library
from firststart.prompt.dialogue import normal
from firststart.prompt.expect import Expectation, Option

MORE = "more-work"
PAGE = 8  # with "more work" beside them there are nine: each has a key of its own
_NOT_ASKED = ("any-time",)  # stages whose work comes by itself, before each crank or after a stop


@dataclass(frozen=True)
class Choice:
    """All work that can be begun now, and the page of it that is shown."""

    work: tuple[Option, ...]
    first: int = 0

    @property
    def expects(self) -> Expectation:
        """The page as what may be answered; behind the last page comes the first again."""
        shown = self.work[self.first : self.first + PAGE]
        further = (Option(MORE, ("more work",)),) if len(self.work) > PAGE else ()
        return Expectation("choice", (*shown, *further))

    def next_page(self) -> Choice:
        """The page behind this one."""
        first = self.first + PAGE
        return Choice(self.work, first if first < len(self.work) else 0)

    def named(self, text: str) -> Choice:
        """A page of one when `text` names work that is not shown, by its title or id; else this page."""
        words = normal(text)
        shown = {o.event for o in self.expects.options}
        found = next((o for o in self.work if words in (normal(o.phrases[0]), normal(o.event))), None)
        return self if found is None or found.event in shown else Choice((Option(found.event, (text, *found.phrases)),))


def choice_of(library: Library, plan: Sequence[Item], words: Mapping[str, str]) -> Choice:
    """The plan in its order, then all other work that fits this engine, in the order of its stages."""
    planned = {item.procedure: item.title for item in plan}
    stages = list(library.stages)
    others = [p for p in library.applicable(words) if p.id not in planned and p.stage not in _NOT_ASKED]
    others.sort(key=lambda p: stages.index(p.stage))
    titles = {**planned, **{p.id: p.title for p in others}}
    return Choice(tuple(Option(name, (title.lower(),)) for name, title in titles.items()))
