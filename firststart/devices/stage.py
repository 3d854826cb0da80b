"""The stage: where prompts are shown and keys are read. A terminal, or plain lines.

`next_event` waits for the person while `poll` looks after everything else: the ears, a wait that is over,
the limit of a crank. Whatever `poll` returns is handed out as if the person had done it.
"""

from __future__ import annotations

import contextlib
import io
import os
import queue
import re
import select
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import IO, Any, Protocol

from firststart.devices.layout import STYLE, Say, block, plain_lines, toolbar, wrapped
from firststart.devices.pedal import Pedal
from firststart.prompt.dialogue import KEYS, PEDAL
from firststart.prompt.prompt import Prompt

POLL_S = 0.05
MOST_LINE = 100_000  # characters taken at once; a note has fewer
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")  # what a terminal would obey; words from a record may hold it


@dataclass(frozen=True)
class Event:
    """One thing that happened: `typed` text, `heard` text, `stop`, `tick`, or `gone` (the person left)."""

    kind: str
    text: str = ""
    channel: str = KEYS
    sure: bool = True


Poll = Callable[[], Event | None]


class Stage(Protocol):
    """What the bench needs of a screen and keys."""

    def tell(self, line: str) -> None:
        """One line of what is said."""
        ...

    def show(self, prompt: Prompt) -> None:
        """The prompt that stands now."""
        ...

    def next_event(self, prompt: Prompt, status: Callable[[], str], poll: Poll, /) -> Event:
        """The next thing that happens."""
        ...


class PlainStage:
    """Plain lines in and out: for a screen reader, a pipe, a serial terminal."""

    def __init__(self, source: IO[str], sink: IO[str], say: Say = str) -> None:
        self._sink, self._say = sink, say
        self._lines: queue.Queue[str | None] = queue.Queue()
        threading.Thread(target=self._read, args=(source,), daemon=True).start()

    def _read(self, source: IO[str]) -> None:
        """Every line, in a thread of its own; bytes that are no text are not understood, and never end it."""
        if isinstance(source, io.TextIOWrapper):
            with contextlib.suppress(io.UnsupportedOperation):  # it was read from before
                source.reconfigure(errors="replace")
        try:
            while line := source.readline(MOST_LINE):
                self._lines.put(line)
        finally:
            self._lines.put(None)

    def tell(self, line: str) -> None:
        print(_CONTROLS.sub("?", line), file=self._sink, flush=True)

    def show(self, prompt: Prompt) -> None:
        for line in plain_lines(prompt, self._say):
            self.tell(line)

    def next_event(self, prompt: Prompt, _status: Callable[[], str], poll: Poll) -> Event:
        while True:
            try:
                line = self._lines.get(timeout=POLL_S)
            except queue.Empty:
                event = poll()
                if event is not None:
                    return event
            except KeyboardInterrupt:
                return Event("stop")
            else:
                if line is None:
                    return Event("gone")
                text = line.strip()
                return Event("typed", text or _empty_means(prompt))


