"""What the person's words mean now. Pure: words and state in, an act and the next state out.

Every number is read back unless its unit was typed; what is heard (not typed) is read back always. Three
misses in a row offer the keys. "Stop" is understood in every state, awake or asleep; where the ears only half heard
it, and nothing dangerous is going on, it is asked back once.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from firststart.errors import InputError
from firststart.prompt.expect import GENERAL, NO, ORDER, YES, Expectation
from firststart.prompt.forgive import cries_stop, implied_option, keys_line, plainer, unsure, unsure_option
from firststart.prompt.numbers import EXAMPLE, hear_number
from firststart.prompt.told import Told, told_crank
from firststart.units import Measured, find_unit, from_si, parse

_MEANING = {phrase: name for name, phrases in reversed(GENERAL.items()) for phrase in phrases}
VOICE, KEYS, PEDAL = "voice", "keys", "pedal"
# "fifty" and "fifteen" differ little, "five zero" and "one five" much
DIGIT_BY_DIGIT = "Then say it digit by digit."


@dataclass(frozen=True)
class Act:
    """What to do: `kind` is event, value, general, told, ask, miss, nothing; with what belongs to it."""

    kind: str
    event: str = ""
    value: Measured | None = None
    say: str = ""
    said: str = ""
    channel: str = KEYS
    told: Told | None = None


@dataclass(frozen=True)
class Dialogue:
    """Where the talk stands: what waits for a yes, how often nothing was understood, asleep or awake."""

    pending: Act | None = None
    misses: int = 0
    asleep: bool = False


@lru_cache(maxsize=4096)
def normal(text: str) -> str:
    """Small letters, no punctuation at the ends of words, single spaces."""
    return " ".join(re.sub(r"[^\w\s.'%/°-]|(?<!\d)\.(?!\d)|\.(?!\d)", " ", text.lower()).split())


def hear(
    state: Dialogue, text: str, expects: Expectation, channel: str = KEYS, *, sure: bool = True
) -> tuple[Dialogue, Act]:
    """The act that `text` means, and the next state of the talk.

    `sure` False: the ears only half understood; whatever it means is read back first, but for stop.
    """
    words = normal(text)
    general = _general(words)
    if general == "stop" and expects.kind != "turning":
        stop = Act("general", "stop", said=text, channel=channel)
        again = state.pending is not None and state.pending.event == "stop"
        heard = sure or again  # half heard twice is heard
        return (Dialogue(), stop) if heard else _read_back(stop, text, state.asleep)
    if state.asleep:
        if general == "listen":
            return Dialogue(), Act("general", "listen", said=text, channel=channel)
        return state, Act("nothing")
    if not words:
        return state, Act("nothing")
    if state.pending is not None:
        if not sure:
            return state, Act("ask", say=state.pending.say, channel=channel)
        return _confirm(state, words, text, expects, channel)
    after, act = _fresh(state, words, text, expects, channel)
    if act.event == "stop" and act.kind == "general" and sure:
        return after, act
    if channel == VOICE and act.kind in ("event", "general") and not (sure and not _weighty(act, expects)):
        return _read_back(act, text)
    return after, act


def _read_back(act: Act, text: str, asleep: bool = False) -> tuple[Dialogue, Act]:
    """Ask whether `act` was meant."""
    asked = replace(act, kind="ask", say=f"{text.strip().capitalize()}. Right?")
    return Dialogue(pending=replace(asked, kind=act.kind), asleep=asleep), asked


def _weighty(act: Act, expects: Expectation) -> bool:
    return any(o.event == act.event and o.weighty for o in expects.options)


def _confirm(state: Dialogue, words: str, text: str, expects: Expectation, channel: str) -> tuple[Dialogue, Act]:
    """After a read-back: yes takes it, no drops it, a new answer replaces it."""
    pending = state.pending
    assert pending is not None  # the caller looked
    if words in YES:
        kind = "value" if pending.value is not None else pending.kind
        return Dialogue(), replace(pending, kind="event" if kind == "ask" else kind)
    if words in NO:
        digits = pending.value is not None and channel == VOICE
        return Dialogue(), Act("ask", say=DIGIT_BY_DIGIT if digits else "Then say it again.", channel=channel)
    after, act = _fresh(Dialogue(misses=state.misses), words, text, expects, channel)
    return (state, Act("ask", say=pending.say, channel=channel)) if act.kind == "miss" else (after, act)


def _fresh(state: Dialogue, words: str, text: str, expects: Expectation, channel: str) -> tuple[Dialogue, Act]:
    """What the words mean as they stand; else without what people put around an answer."""
    after, act = _plain(state, words, text, expects, channel)
    if act.kind != "miss":
        return after, act
    likely = implied_option(words, expects)
    if likely is not None:
        asked = Act("event", likely.event, say=f"{likely.phrases[0].capitalize()}. Right?", said=text, channel=channel)
        return Dialogue(pending=asked), replace(asked, kind="ask")
    if unsure(words):
        return _unsure(after, text, expects, channel)
    fewer = plainer(words)
    if fewer in ("", words):
        return after, act
    kinder, meant = _plain(state, fewer, fewer, expects, channel)
    return (after, act) if meant.kind == "miss" else (kinder, replace(meant, said=text))


def _unsure(after: Dialogue, text: str, expects: Expectation, channel: str) -> tuple[Dialogue, Act]:
    """The person does not know: the answer for that where there is one, else the way on."""
    option = unsure_option(expects)
    if option is not None:
        return Dialogue(), Act("event", option.event, said=text, channel=channel)
    say = f"When you cannot tell, say leave it. {options_line(expects)}"
    return after, Act("miss", say=say, channel=channel)


def _plain(state: Dialogue, words: str, text: str, expects: Expectation, channel: str) -> tuple[Dialogue, Act]:
    event = _option(words, expects, channel)
    if event is not None:
        return Dialogue(), Act("event", event, said=text, channel=channel)
    general = _general(words)
    if general is not None:
        said = "" if general == "note" else text  # a note of no words yet
        return Dialogue(asleep=general == "sleep"), Act("general", general, said=said, channel=channel)
    if words.startswith("note "):
        return Dialogue(), Act("general", "note", said=text.strip()[5:].strip(), channel=channel)
    told = told_crank(words)
    if told is not None and expects.kind != "turning":
        return _told(told, text, channel)
    if cries_stop(words):
        return _cried(text, expects, channel)
    if expects.kind == "measure":
        return _number(state, words, text, expects, channel)
    return _miss(state, expects, channel, f"I did not understand {text.strip()[:30]!r}.")


def _cried(text: str, expects: Expectation, channel: str) -> tuple[Dialogue, Act]:
    """Stop, cried in other words than the usual; while the starter turns it means that it stands."""
    if expects.kind == "turning" and expects.options:
        return Dialogue(), Act("event", expects.options[0].event, said=text, channel=channel)
    return Dialogue(), Act("general", "stop", said=text, channel=channel)


def _told(told: Told, text: str, channel: str) -> tuple[Dialogue, Act]:
    """Cranking told whole is read back; what is not said of it is asked."""
    if not told.whole:
        return Dialogue(), Act("general", "tell-crank", said=text, channel=channel, told=told)
    act = Act("told", say=told.read_back(), said=text, channel=channel, told=told)
    return Dialogue(pending=act), replace(act, kind="ask")


def _option(words: str, expects: Expectation, channel: str) -> str | None:
    """The event that `words` mean: a phrase, the event's own name, or (by keys) its number on the screen."""
    for option in expects.options:
        if words in (normal(p) for p in option.phrases) or words == option.event:
            return option.event
    if channel != VOICE and expects.kind not in ("measure", "crank") and words.isdecimal() and len(words) <= 2:
        index = int(words) - 1
        if 0 <= index < len(expects.options):
            return expects.options[index].event
    if words in YES and expects.kind not in ("crank", "turning", "measure"):
        named = [o.event for o in expects.options if o.event in ("yes", "done")]
        return named[0] if named else None
    if words in NO:
        return next((o.event for o in expects.options if o.event == "no"), None)
    return None


