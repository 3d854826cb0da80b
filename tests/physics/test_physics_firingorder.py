"""Firing orders: when each cylinder comes up, and which two stand at their tops together."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from physics_cited import cited

from firststart.errors import InputError
from firststart.physics.firingorder import angle_after, order_of, pairs, written
from firststart.physics.subjects import SUBJECTS
from firststart.physics.timingmark import firing_interval

PUBLISHED = [
    *cited("Thermo King TK 56433-5-MM p 50 (a full turn on, number four fires)", [(1342, ((1, 4), (2, 3)))]),
    *cited("owner's note on forums.pelicanparts.com, post 12436471 (4 rocks at the top of 1)", [(162435, (1, 4))]),
    *cited("crankshaft throws of six in line and of V8 engines (from memory)", [
        (153624, ((1, 6), (2, 5), (3, 4))), (18436572, ((1, 6), (2, 3), (4, 7), (5, 8))),
        (1243, ((1, 4), (2, 3))),
    ]),
]  # fmt: skip


@pytest.mark.external
@pytest.mark.parametrize(("number", "expected"), PUBLISHED)
def test_pairs_one_turn_apart(number: int, expected: tuple[object, ...]) -> None:
    """The published partner of a cylinder is the one half the order away."""
    found = pairs(order_of(number), "four-stroke")

    assert found == expected or expected in found


@pytest.mark.external
def test_six_cylinders_come_up_as_a_shop_manual_has_it() -> None:
    """1-5-3-6-2-4: number six fires a full turn after number one, five after 120 degrees (handbooks, from memory)."""
    order = order_of(153624)

    assert [120, 360] == [round(math.degrees(angle_after(order, c, "four-stroke"))) for c in (5, 6)]


ORDERS = st.integers(1, 8).flatmap(lambda n: st.permutations(range(1, n + 1)))


@given(ORDERS, st.sampled_from(["four-stroke", "two-stroke"]))
def test_any_order_is_a_turn_of_the_cycle(cylinders: list[int], cycle: str) -> None:
    """Angles are every interval once, number one at none; partners lie a whole turn of the crank apart."""
    order = order_of(int("".join(map(str, cylinders))))
    angles = [angle_after(order, c, cycle) for c in order]

    assert order[0] == 1
    assert angles == pytest.approx([i * firing_interval(len(order), cycle) for i in range(len(order))])
    assert all(
        abs(angle_after(order, a, cycle) - angle_after(order, b, cycle)) == pytest.approx(2 * math.pi)
        for a, b in pairs(order, cycle)
    )


@pytest.mark.parametrize("number", [0, 2, 10, 1332, 1245, 13.5, 11, 1234567890])
def test_what_is_no_order_is_refused(number: float) -> None:
    """A cylinder twice, one left out, nought: told with how to give it."""
    with pytest.raises(InputError, match="1 3 4 2"):
        order_of(number)


def test_an_order_is_told_from_number_one_on() -> None:
    """3-4-2-1 is the same order as 1-3-4-2; three cylinders and two-strokes have no partners."""
    answers = {a.name: a.value for a in SUBJECTS["firing-order"].run({"order": 132.0, "cycle": "four-stroke"})}

    assert "1 3 4 2" == written(order_of(3421))
    assert "none" == answers["pairs"]
    assert () == pairs(order_of(1342), "two-stroke")
