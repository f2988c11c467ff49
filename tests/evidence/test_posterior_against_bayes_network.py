"""The posterior against a general-purpose Bayesian-network library (pybbn, exact junction tree)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from pybbn.graph.dag import Bbn  # type: ignore[import-untyped]  # the library ships no types
from pybbn.graph.edge import Edge, EdgeType  # type: ignore[import-untyped]
from pybbn.graph.jointree import EvidenceBuilder  # type: ignore[import-untyped]
from pybbn.graph.node import BbnNode  # type: ignore[import-untyped]
from pybbn.graph.variable import Variable  # type: ignore[import-untyped]
from pybbn.pptc.inferencecontroller import InferenceController  # type: ignore[import-untyped]
from scipy.stats import norm

from halfsplit.evidence.likelihood import Finding, Numeric, Perceived
from halfsplit.evidence.posterior import Candidates, posterior
from tests.evidence import examples, obvious

NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(14)
"""The one shared unknown, as a discrete variable: nodes and weights of a Gauss-Hermite rule."""


class Network:
    """A Bayesian network in the making: nodes are numbered as they come."""

    def __init__(self) -> None:
        self.graph = Bbn()
        self.nodes: list[BbnNode] = []

    def add(self, states: int, table: Sequence[float], parents: Sequence[BbnNode] = ()) -> BbnNode:
        """A node whose table runs over the parents' states, its own state last."""
        number = len(self.nodes)
        names = [f"{number}.{i}" for i in range(states)]
        node = BbnNode(Variable(number, f"n{number}", names), list(table))
        self.graph.add_node(node)
        for parent in parents:
            self.graph.add_edge(Edge(parent, node, EdgeType.DIRECTED))
        self.nodes.append(node)
        return node

    def belief(self, asked: BbnNode, seen: Sequence[BbnNode]) -> list[float]:
        """Probabilities of the asked node when every seen node is in its first state."""
        tree = InferenceController.apply(self.graph)
        for node in seen:
            name = node.variable.name
            first = node.variable.values[0]
            evidence = EvidenceBuilder().with_node(tree.get_bbn_node_by_name(name)).with_evidence(first, 1.0)
            tree.set_observation(evidence.build())
        beliefs = tree.get_posteriors()[asked.variable.name]
        return [beliefs[value] for value in asked.variable.values]


def displayed(f: Finding, s: int, unknown: float, kind: str | None) -> float:
    """Mass of one finding for a candidate, an unknown and a slip: a table entry of its node."""
    if kind == "":
        return obvious.flat_mass([f])
    if kind is not None and any(a.kind == kind for a in f.alternatives):
        return obvious.slip_mass([f], kind, s)
    if isinstance(f, Perceived):
        return float(f.table[s, f.value])
    mean = f.mean[s] + f.jacobian[s, 0] * unknown
    density = norm.pdf(f.x, mean, np.sqrt(f.noise[s] ** 2 + f.width**2 / 12))
    return float(density * f.width * (1.0 - f.over[s]))


def network_belief(findings: Sequence[Finding], prior: Sequence[float], unknowns: bool) -> list[float]:
    """Beliefs in the candidates: a node each for candidate, unknown, slip of a set-up, and finding."""
    network = Network()
    candidate = network.add(len(prior), prior)
    values = NODES if unknowns else np.zeros(1)
    unknown = network.add(len(NODES), WEIGHTS / WEIGHTS.sum()) if unknowns else None
    seen = []
    slips = [
        (ways, network.add(len(ways) + 1, [1.0 - sum(p for _, p, _ in ways), *(p for _, p, _ in ways)]))
        for ways in ([w for w in all_ways if w[1] > 0.0] for all_ways in obvious.slips_of(findings))
        if ways
    ]
    for i, f in enumerate(findings):
        ((ways, slip),) = [(w, node) for w, node in slips if any(i in hit for _, _, hit in w)]
        kinds = [None, *(kind if i in hit else None for kind, _, hit in ways)]
        masses = [displayed(f, s, u, k) for s, u, k in product(range(len(prior)), values, kinds)]
        table = [p for mass in masses for p in (mass, 1.0 - mass)]
        parents = [candidate, slip] if unknown is None else [candidate, unknown, slip]
        seen.append(network.add(2, table, parents))
    return network.belief(candidate, seen)


def our_belief(findings: Sequence[Finding], prior: Sequence[float]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Our probabilities, with something the file does not say left aside."""
    found = posterior(findings, Candidates(np.array(prior), healthy=0))
    return found.probability / (1.0 - found.unexplained)


@pytest.mark.parametrize("seed", range(6))
def test_looks_and_symptoms(seed: int) -> None:
    """Six looks and symptoms in six set-ups, each with its slips: equal to twelve digits."""
    random = np.random.default_rng(seed)
    findings = [examples.perceived(random, 5, setup=g, kinds=g % 3) for g in range(6)]
    prior = list(random.dirichlet(np.ones(5)))
    np.testing.assert_allclose(our_belief(findings, prior), network_belief(findings, prior, False), rtol=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_readings_with_a_shared_unknown(seed: int) -> None:
    """Four numbers and a look in two set-ups share an unknown and slips: equal to 1e-6."""
    random = np.random.default_rng(100 + seed)
    readings = [examples.numeric(random, 3, unknowns=1, setup=g, kinds=1) for g in (0, 0, 1, 1)]
    gentle = [replace(f, jacobian=0.2 * f.jacobian, noise=np.maximum(f.noise, 0.15), flat=0.0) for f in readings]
    findings: list[Numeric | Perceived] = [*gentle, examples.perceived(random, 3, setup=2, kinds=2)]
    prior = list(random.dirichlet(np.ones(3)))
    np.testing.assert_allclose(our_belief(findings, prior), network_belief(findings, prior, True), rtol=1e-6)
