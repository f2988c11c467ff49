"""Three multipliers and two adders (de Kleer and Williams, Artificial Intelligence 32:97-130, 1987).

A small adapter (`shows`) says what a point of the circuit shows where a set of boxes is broken: a candidate is such a
set, a finding the value read at a point. Posterior, information and the probe then come from the code that every
machine is diagnosed with. A broken box puts out any of sixteen values alike, each box is broken with probability .01,
and a value is never misread (choices of this test, not of the source).
"""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest

from benchmarks import branching
from halfsplit.evidence import outcome
from halfsplit.evidence.likelihood import LEAST_MASS, Perceived
from halfsplit.evidence.posterior import Candidates, Posterior, posterior
from halfsplit.plan import advise, problem, states
from halfsplit.plan.problem import Action, Floats, Problem, Repairs, Tests

BOXES = ("A1", "A2", "M1", "M2", "M3")
SETS = [frozenset(one) for size in range(6) for one in itertools.combinations(BOXES, size)]
CANDIDATES = Candidates(np.array([0.01 ** len(one) * 0.99 ** (5 - len(one)) for one in SETS]), healthy=0)
PROBES = "XYZ"
Found = tuple[tuple[str, int], ...]
OUTPUTS: Found = (("F", 10), ("G", 12))


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
def shows(point: str, found: Found) -> Floats:
    """(S, 31) probability of each value at a point under each set of broken boxes, once these values were found.

    Two points depend on each other where the box before both is broken, so each is told given those before it. Under
    a set that cannot have shown what was found, anything: zero.
    """
    into = f"x,y,z,xyf,yzg->{point.lower()}"
    table = np.array([np.einsum(into, *wires(broken, dict(found)), optimize=True) for broken in SETS])
    table[table.sum(axis=1) == 0.0, 0] = 1.0
    return np.asarray(table / table.sum(axis=1, keepdims=True))


def weighed(*found: tuple[str, int]) -> Posterior:
    """The product's posterior once these values were found, in this order."""
    items = [Perceived(point, value, shows(point, found[:n]), flat=0.0) for n, (point, value) in enumerate(found)]
    return posterior(items, CANDIDATES)


def believed(*found: tuple[str, int]) -> Floats:
    """(S,) the same where some set of broken boxes is the cause: in this circuit nothing else can be."""
    told = weighed(*found)
    return np.asarray(told.probability / (1.0 - told.unexplained))


def alone(*found: tuple[str, int]) -> dict[str, float]:
    """Probability that exactly this box is broken."""
    return {box: float(believed(*found)[SETS.index(frozenset({box}))]) for box in BOXES}


def possible(*found: tuple[str, int]) -> list[frozenset[str]]:
    """The sets of broken boxes that can have shown what was found: the least likely does once in 16 * 16."""
    told = weighed(*found)
    return [one for one, log in zip(SETS, told.log_likelihood, strict=True) if log > np.log(LEAST_MASS) / 2]


def probing(*found: tuple[str, int]) -> Problem:
    """What is left to find out, as the planner has it: a minute a probe, and every set its own repair."""
    tables = np.array([shows(point, found).T for point in PROBES])
    repairs = Repairs(np.eye(len(SETS), dtype=bool), [100.0] * len(SETS))
    return problem.build(believed(*found), Tests(tables, [1.0] * len(PROBES)), repairs)


def test_after_the_first_output() -> None:
    """F = 10 where 12 is right: A1, M1 and M2 are equally likely, .3238 each; M2 is not cleared yet."""
    given = alone(("F", 10))
    assert [given[box] for box in ("A1", "M1", "M2")] == pytest.approx([0.3238] * 3, abs=5e-5)


def test_after_both_outputs() -> None:
    """G = 12 as it should be: A1 and M1 share .4962 each, M2 alone is impossible, as forward steps alone miss."""
    given = alone(*OUTPUTS)
    assert [given[box] for box in ("A1", "M1")] == pytest.approx([0.4962] * 2, abs=5e-5)
    assert given["M2"] < 10 * LEAST_MASS


