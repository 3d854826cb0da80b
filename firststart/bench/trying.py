"""What a try to start the engine told: the one question that is asked of every situation, so it needs no diagnosis."""

from __future__ import annotations

from firststart.job.situation import Situation

TRY = "firing"
RAN = ("runs", "starts", "fires")
CRANKING = "cranking"
NO_TURN = ("nothing", "click", "stops-dead", "whirrs")


def does_not_start(situation: Situation) -> bool:
    """Was the newest try to start it a failure?"""
    for seen in reversed(situation.observed):
        if seen.stale:
            continue
        if seen.name == TRY:
            return seen.word not in RAN
        if seen.name == CRANKING and seen.word in NO_TURN:
            return True
    return False
