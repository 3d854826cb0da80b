"""What a try to start the engine told: the one question that is asked of every situation, so it needs no diagnosis."""

from __future__ import annotations

from firststart.job.situation import Observed, Situation

FIRST_CRANK = "first-crank"
TRY = "firing"
RAN = ("runs", "starts", "fires")
CRANKING = "cranking"
NO_TURN = ("nothing", "click", "stops-dead", "whirrs")


def failed(seen: Observed) -> bool:
    """Is this the answer to a try that did not start it?"""
    return seen.word not in RAN if seen.name == TRY else seen.name == CRANKING and seen.word in NO_TURN


def does_not_start(situation: Situation) -> bool:
    """Was the newest try to start it a failure?"""
    for seen in reversed(situation.observed):
        if not seen.stale and (seen.name == TRY or failed(seen)):
            return failed(seen)
    return False
