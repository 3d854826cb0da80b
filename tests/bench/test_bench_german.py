"""The card's six procedures led in German from the first word to the last, through the same conductor."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from functools import cache

import pytest
from bench_profile import tell_profile

from firststart.bench.advice import Adviser
from firststart.bench.conductor import Conductor, Reply
from firststart.bench.desk import Desk, open_job
from firststart.bench.interpreter import Interpreter
from firststart.clock import SimulatedClock
from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.job.rules import Rules
from firststart.journal.memory import MemoryJournal
from firststart.procedure.catalogue import data_folder
from firststart.prompt.language import Language
from firststart.prompt.language_file import COVERS, read_po
from firststart.prompt.prompt import Prompt

CARD = (
    "fire-readiness", "ignition-dead", "hand-turn-over", "oil-out", "oil-in", "pre-lube", "top-end-oil", "compression",
    "stop-controls", "spark-proof", "leak-check", "first-crank",
)  # fmt: skip
COMMON = {"kind": "motorcycle", "fuel": "petrol", "cycle": "four-stroke", "cooling": "air", "starting": "electric",
          "ignition": "points", "feed": "gravity", "battery": "12", "lubrication": "wet-sump", "gearbox": "neutral",
          "cylinders": "2", "displacement": "500 ml", "ratio": "9:1", "plug-gap": "0.7 mm",
          "air-temperature": "15 degC"}  # fmt: skip
ENGINES = {
    "twin": COMMON,
    "tractor": {**COMMON, "kind": "tractor", "fuel": "diesel", "cooling": "water", "ignition": "none", "ratio": "17:1",
                "feed": "injection", "cylinders": "3", "displacement": "2500 ml"},
    "mower": {**COMMON, "kind": "mower", "starting": "recoil", "ignition": "magneto", "battery": "none",
              "gearbox": "none", "cylinders": "1", "displacement": "150 ml"},
    "nothing known": {},
}  # fmt: skip
SAME = re.compile(r"[\W\d]*|okay|P S I|.*\b(bar|psi|mm|ml|CDI)\b|Choke.*|Gas", re.IGNORECASE)


@cache
def german() -> Language:
    path = data_folder("procedures") / "languages" / "de.po"
    return Language("de", read_po(path.read_text(encoding="utf-8"), "languages/de.po"))


def bench_of(rules: Rules, facts: dict[str, str], language: Language | None = None) -> Interpreter:
    desk = open_job(rules, MemoryJournal(), SimulatedClock(), i.Open("auftrag", "motor", "test", "place 1", "de"))
    tell_profile(desk, facts)
    return Interpreter(Conductor(desk, Adviser(rules, None)), language or german())


class GermanPerson:
    """Answers in German, by the first phrase that is offered or by a seeded choice, and reads sensible numbers."""

    def __init__(self, bench: Interpreter, seed: int | None) -> None:
        self.bench, self.desk, self.random = bench, bench.conductor.desk, random.Random(seed)
        self.first = seed is None
        self.said: list[tuple[str, str]] = []  # (English, German) of everything that came out

    def lead(self, procedure: str, most: int = 150) -> str:
        """Through one procedure and whatever it fetches; how it ended."""
        self.desk.submit(i.Begin(procedure))
        for _ in range(most):
            if self.desk.situation.run is None or self.desk.situation.stopped:
                break
            self.keep(self.bench.conductor.prompt(), self.bench.prompt())
            self.answer(self.bench.prompt())
        ended = self.desk.situation.ended.get(procedure)
        return ended.outcome if ended else "open"

    def keep(self, inner: Prompt, outer: Prompt) -> None:
        for field in ("text", "big", "info", "why", "place"):
            self.said += zip(getattr(inner, field).splitlines(), getattr(outer, field).splitlines(), strict=True)
        self.said += zip(inner.spoken(), outer.spoken(), strict=True)
        self.said += [(a.phrases[0], b.phrases[0]) for a, b in
                      zip(inner.expects.options, outer.expects.options, strict=True)]  # fmt: skip

    def answer(self, prompt: Prompt) -> None:
        kind = prompt.expects.kind
        clock = self.desk.clock
        assert isinstance(clock, SimulatedClock)
        clock.sleep(max(prompt.wait_s, prompt.rest_s) + 5)
        if kind == "turning":
            self.hear("stopp")
        elif kind == "measure":
            self.hear(self.number(prompt))
            if self.bench.dialogue.pending is not None:
                self.hear("ja")
        else:
            options = prompt.expects.options
            chosen = options[0] if self.first or kind != "choice" else self.random.choice(options)
            self.hear(chosen.phrases[0])

    def number(self, prompt: Prompt) -> str:
        expects = prompt.expects
        diesel = self.desk.situation.profile.word("fuel") == "diesel"
        dry = 420.0 if diesel else 150.0
        sound = {"compression.dry": dry, "oil-winter": 20.0, "oil-grade": 50.0, "oil-poured": 4.0}
        middle = (expects.low + expects.high) / 2
        usual = sound.get(expects.name, middle)
        value = usual if self.first else self.random.choice([usual, expects.low, expects.high, middle])
        return f"{value:g} {expects.unit}".strip()

    def hear(self, words: str) -> None:
        self.said += both_replies(self.bench, words)


def both_replies(bench: Interpreter, words: str) -> list[tuple[str, str]]:
    """What the bench says to German words, as (English, German): the conductor's reply beside the interpreted one."""
    kept: list[Reply] = []
    inside = bench.conductor.hear

    def listening(text: str, channel: str = "keys", *, sure: bool = True) -> Reply:
        kept.append(inside(text, channel, sure=sure))
        return kept[-1]

    bench.conductor.hear = listening  # type: ignore[method-assign]
    try:
        reply = bench.hear(words)
    finally:
        del bench.conductor.hear
    return list(zip(kept[0].say, reply.say, strict=True))