def test_the_posterior_is_that_of_all_modes() -> None:
    """To ten digits what Bayes' rule gives over all 2^5 modes, both outputs at once."""
    likelihood = [np.einsum("x,y,z,xyf,yzg->", *wires(one, dict(OUTPUTS)), optimize=True) for one in SETS]
    weight = CANDIDATES.prior * likelihood
    assert believed(*OUTPUTS) == pytest.approx(weight / weight.sum(), abs=1e-10)


def test_the_order_of_findings_does_not_matter() -> None:
    """G before F leaves the same, but for the least mass that a prediction may have."""
    assert believed(*OUTPUTS[::-1]) == pytest.approx(believed(*OUTPUTS), abs=1e-8)


def test_minimal_diagnoses() -> None:
    """The smallest sets of broken boxes that explain both outputs are {A1} {M1} {A2, M2} {M2, M3}."""
    left = possible(*OUTPUTS)
    smallest = {one for one in left if not any(other < one for other in left)}
    assert smallest == {frozenset(one) for one in ({"A1"}, {"M1"}, {"A2", "M2"}, {"M2", "M3"})}


def test_minimal_conflicts() -> None:
    """{A1, M1, M2} and {A1, A2, M1, M3} cannot all be sound: the smallest sets that meet every diagnosis."""
    left = possible(*OUTPUTS)
    conflicts = [one for one in SETS if all(one & broken for broken in left)]
    smallest = {one for one in conflicts if not any(other < one for other in conflicts)}
    assert smallest == {frozenset({"A1", "M1", "M2"}), frozenset({"A1", "A2", "M1", "M3"})}


def entropies(tables: Floats) -> Floats:
    """(K,) how unsure it is what each point will show [bit]."""
    return np.asarray(outcome.entropy_term(believed(*OUTPUTS) @ tables).sum(axis=1))


def test_probe_entropies() -> None:
    """What X will show is unsure by 1.053 bit, Y by .008 and Z by .004."""
    tables = np.array([shows(point, OUTPUTS) for point in PROBES])
    assert entropies(tables) == pytest.approx([1.053, 0.008, 0.004], abs=5e-4)


def test_x_tells_most() -> None:
    """By the information that steps of a machine are scored with: no more than is unsure, and of X nearly all of it."""
    tables = np.array([shows(point, OUTPUTS) for point in PROBES])
    told = np.array([outcome.information(believed(*OUTPUTS), np.arange(len(SETS)), table) for table in tables])
    assert PROBES[int(told.argmax())] == "X"
    assert np.all(told <= entropies(tables) + 1e-12)
    assert told[0] > 0.97 * entropies(tables)[0]


@pytest.mark.parametrize("exact_nodes", [0, advise.LIMITS.exact_nodes], ids=["rolled out", "exact"])
def test_the_planner_probes_x(exact_nodes: int) -> None:
    """What advises on a machine measures at X, and says what that costs: a minute, and the repair."""
    given = probing(*OUTPUTS)
    found = advise.advise(given, states.start(given), [], advise.LIMITS._replace(exact_nodes=exact_nodes))
    assert found.action == Action("test", PROBES.index("X"))
    assert found.expected_cost == pytest.approx(101.0, abs=1.0)


def test_the_posterior_follows_the_probe() -> None:
    """X = 6 leaves A1, X = 4 leaves M1: the branches of the plan agree with the posterior of the finding."""
    given = probing(*OUTPUTS)
    branches = branching.branches(given, states.start(given), Action("test", PROBES.index("X")))
    assert {branch.outcome for branch in branches} >= {4, 6}
    for branch in branches:
        assert branch.state is not None
        assert branch.state.posterior == pytest.approx(believed(*OUTPUTS, ("X", branch.outcome)), abs=1e-6)