class TerminalStage:
    """A terminal with large letters, run by prompt_toolkit."""

    def __init__(self, *, colour: bool = True, pedal_key: str = "", say: Say = str) -> None:
        from prompt_toolkit import PromptSession
        from prompt_toolkit.output import ColorDepth
        from prompt_toolkit.styles import Style

        self._depth = None if colour else ColorDepth.DEPTH_1_BIT
        self._style = Style.from_dict(STYLE)
        self._session: PromptSession[Any] = PromptSession(
            style=self._style, color_depth=self._depth, refresh_interval=0.25, erase_when_done=False
        )
        self._kept, self._say = "", say
        self._pedal_key = pedal_key
        self._pedal = Pedal()

    def tell(self, line: str) -> None:
        self._print([("class:told", wrapped(line, self._session.output.get_size().columns))])

    def show(self, prompt: Prompt) -> None:
        self._print(block(prompt, self._session.output.get_size().columns, big=True, say=self._say))

    def _print(self, fragments: list[tuple[str, str]]) -> None:
        from prompt_toolkit import print_formatted_text
        from prompt_toolkit.formatted_text import FormattedText

        print_formatted_text(FormattedText(fragments), style=self._style, color_depth=self._depth)

    def next_event(self, prompt: Prompt, status: Callable[[], str], poll: Poll) -> Event:
        from prompt_toolkit.formatted_text import FormattedText

        turning = prompt.expects.kind == "turning"
        kept, self._kept = self._kept, ""
        try:
            result = self._session.prompt(
                "> ",
                default=kept,
                bottom_toolbar=lambda: FormattedText(toolbar(status(), self._session.output.get_size().columns)),
                key_bindings=self._bindings(turning),
                pre_run=self._watch(poll),
            )
        except KeyboardInterrupt:
            return Event("stop")
        except EOFError:
            return Event("gone")
        if isinstance(result, Event):
            return result
        return Event("typed", result.strip() or _empty_means(prompt))

    def _watch(self, poll: Poll) -> Callable[[], None]:
        """A task beside the key reading that hands out what `poll` finds, and keeps what was half typed."""
        import asyncio  # prompt_toolkit has fetched it; plain lines do without

        app = self._session.app

        async def watch() -> None:
            while True:
                await asyncio.sleep(POLL_S)
                meant = self._pedal.meant(time.monotonic())
                event = Event("pedal", meant, PEDAL) if meant else poll()
                if event is not None and app.is_running and not app.is_done:
                    self._kept = app.current_buffer.text
                    app.exit(result=event)
                    return

        return lambda: void(app.create_background_task(watch()))

    def _bindings(self, turning: bool) -> Any:
        """While the starter turns every key means that it stands; else the usual keys, and the pedal's."""
        from prompt_toolkit.key_binding import KeyBindings
        from prompt_toolkit.keys import Keys

        bindings = KeyBindings()
        if turning:

            @bindings.add(Keys.Any, eager=True)
            @bindings.add("enter", eager=True)
            @bindings.add(" ", eager=True)
            def _released(event: Any) -> None:
                event.app.exit(result=Event("typed", "stop"))

            @bindings.add(Keys.CPRResponse, eager=True)
            def _place(event: Any) -> None:
                """The terminal tells where its cursor stands: no key of a person's."""
                event.app.renderer.report_absolute_cursor_row(int(event.data[2:-1].split(";")[0]))

            @bindings.add(Keys.Ignore, eager=True)
            @bindings.add(Keys.Vt100MouseEvent, eager=True)
            @bindings.add(Keys.WindowsMouseEvent, eager=True)
            def _nothing(_event: Any) -> None:
                """Nor is any of these."""

        elif self._pedal_key:

            @bindings.add(self._pedal_key, eager=True)
            def _pressed(event: Any) -> None:
                held = self._pedal.pressed(time.monotonic())
                if held:
                    event.app.exit(result=Event("pedal", held, PEDAL))

        return bindings


def void(_value: object) -> None:
    """Drop a value on purpose."""


def _empty_means(prompt: Prompt) -> str:
    """What the enter key alone means: done, begin, go on; never the start of a crank, never a choice."""
    first = {"action": "done", "idle": "yes", "gate": "yes", "turning": "stop", "wait": "next", "stopped": ""}
    return first.get(prompt.expects.kind, "")


def open_stage(*, plain: bool, colour: bool, pedal_key: str = "", say: Say = str) -> Stage:
    """A terminal stage when both ends are a terminal and plain lines are not asked for; `say` knows the language.

    A terminal that calls itself dumb, such as many a serial line, gets plain lines.
    """
    if plain or os.environ.get("TERM") == "dumb" or not sys.stdin.isatty() or not sys.stdout.isatty():
        return PlainStage(sys.stdin, sys.stdout, say)
    return TerminalStage(colour=colour, pedal_key=pedal_key, say=say)


def _key_waits(number: Callable[[], int]) -> bool:
    """Is there something to read within a poll? Windows can wait for sockets only; there reading does not block."""
    if os.name == "posix":
        return bool(select.select([number()], [], [], POLL_S)[0])
    time.sleep(POLL_S)
    return True


def learn_key(seconds: float) -> str:
    """The name of the next key pressed within `seconds`; "" when none came or the terminal cannot tell."""
    from prompt_toolkit.input import create_input

    found: list[str] = []
    keys = create_input()
    end = time.monotonic() + seconds
    with keys.raw_mode():
        while not found and time.monotonic() < end:
            if _key_waits(keys.fileno):
                found += [k.key.value if hasattr(k.key, "value") else str(k.key) for k in keys.read_keys()]
        found += [k.key.value if hasattr(k.key, "value") else str(k.key) for k in keys.flush_keys()]
    keys.close()
    return found[0] if found else ""
