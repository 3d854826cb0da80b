"""What is known of the engine: told by the person, assumed of its kind, or unknown."""

from __future__ import annotations

from firststart.engine.profile import NUMBERS, UNKNOWN, WORDS
from firststart.physics.firingorder import written
from firststart.report.model import Known, ProfileLine
from firststart.report.walk import Walk
from firststart.report.wording import label, one_line, reading_text

LABELS = {
    "feed": "fuel feed", "earth": "earthed pole", "rod": "rod length", "ratio": "compression ratio",
    "manual": "maker's figures", "manual-compression": "compression by the manual", "timing": "ignition timing",
    "flywheel": "flywheel diameter",
    "years": "years standing", "cca": "cold cranking current", "capacity": "battery capacity",
}  # fmt: skip


def profile_lines(w: Walk) -> tuple[ProfileLine, ...]:
    """Every field of the profile, in the order of the closed lists."""
    profile = w.rules.profile(w.situation.profile)
    kind = profile.word("kind") or ""
    defaults = w.rules.library.engines.get(kind)
    sources = defaults.sources if defaults is not None else {}
    lines = []
    for field in (*WORDS, *NUMBERS):
        number = profile.numbers.get(field)
        word = profile.words.get(field, UNKNOWN)
        text = reading_text(number) if number is not None else _word(field, word)
        known: Known = "told" if number is not None or word != UNKNOWN else "unknown"
        if field == "firing-order" and profile.firing_order is not None:  # of one cylinder or two it is no question
            text, known = written(profile.firing_order, "-"), "told"
        if field in profile.assumed:
            known = "assumed"
        source = one_line(sources.get(field, "")) if known == "assumed" else ""
        lines.append(ProfileLine(field, LABELS.get(field, label(field)), text, known, source, number))
    return tuple(lines)


def _word(field: str, word: str) -> str:
    if field == "battery" and word.isdigit():
        return f"{word} V"
    return one_line(word)
