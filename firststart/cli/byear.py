"""From the sound of a crank to what the bench offers of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from firststart.bench.byear import Beat, Overheard
from firststart.errors import FirststartError

if TYPE_CHECKING:
    from firststart.devices.endpoint import Block

RATE = 16000


def overheard(sound: Block | None, beat: Beat | None) -> Overheard | None:
    """What can be told of a crank from its `sound`; None when there is none, or nothing can be made out."""
    if sound is None or beat is None:
        return None
    import numpy as np

    from firststart.devices.cranking_sound import cranking

    try:
        heard = cranking(sound.astype(np.float64), RATE, beat.cylinders, beat.strokes)
    except FirststartError:  # too soft, too short, no beat: then nothing is offered
        return None
    return Overheard(heard.seconds, heard.seconds_u, heard.rpm, heard.rpm_u, heard.evenness)
