"""The same networks in two general-purpose Bayesian libraries, for equality and for time.

A row with many causes cannot be a table of 2**n numbers, so every row is a chain of small nodes
(independence of causal influence: Heckerman and Breese 1996): c0 is the leak, c(k) = c(k-1) or (fault k shows).
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from firststart.diagnosis.program import Mended


def layout(net, found, mended=()):
    """(nodes, evidence, soft): nodes are (name, parents, table of P(1 | parents)), faults at each epoch included.

    `lasts` of a fault are unrolled: x{i}@{e} says that fault i is there in epoch e.
    """
    nodes = [(f"x{i}@0", (), [p]) for i, p in enumerate(net.prior)]
    epochs = {i: [f"x{i}@0"] for i in range(len(net.prior))}
    for epoch, repair in enumerate(mended, start=1):
        for i in epochs:
            if repair.at == i:
                name = f"x{i}@{epoch}"
                nodes.append((name, (epochs[i][-1],), [0.0, 1.0 - repair.success]))
                epochs[i].append(name)
            else:
                epochs[i].append(epochs[i][-1])
    hard, soft = {}, {}
    for j, f in enumerate(found):
        row = None if f.row is None else net.rows[f.row]
        leak, causes = (row.leak, row.causes) if row else (0.0, list(enumerate(net.stops)))
        last = f"c{j}.0"
        nodes.append((last, (), [leak]))
        for k, (i, q) in enumerate(causes, start=1):
            name = f"c{j}.{k}"
            nodes.append((name, (last, epochs[i][f.epoch]), [0.0, q, 1.0, 1.0]))
            last = name
        if f.likelihood is None:
            hard[last] = int(f.outcome == "bad")
        else:
            soft[last] = list(f.likelihood)
    return nodes, hard, soft


def pyagrum():
    """The library, loaded with warnings off: one that is made an error while it loads takes the process down.

    On a bare machine it may want a library of the system; then what is checked against it is told as not tested.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            import pyagrum as gum
        except ModuleNotFoundError:
            raise
        except ImportError as error:
            pytest.skip(f"pyAgrum cannot be loaded: {error}; install libgomp1")
    return gum


def agrum_network(nodes):
    """The network for pyAgrum."""
    gum = pyagrum()
    bn = gum.BayesNet()
    for name, _, _ in nodes:
        bn.add(gum.LabelizedVariable(name, name, 2))
    for name, parents, _ in nodes:
        for parent in parents:
            bn.addArc(parent, name)
    for name, parents, table in nodes:
        rows = np.array([[1.0 - p, p] for p in table])
        if not parents:
            bn.cpt(name).fillWith(rows[0].tolist())
            continue
        for at, row in enumerate(rows):
            values = {p: (at >> (len(parents) - 1 - n)) & 1 for n, p in enumerate(parents)}
            bn.cpt(name)[values] = row.tolist()
    return bn


def agrum_marginals(bn, hard, soft, faults):
    """P(fault | evidence) for every fault, by lazy propagation."""
    gum = pyagrum()
    engine = gum.LazyPropagation(bn)
    engine.setEvidence({**hard, **soft})
    engine.setTargets(set(faults))
    engine.makeInference()
    return np.array([float(engine.posterior(name)[1]) for name in faults])


def pgmpy_network(nodes, soft):
    """The network for pgmpy; a graded reading becomes a child node that was seen."""
    import logging

    logging.getLogger("pgmpy").setLevel(logging.ERROR)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.factors.discrete import TabularCPD
        from pgmpy.models import DiscreteBayesianNetwork

        model = DiscreteBayesianNetwork()
        model.add_nodes_from([name for name, _, _ in nodes])
        model.add_edges_from([(p, name) for name, parents, _ in nodes for p in parents])
        for name, parents, table in nodes:
            values = [[1.0 - p for p in table], list(table)]
            model.add_cpds(TabularCPD(name, 2, values, list(parents), [2] * len(parents)))
        for name, pair in soft.items():
            most = max(pair)
            seen = [v / most for v in pair]
            model.add_edge(name, f"{name}?")
            model.add_cpds(TabularCPD(f"{name}?", 2, [[1.0 - v for v in seen], seen], [name], [2]))
    return model


def pgmpy_marginals(model, hard, soft, faults):
    """P(fault | evidence) for every fault, by variable elimination."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from pgmpy.inference import VariableElimination

        engine = VariableElimination(model)
        evidence = {**hard, **{f"{name}?": 1 for name in soft}}
        return np.array([
            float(engine.query([name], evidence=evidence, show_progress=False).values[1]) for name in faults
        ])


def faults_of(net, epoch=0, mended: tuple[Mended, ...] = ()):
    """The names of the faults in an epoch."""
    names = []
    for i in range(len(net.prior)):
        changed = [e for e, r in enumerate(mended, start=1) if r.at == i and e <= epoch]
        names.append(f"x{i}@{changed[-1] if changed else 0}")
    return names
