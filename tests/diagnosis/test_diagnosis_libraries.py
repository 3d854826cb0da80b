"""Equality with two general-purpose Bayesian libraries on random networks and on the book that ships."""

from __future__ import annotations

import gzip
import itertools
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from diagnosis_engines import PROFILES, shipped
from diagnosis_libraries import (
    agrum_marginals,
    agrum_network,
    faults_of,
    layout,
    pgmpy_marginals,
    pgmpy_network,
    pyagrum,
)
from diagnosis_oracles import counted, numbers, random_case

from firststart.diagnosis.infer import solve
from firststart.diagnosis.network import fit


def case(seed, repairs=0, **sizes):
    """A random case without rows that turned good: the libraries get those in their own test below."""
    net, found, mended = random_case(np.random.default_rng(seed), repairs=repairs, **sizes)
    kept = [f for f in found if f.until is None and not (f.row is None and f.outcome == "ok")]
    return net, [f for n, f in enumerate(kept) if f.row not in {g.row for g in kept[:n]}], mended


@pytest.mark.external
@pytest.mark.parametrize("block", range(5))
def test_chances_equal_lazy_propagation_on_two_hundred_networks(block):
    """pyAgrum's LazyPropagation, 40 networks a block, graded readings and no-starts among them: within 1e-9."""
    for seed in range(40 * block, 40 * block + 40):
        net, found, mended = case(seed, faults=(3, 7), checks=(3, 6))
        nodes, hard, soft = layout(net, found, mended)
        theirs = agrum_marginals(agrum_network(nodes), hard, soft, faults_of(net))

        assert np.abs(theirs - solve(net, found, mended).chances.before).max() < 1e-9


@pytest.mark.external
@pytest.mark.parametrize("block", range(5))
def test_chances_equal_variable_elimination_on_two_hundred_networks(block):
    """pgmpy's VariableElimination, 40 small networks a block, graded readings and no-starts among them: within 1e-9.

    It is slow, so networks of five to ten faults are left to the benchmark, as many as here.
    """
    for seed in range(40 * block, 40 * block + 40):
        net, found, mended = case(seed, faults=(2, 4), checks=(2, 4))
        nodes, hard, soft = layout(net, found, mended)
        theirs = pgmpy_marginals(pgmpy_network(nodes, soft), hard, soft, faults_of(net))

        assert np.abs(theirs - solve(net, found, mended).chances.before).max() < 1e-9


@pytest.mark.external
@pytest.mark.parametrize("block", range(3))
def test_repairs_equal_the_network_unrolled_over_time(block):
    """Two repairs that may fail, findings before and after: pyAgrum on the network with a node for each epoch."""
    for seed in range(20 * block, 20 * block + 20):
        net, found, mended = case(seed, repairs=2)
        nodes, hard, soft = layout(net, found, mended)
        bn = agrum_network(nodes)
        got = solve(net, found, mended).chances
        before = agrum_marginals(bn, hard, soft, faults_of(net))
        now = agrum_marginals(bn, hard, soft, faults_of(net, len(mended), tuple(mended)))

        assert np.abs(before - got.before).max() < 1e-9
        assert np.abs(now - got.now).max() < 1e-9


@pytest.mark.external
@pytest.mark.parametrize("name", ["motorcycle", "unknown"])
def test_the_shipped_book_equals_lazy_propagation(name):
    """The whole book with five bad rows, fifteen good ones and a no-start, against pyAgrum: within 1e-9.

    Ten bad rows are in the benchmark: there the library needs up to a minute.
    """
    net = fit(shipped(), PROFILES[name], 12, "damp").numbers
    rows = [r for r in net.rows if net.rows[r].causes]
    np.random.default_rng(1).shuffle(rows)
    found = [counted(r, "bad" if k < 5 else "ok") for k, r in enumerate(rows[:20])] + [counted(None, "bad")]
    nodes, hard, soft = layout(net, found)
    theirs = agrum_marginals(agrum_network(nodes), hard, soft, faults_of(net))

    assert np.abs(theirs - solve(net, found).chances.before).max() < 1e-9


