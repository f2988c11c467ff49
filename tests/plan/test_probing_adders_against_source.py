"""Three multipliers and two adders (de Kleer and Williams, Artificial Intelligence 32:97-130, 1987).

A small adapter turns the circuit into a repair problem: a fault is a set of broken boxes, a test is the value seen
at a point. The posterior and the chosen probe then come from the same code as for any machine. A broken box puts out
any of sixteen values alike, and each box is broken with probability .01 (choices of this test, not of the source).
"""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest

from halfsplit.plan import choose, problem
from halfsplit.plan.problem import Action, Floats, Problem, Repairs, State, Tests

BOXES = ("A1", "A2", "M1", "M2", "M3")
SETS = [frozenset(one) for size in range(6) for one in itertools.combinations(BOXES, size)]
POINTS = "FGXYZ"
TESTS = {name: place for place, name in enumerate(POINTS)}


def wires(broken: frozenset[str], found: dict[str, int]) -> list[Floats]:
    """Probability of what the boxes put out where these are broken and these values were found.

    For M1, M2, M3 by value (31,); for A1 and A2 by the two values that go in and the value that comes out.
    """
    values = np.arange(31)
    total = values[:, None, None] + values[None, :, None] == values[None, None, :]
    boxes: list[Floats] = []
    for box, point in (("M1", "X"), ("M2", "Y"), ("M3", "Z"), ("A1", "F"), ("A2", "G")):
        sound = total if box[0] == "A" else values == 6
        out = np.where(box in broken, (values < 16) / 16, sound)
        boxes.append(out * (values == found.get(point, values)))
    return boxes


@cache
def adapted(*findings: tuple[str, int]) -> Problem:
    """The problem once these values were found: prior times their likelihood, and each point's values given them.

    The values at two points depend on each other where a box is broken; so each point is told given what was found.
    """
    shows = np.zeros((len(POINTS), 31, len(SETS)))
    for place, broken in enumerate(SETS):
        boxes = wires(broken, dict(findings))
        for test, kept in enumerate("fgxyz"):
            shows[test, :, place] = np.einsum(f"x,y,z,xyf,yzg->{kept}", *boxes, optimize=True)
    weight = shows[0].sum(axis=0)
    shows[:, 0, weight == 0] = 1.0
    shows /= shows.sum(axis=1, keepdims=True)
    prior = np.array([0.01 ** len(one) * 0.99 ** (5 - len(one)) for one in SETS])
    cures = np.eye(len(SETS), dtype=bool)
    return problem.build(prior * weight, Tests(shows, [1.0] * 5), Repairs(cures, [100.0] * len(SETS)))


def alone(given: Problem) -> dict[str, float]:
    """Probability that exactly this box is broken."""
    return {box: float(given.prior[SETS.index(frozenset({box}))]) for box in BOXES}


def entropies(given: Problem, posterior: Floats) -> dict[str, float]:
    """Entropy of what each point would show [bit]."""
    expected = problem.outcome_probabilities(given, posterior)
    logs = np.log2(expected, where=expected > 0, out=np.zeros_like(expected))
    return dict(zip(POINTS, -(expected * logs).sum(axis=1), strict=True))


def test_after_the_first_output() -> None:
    """F = 10 where 12 is right: A1, M1 and M2 are equally likely, .3238 each; M2 is not cleared yet."""
    given = adapted(("F", 10))
    assert [alone(given)[box] for box in ("A1", "M1", "M2")] == pytest.approx([0.3238] * 3, abs=5e-5)


def test_after_both_outputs() -> None:
    """G = 12 as it should be: A1 and M1 share .4962 each, M2 alone is impossible, as forward steps alone miss."""
    given = adapted(("F", 10), ("G", 12))
    assert [alone(given)[box] for box in ("A1", "M1")] == pytest.approx([0.4962] * 2, abs=5e-5)
    assert alone(given)["M2"] == 0.0


def test_minimal_diagnoses() -> None:
    """The smallest sets of broken boxes that explain both outputs are {A1} {M1} {A2, M2} {M2, M3}."""
    given = adapted(("F", 10), ("G", 12))
    possible = [one for p, one in zip(given.prior, SETS, strict=True) if p > 0]
    smallest = {one for one in possible if not any(other < one for other in possible)}
    assert smallest == {frozenset(one) for one in ({"A1"}, {"M1"}, {"A2", "M2"}, {"M2", "M3"})}


def test_minimal_conflicts() -> None:
    """{A1, M1, M2} and {A1, A2, M1, M3} cannot all be sound: the smallest sets that meet every diagnosis."""
    given = adapted(("F", 10), ("G", 12))
    possible = [one for p, one in zip(given.prior, SETS, strict=True) if p > 0]
    conflicts = [one for one in SETS if all(one & broken for broken in possible)]
    smallest = {one for one in conflicts if not any(other < one for other in conflicts)}
    assert smallest == {frozenset({"A1", "M1", "M2"}), frozenset({"A1", "A2", "M1", "M3"})}


def test_probe_entropies() -> None:
    """X tells 1.053 bit, Y .008 and Z .004."""
    given = adapted(("F", 10), ("G", 12))
    told = entropies(given, given.prior)
    assert [told[point] for point in "XYZ"] == pytest.approx([1.053, 0.008, 0.004], abs=5e-4)


def test_the_chooser_probes_x() -> None:
    """The chooser, with exact search switched off, measures at X."""
    given = adapted(("F", 10), ("G", 12))
    start = problem.start(given)
    assert choose.choose(given, start, choose.DEFAULT._replace(exact_nodes=0)).action == Action("test", TESTS["X"])
    assert next(choose.improve(given, start)).action == Action("test", TESTS["X"])


def test_the_posterior_follows_the_probe() -> None:
    """X = 6 leaves A1, X = 4 leaves M1: the branches of the problem agree with conditioning the whole circuit."""
    given = adapted(("F", 10), ("G", 12))
    for branch in problem.branches(given, problem.start(given), Action("test", TESTS["X"])):
        assert isinstance(branch.state, State)
        again = adapted(("F", 10), ("G", 12), ("X", branch.outcome))
        assert branch.state.posterior == pytest.approx(again.prior, abs=1e-12)