def left_in_english(said: list[tuple[str, str]]) -> list[str]:
    """What came out as it was inside, although it holds words."""
    return sorted({english for english, german_ in said if english == german_ and not SAME.fullmatch(english)})


@pytest.mark.parametrize("engine", ENGINES)
def test_the_card_is_led_in_german_without_one_english_sentence(rules: Rules, engine: str) -> None:
    """Answered in German by first answers, every procedure of the card ends, and nothing English is said or shown."""
    person = GermanPerson(bench_of(rules, ENGINES[engine]), None)
    ends = {name: person.lead(name) for name in CARD if fits(rules, person.desk, name)}

    assert not left_in_english(person.said)
    assert set(ends.values()) == {"ok"}
    assert len(person.said) > 300


def fits(rules: Rules, desk: Desk, name: str) -> bool:
    return name in {p.id for p in rules.library.applicable(rules.words(desk.situation))}


@pytest.mark.parametrize("seed", range(8))
def test_whatever_is_answered_the_card_stays_german(rules: Rules, seed: int) -> None:
    """Answers and readings by chance lead down other paths, bad ends included, and those are German too."""
    engine = list(ENGINES.values())[seed % len(ENGINES)]
    person = GermanPerson(bench_of(rules, engine), seed)
    for name in CARD:
        if fits(rules, person.desk, name):
            person.lead(name, 60)
            if person.desk.situation.stopped:
                break
            while person.desk.situation.run is not None:
                person.desk.submit(i.Leave())
    covered = german().catalogue.field(COVERS)
    strange = [s for s in left_in_english(person.said) if s in texts_of_others(rules, covered)]

    assert sorted(set(left_in_english(person.said)) - set(strange)) == []


def texts_of_others(rules: Rules, covered: tuple[str, ...]) -> set[str]:
    """Texts of work that the catalogue does not cover: a bad end may lead there, and it is honestly English."""
    return {t for p in rules.library.procedures.values() if p.id not in covered for t in _texts(p)}