def _general(words: str) -> str | None:
    return _MEANING.get(words)


def _number(state: Dialogue, words: str, text: str, expects: Expectation, channel: str) -> tuple[Dialogue, Act]:
    """A reading: parsed strictly, held against what is plausible, and read back."""
    try:
        value, had_unit = _read(text.strip(), words, expects)
        _plausible(value, expects)
    except InputError as error:
        return _miss(state, expects, channel, _short(error))
    if channel != VOICE and had_unit:
        return Dialogue(), Act("value", value=value, said=text, channel=channel)
    order = " ".join(f"{value.value:.0f}")  # figures one by one, and no thousands
    say = f"{order}. Right?" if expects.name == ORDER else f"{value}. Right?"
    act = Act("ask", value=value, say=say, said=text, channel=channel)
    return Dialogue(pending=act), act


def _short(error: InputError) -> str:
    """What was wrong, without the example behind it: what may be said follows anyway."""
    return str(error).replace(f"; {EXAMPLE}", "")


def _read(text: str, words: str, expects: Expectation) -> tuple[Measured, bool]:
    """The value, and whether a unit was given with it. Figures are read strictly; words go through numbers first."""
    order = expects.name == ORDER
    typed = hear_number(text) if order else text if re.match(r"[+-]?\d", text) else hear_number(words)
    value = parse(typed, expects.quantity, expects.unit, expects.name.replace(".", " "))
    had_unit = re.fullmatch(r"[+-]?[\d.]+", typed.strip()) is None or not expects.unit
    return value, had_unit and not order


def _plausible(value: Measured, expects: Expectation) -> None:
    unit = find_unit(expects.unit, expects.quantity)
    number = from_si(value.si, unit.symbol, expects.quantity).value
    if not expects.low <= number <= expects.high:
        raise InputError(
            f"{value} is outside what can be here, {expects.low:g} to {expects.high:g} {unit.symbol}. Read it again."
        )


def _miss(state: Dialogue, expects: Expectation, channel: str, reason: str) -> tuple[Dialogue, Act]:
    """Not understood: shorter and clearer each time; the third time the keys are offered."""
    misses = state.misses + 1
    options = options_line(expects)
    if misses == 1:
        say = f"{reason} {options}"
    elif misses == 2:
        say = options
    else:
        say = keys_line(expects)
    return Dialogue(misses=misses), Act("miss", say=say, channel=channel)


def options_line(expects: Expectation) -> str:
    """What may be said now, in one sentence."""
    if expects.kind == "measure":
        unit = find_unit(expects.unit, expects.quantity).spoken
        return f"Say the reading in {unit}, or say cannot measure." if unit else "Say a number, or say don't know."
    offered = expects.offered()
    if not offered:
        return "Say finish for today."
    if len(offered) == 1:
        return f"Say {offered[0]}."
    return f"Say {', '.join(offered[:-1])} or {offered[-1]}."