def published(name, folder):
    """A network of the Bayesian Network Repository (the file comes inside pgmpy), read by pyAgrum.

    It reads such files in single precision: what comes of them is good to 1e-7.
    """
    packed = Path(find_spec("pgmpy").origin).parent / "utils" / "example_models" / f"{name}.bif.gz"
    plain = folder / f"{name}.bif"
    plain.write_bytes(gzip.decompress(packed.read_bytes()))
    return pyagrum().loadBN(str(plain))


def answered(bn, evidence, *asked):
    """P(state | evidence) for each (node, state), by pyAgrum."""
    engine = pyagrum().LazyPropagation(bn)
    engine.setEvidence(evidence)
    engine.setTargets({name for name, _ in asked})
    engine.makeInference()
    return [engine.posterior(name)[{name: state}] for name, state in asked]


@pytest.mark.external
@pytest.mark.parametrize("told", list(itertools.product(("yes", "no"), repeat=4)))
def test_the_published_chest_clinic_is_answered_by_the_tool_itself(tmp_path, told):
    """Asia (Lauritzen and Spiegelhalter 1988): tuberculosis and lung cancer are two causes of one row without leak.

    The X-ray and the short breath are graded readings of that row: bronchitis, summed out, grades the second.
    """
    bn, (asia, smoke, xray, dysp) = published("asia", tmp_path), told
    prior = [float(bn.cpt("tub")[{"asia": asia, "tub": "yes"}]), float(bn.cpt("lung")[{"smoke": smoke, "lung": "yes"}])]
    by_xray = tuple(float(bn.cpt("xray")[{"either": e, "xray": xray}]) for e in ("no", "yes"))
    by_dysp = tuple(
        sum(float(bn.cpt("bronc")[{"smoke": smoke, "bronc": b}] * bn.cpt("dysp")[
            {"bronc": b, "either": e, "dysp": dysp}]) for b in ("yes", "no"))
        for e in ("no", "yes")
    )
    net = numbers(prior, [[1.0, 1.0], [1.0, 1.0]], [0.0, 0.0])
    got = solve(net, [counted("r0", "bad", likelihood=by_xray), counted("r1", "bad", likelihood=by_dysp)]).chances
    evidence = {"asia": asia, "smoke": smoke, "xray": xray, "dysp": dysp}

    assert pytest.approx(answered(bn, evidence, ("tub", "yes"), ("lung", "yes")), abs=1e-7) == got.now


@pytest.mark.external
@pytest.mark.parametrize(("rule", "needs"), [("RApp1", ("SNode_3", "DISPLACEM0")), ("RApp4", ("SNode_11", "KNOWN8"))])
def test_a_rule_of_a_published_network_of_223_nodes_is_answered_by_the_tool_itself(tmp_path, rule, needs):
    """Andes (Conati, Gertner, VanLehn and Druzdzel 1997): a rule was not applied; which of its premises was not known?

    The tables of its rules are leaky noisy-OR rows: any missing premise is enough, and there is a slip.
    """
    bn = published("andes", tmp_path)
    slip = float(bn.cpt(rule)[{**dict.fromkeys(needs, "true"), rule: "false"}])
    net = numbers([float(bn.cpt(name)[{name: "false"}]) for name in needs], [[1.0, 1.0]], [slip])
    got = solve(net, [counted("r0", "bad")]).chances

    assert pytest.approx(answered(bn, {rule: "false"}, *((n, "false") for n in needs)), abs=1e-7) == got.now


@pytest.mark.external
def test_the_reference_library_agrees_with_a_published_network(tmp_path):
    """win95pts (76 nodes, Bayesian Network Repository; the file comes inside pgmpy), read and solved by pyAgrum.

    The expected values are pgmpy's. This proves the reference: a library that is wrong on a published network is no
    oracle for the tests above.
    """
    expected = {
        ("PTROFFLINE", "Offline"): 0.338604, ("FllCrrptdBffr", "Full_or_Corrupt"): 0.277974,
        ("PrtOn", "No"): 0.184208, ("PrtDriver", "No"): 0.16682, ("PrtMem", "Less_than_2Mb"): 0.083965,
    }
    told = answered(published("win95pts", tmp_path), {"Problem1": "No_Output"}, *expected)

    assert pytest.approx(list(expected.values()), abs=1e-6) == told
