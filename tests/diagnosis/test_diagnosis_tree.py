"""The elimination as a tree on paper: the same policy, every outcome once, readable as text."""

from __future__ import annotations

import pytest
from diagnosis_engines import AT, PROFILES, shipped

from firststart.diagnosis import NoStart, advise
from firststart.diagnosis.tree import Node, draw, grow
from firststart.errors import InputError

MOWER = PROFILES["mower"]


def tree(depth=3, *evidence):
    return grow(shipped(), MOWER, 12, "damp", [NoStart(1, AT), *evidence], depth)


def all_nodes(node: Node):
    yield node
    for branch in node.branches:
        yield from all_nodes(branch.node)


def test_the_root_is_what_the_advice_says():
    """Paper and bench agree on the first thing to do."""
    told = advise(shipped(), MOWER, 12, "damp", [NoStart(1, AT)])

    assert tree(1).id == told.next.id
    assert tree(1).branches == ()


def test_each_outcome_of_a_check_has_its_branch_and_their_chances_add_up():
    """No outcome that can happen is left off the paper (rarer than one in two hundred is)."""
    for node in all_nodes(tree(3)):
        if node.kind == "check" and node.branches:
            assert sum(b.chance for b in node.branches) == pytest.approx(1.0, abs=0.03)
            words = [w for b in node.branches for w in b.words]
            assert len(words) == len(set(words))


def test_depth_is_kept():
    """No way down the paper is longer than was asked for."""
    def depth(node: Node) -> int:
        return 1 + max((depth(b.node) for b in node.branches), default=0)

    assert depth(tree(3)) == 3


def test_an_engine_cannot_show_what_it_has_not():
    """A mower with a recoil has no electric starter, so its paper never asks after one click."""
    assert not [w for node in all_nodes(tree(3)) for b in node.branches for w in b.words if w == "click"]


def test_the_text_can_be_followed():
    """Numbered lines, each outcome as 'If ...', and what is left at every leaf."""
    text = draw(tree(3))

    assert text.startswith("1. ")
    assert "   If " in text
    assert "Left then: " in text
    assert text.endswith("\n")
    assert all(line.strip() for line in text.rstrip("\n").split("\n"))


def test_the_same_record_prints_the_same_paper():
    """Twice the same."""
    assert draw(tree(2)) == draw(tree(2))


@pytest.mark.parametrize("depth", [0, 9])
def test_a_depth_that_would_fill_a_book_is_refused(depth):
    """From 1 to 8."""
    with pytest.raises(InputError, match="from 1 to 8"):
        tree(depth)
