"""What an owner answers next against the joint mass of all that they told with that answer and with the other one."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.circuit.network import Array
from halfsplit.evidence import posterior as ps
from halfsplit.evidence import told
from halfsplit.evidence.likelihood import Perceived
from halfsplit.evidence.slips import Masses
from halfsplit.predict.moments import mixed

SINGLES = 4
SETUPS = ("here", "there", "elsewhere")


def candidates(random: np.random.Generator) -> ps.Candidates:
    """The healthy machine, three faults of which two come and go, and each pair of them."""
    acting = np.array([1.0, 1.0, *random.uniform(0.05, 0.95, 2)])
    pairs = [(1, 2), (1, 3), (2, 3)]
    parts = np.array([*((row, 0) for row in range(SINGLES)), *pairs])
    every = np.array([*acting, *(acting[a] * acting[b] for a, b in pairs)])
    return ps.Candidates(random.uniform(0.1, 1, len(parts)), 0, every, parts)


def answer(random: np.random.Generator, setup: str, value: int, size: int) -> Perceived:
    """One that no slip spoils, by random chances of yes."""
    yes = random.uniform(0.02, 0.98, size)
    return Perceived(setup=setup, value=value, table=np.column_stack([1 - yes, yes]), flat=0.0)


def mass(items: list[ps.Item], known: ps.Candidates) -> Array:
    """Log mass (S,) of all that was told."""
    return ps.log_likelihoods(items, known, Masses(len(known.prior)))


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), stated=st.integers(0, 3), unstated=st.integers(0, 3))
def test_an_answer_is_foretold_as_it_is_weighed(seed: int, stated: int, unstated: int) -> None:
    """P(yes) is L(told, yes) over L(told, yes) + L(told, no), for single faults and pairs, settings stated or not."""
    random = np.random.default_rng(seed)
    known = candidates(random)
    size = len(known.prior)
    items: list[ps.Item] = [answer(random, str(random.choice(SETUPS)), int(random.integers(2)), size)
                            for _ in range(stated)]  # fmt: skip
    if unstated:
        values = [int(random.integers(2)) for _ in range(unstated)]
        met = zip((0.6, 0.3, 0.1), SETUPS, strict=True)
        contexts = [ps.Context(w, tuple(answer(random, setup, v, size) for v in values)) for w, setup in met]
        items.append(ps.Block(tuple(contexts)))
    asked = answer(random, "here", 1, size)
    other = Perceived(setup="here", value=0, table=asked.table, flat=0.0)
    yes, no = (mass([*items, one], known) for one in (asked, other))
    ways = told.ways(items, known, Masses(size), "here", np.arange(size))
    np.testing.assert_allclose(np.sum([chance for chance, _ in ways], axis=0), 1.0, rtol=1e-12)
    np.testing.assert_allclose(mixed(ways, asked.table[:, 1]), 1 / (1 + np.exp(no - yes)), atol=1e-9)


def test_where_nothing_was_told_the_chance_is_the_usual_one() -> None:
    """Before any word of the owner a fault that comes and goes was there as often as in any set-up."""
    known = candidates(np.random.default_rng(1))
    assert known.acting is not None
    ways = told.ways([], known, Masses(len(known.prior)), "here", np.arange(len(known.prior)))
    np.testing.assert_allclose(ways[0][0], known.acting)