def _texts(procedure: object) -> Iterator[str]:
    for step in procedure.steps.values():  # type: ignore[attr-defined]
        yield from (step.cmd, step.why, *step.info.splitlines(), step.key)
        yield from (p for phrases in step.choices.values() for p in phrases)
        yield from (n.text for n in step.note)


def test_the_record_stays_english_and_whole(rules: Rules) -> None:
    """What is recorded of a German job reads like any other, and says in which language it was led."""
    person = GermanPerson(bench_of(rules, ENGINES["twin"]), None)
    person.lead("fire-readiness")
    facts = person.desk.journal.read("auftrag")
    ended = [fact for fact in facts if isinstance(fact, f.RunEnded)]

    assert ended[-1].say == rules.library.procedures["fire-readiness"].results["ready"].say
    assert [fact.language for fact in facts if isinstance(fact, f.JobOpened)] == ["de"]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("stopp", "Gestoppt."),
        ("halt", "Gestoppt."),
        ("stop", "Gestoppt."),
        ("warum", "Wasser verteilt brennendes Benzin. Nur manche Löscher löschen es."),
        ("why", "Wasser verteilt brennendes Benzin. Nur manche Löscher löschen es."),
        ("wie lange", "Diese Arbeit dauert etwa 5 Minuten."),
        ("hilfe", "Sag er ist hier oder keiner da. Außerdem: noch einmal, warum, zurück, auslassen, Stand, stopp."),
        ("kauderwelsch", "Ich habe 'kauderwelsch' nicht verstanden. Sag er ist hier oder keiner da."),
        ("schlafen", "Ich höre jetzt nur noch auf stopp. Sag hör zu, um mich zu wecken."),
        ("notiz der Schlauch ist rissig", "Notiert."),
    ],
)
def test_general_words_are_understood_in_german_and_in_english(rules: Rules, words: str, found: str) -> None:
    """Stop, why, help and the others work in both languages; the answer is German."""
    bench = bench_of(rules, ENGINES["twin"])
    bench.conductor.desk.submit(i.Begin("fire-readiness"))

    assert bench.hear(words).say[0] == found


def test_a_note_is_kept_as_it_was_said(rules: Rules) -> None:
    """The person's own words are nobody's to translate."""
    bench = bench_of(rules, ENGINES["twin"])
    bench.hear("Notiz der Schlauch ist rissig")
    notes = [x.text for x in bench.conductor.desk.journal.read("auftrag") if isinstance(x, f.NoteAdded)]

    assert notes == ["der Schlauch ist rissig"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("12,6 V", "'12,6 V' hat ein Komma; schreib die Dezimalzahl mit einem Punkt, wie 12.6. "
                   "Sag den Messwert in Milliliter, oder sag nicht messbar."),
        ("4", "4 ml. Richtig?"),
        ("900 ml", "900 ml liegt außerhalb dessen, was hier sein kann, 0 bis 500 ml. Lies noch einmal ab. "
                   "Sag den Messwert in Milliliter, oder sag nicht messbar."),
    ],
)  # fmt: skip
def test_numbers_are_read_strictly_in_german_too(rules: Rules, words: str, said: str) -> None:
    """A decimal comma is refused with a sentence, a bare number is read back, an impossible one is named."""
    bench = at_the_reading(rules)

    assert bench.hear(words).say == (said,)


def at_the_reading(rules: Rules) -> Interpreter:
    """At the question how much oil went in."""
    person = GermanPerson(bench_of(rules, ENGINES["twin"]), None)
    person.lead("hand-turn-over")
    person.desk.submit(i.Begin("pre-lube"))
    while person.bench.prompt().expects.kind != "measure":
        person.answer(person.bench.prompt())
    return person.bench


@pytest.mark.parametrize("words", ["4 ml", "4 Milliliter", "4 milliliter"])
def test_a_unit_may_be_named_in_german(rules: Rules, words: str) -> None:
    """The unit's name or its symbol, with a typed number, is taken at once and judged in German."""
    reply = at_the_reading(rules).hear(words)

    assert reply.say == ("4 ml sind wenig genug.",)
