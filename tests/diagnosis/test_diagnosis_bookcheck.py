"""The checks of the book: clean on what ships, and each planted fault is found."""

from __future__ import annotations

from dataclasses import replace

import pytest
from diagnosis_engines import PROFILES, shipped
from test_diagnosis_book import book

from firststart.diagnosis.bookcheck import check_book, figures

KINDS = {name: profile for name, profile in PROFILES.items() if name != "unknown"}


def messages(changed, **more):
    return [p.message for p in check_book(changed, KINDS, **more)]


def changed_check(check, **changes):
    whole = shipped()
    return replace(whole, checks={**whole.checks, check: replace(whole.checks[check], **changes)})


def changed_rows(check, **changes):
    rows = tuple(replace(r, **changes) for r in shipped().checks[check].rows)
    return changed_check(check, rows=rows)


def test_the_shipped_book_has_no_problem():
    """Every suspect seen, every check reachable and worth its minutes, priors in range, for every kind of engine."""
    assert check_book(shipped(), KINDS) == ()
    assert check_book(shipped()) == ()


@pytest.mark.parametrize("name", sorted(KINDS))
def test_every_suspect_is_detected_and_all_but_a_few_isolated(name):
    """Fault detection coverage 1, isolation to one suspect at least 0.95 of the weight (IEEE Std 1522 terms)."""
    told = figures(shipped(), KINDS[name])

    assert told.detection_coverage == pytest.approx(1.0)
    assert told.isolation[0] >= 0.95
    assert told.isolation[0] <= told.isolation[1] <= told.isolation[2]
    assert told.mean_group < 1.1
    assert 2.0 < told.prior_sum < 7.0


def test_the_figures_of_a_small_matrix_are_as_worked_by_hand():
    """Two suspects: one row sees both, one row sees one. Two groups of one, coverage 1, one masked pair."""
    told = figures(book(), {}, years=0, storage="damp")

    assert told.detection_coverage == pytest.approx(1.0)
    assert told.ambiguity_groups == (("points_dirty",), ("coil",))
    assert told.isolation == pytest.approx((1.0, 1.0, 1.0))
    assert told.masked == (("coil", "points_dirty"),)
    assert dict(told.table())["ambiguity groups"] == "2, 0 of them of several suspects"


def test_a_suspect_that_nothing_sees_is_named():
    """Planted: the tank is looked into, but an empty one no longer shows anywhere."""
    whole = shipped()

    def without(row):
        return replace(row, bad_if={s: q for s, q in row.bad_if.items() if s != "tank_empty"})

    blind = {name: replace(c, rows=tuple(without(r) for r in c.rows)) for name, c in whole.checks.items()}

    assert any("tank_empty: no check makes it out" in m for m in messages(replace(whole, checks=blind)))


def test_a_copied_suspect_is_named():
    """Planted: a second suspect seen by every check exactly as the first."""
    whole = shipped()
    twin = replace(whole.suspects["ignition_fuse"], id="ignition_fuse_2")

    def doubled(row):
        more = {f"{s}_2": q for s, q in row.bad_if.items() if s == "ignition_fuse"}
        return replace(row, bad_if={**row.bad_if, **more})

    copied = {name: replace(c, rows=tuple(doubled(r) for r in c.rows)) for name, c in whole.checks.items()}
    told = messages(replace(whole, suspects={**whole.suspects, "ignition_fuse_2": twin}, checks=copied))

    assert any("ignition_fuse_2: every check sees it exactly as ignition_fuse" in m for m in told)


def test_a_check_that_another_makes_useless_is_named():
    """Planted: the same row as the condenser by meter, dearer and weaker."""
    whole = shipped()
    good = whole.checks["condenser test"]
    worse = replace(
        good, id="condenser guess", minutes=30.0,
        rows=tuple(replace(r, id="condenser guess", bad_if=dict.fromkeys(r.bad_if, 0.5)) for r in good.rows),
    )
    told = messages(replace(whole, checks={**whole.checks, "condenser guess": worse}))

    assert any("condenser guess: tells nothing that condenser test does not tell" in m for m in told)


def test_an_empty_check_is_named():
    """Planted: a row that hardly changes with what is there."""
    told = messages(changed_rows("oil level", bad_if={"oil_guard": 0.02}))

    assert any("oil level: hardly changes with what is there" in m for m in told)


def test_a_ring_of_needs_is_named_once():
    """Planted: the spark needs the stop wire off, which needs the spark."""
    told = [m for m in messages(changed_check("spark", needs={"stop wire off": ("spark returns",)})) if "ring" in m]

    assert len(told) == 1
    assert "spark needs stop wire off" in told[0]
    assert "stop wire off needs spark" in told[0]


def test_a_check_that_can_never_be_reached_is_named():
    """Planted: a diesel check that needs a petrol one."""
    told = messages(changed_check("glow current", needs={"spark": ("none",)}))

    assert any("glow current: needs spark, which no engine has" in m for m in told)


def test_a_check_without_any_suspect_it_could_find_is_named():
    """Planted: a check of diesels whose only suspect is a petrol fault."""
    whole = shipped()
    rows = tuple(replace(r, bad_if={"points_dirty": 0.9}) for r in whole.checks["diesel clear"].rows)
    told = messages(changed_check("diesel clear", rows=rows))

    assert any("diesel clear: no engine that has this check" in m for m in told)


def test_priors_out_of_range_are_named():
    """Planted: an empty tank as likely as not, five times over."""
    whole = shipped()
    loud = {k: replace(s, base=0.5) for k, s in whole.suspects.items()}

    assert any("the priors add up to" in m for m in messages(replace(whole, suspects=loud)))


def test_an_instruction_too_long_to_be_spoken_is_named():
    """Planted: 25 words."""
    told = messages(changed_check("tank look", do="Look " * 25))

    assert any("tank look: 'do' has 25 words" in m for m in told)


def test_a_procedure_that_does_not_tell_what_its_check_observes_is_named():
    """Planted: the spark proof is written, but observes something else."""
    told = messages(shipped(), work={"spark-proof": ("plug.gap",)})

    assert any("spark: procedure spark-proof does not observe spark" in m for m in told)


def test_every_problem_has_a_line_of_the_file():
    """A person can go there."""
    problems = check_book(changed_check("tank look", do="Look " * 25), KINDS)

    assert [(p.file, p.line) for p in problems] == [("procedures/no-start.yaml", shipped().checks["tank look"].line)]
