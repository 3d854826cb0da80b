"""What loudspeaker and microphone share: finding a device by name, opening it in time, closing it for certain.

A sound system may print on the terminal, take seconds, or never answer; none of that may reach the bench.
"""

from __future__ import annotations

import ctypes
import sys
import threading
from collections.abc import Callable, Generator
from functools import cache
from typing import Any

from firststart.errors import FirststartError


class DeviceError(FirststartError):
    """No loudspeaker or microphone can be opened. The message is the end of a sentence."""


def open_in_time(opener: Callable[[], Any], timeout: float, what: str) -> Any:
    """What `opener` returns, waited for at most `timeout` seconds. Raises DeviceError with the reason.

    A device that opens too late is closed again in the background.
    """
    result: list[Any] = []
    late = threading.Event()

    def run() -> None:
        _hush_alsa()
        try:
            device = opener()
        except Exception as error:  # the sound library raises several unrelated types
            result.append(error)
            return
        if late.is_set():
            device.close()
        result.append(device)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(timeout)
    if not result:
        late.set()
        raise DeviceError(f"the {what} did not open within {timeout:g} seconds")
    if isinstance(result[0], Exception):
        raise _device_error(result[0], what) from result[0]
    return result[0]


def close_in_time(device: Any, timeout: float = 1.0) -> None:
    """Close `device`, but wait no longer than `timeout` seconds: a dead sound server may never answer."""
    thread = threading.Thread(target=device.close, daemon=True)
    thread.start()
    thread.join(timeout)


def find_device(devices: list[dict[str, Any]], name: str | None, what: str) -> Any:
    """The id of the first device whose name contains `name` (any case); None for the usual one.

    Raises DeviceError with the names there are.
    """
    if name is None:
        return None
    for device in devices:
        if name.lower() in str(device["name"]).lower():
            return device["id"]
    names = ", ".join(repr(str(device["name"])) for device in devices) or "none at all"
    raise DeviceError(f"there is no {what} called {name!r}, but {names}")


def started(opened: Any, stream: Generator[Any, Any, None], what: str) -> Any:
    """A device that was opened, begun with what it takes from or gives to `stream`; closed again when it cannot be."""
    try:
        refuse_null(opened, what)
        next(stream)
        opened.start(stream)
    except BaseException:
        opened.close()
        raise
    return opened


def refuse_null(device: Any, what: str) -> None:
    """Raise DeviceError when the sound library opened its device that leads nowhere."""
    if str(device.backend).lower() == "null":
        raise DeviceError(f"no {what} was found")


def _device_error(error: Exception, what: str) -> DeviceError:
    if isinstance(error, DeviceError):
        return error
    if isinstance(error, ImportError):
        return DeviceError("the package miniaudio is not installed")
    return DeviceError(f"no {what} was found")


@cache
def _hush_alsa() -> Any:
    """Keep ALSA's own error lines off the terminal, where they would tear the screen. Kept alive by the cache."""
    if sys.platform != "linux":
        return None
    handler_type = ctypes.CFUNCTYPE(
        None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
    )
    handler = handler_type(lambda *_: None)
    try:
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(handler)
    except (OSError, AttributeError):
        return None
    return handler
