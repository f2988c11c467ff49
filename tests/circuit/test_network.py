"""What a network refuses, and what its edits mean."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.circuit import dense, fast
from halfsplit.circuit import network as nw


def divider(**changes: object) -> nw.Network:
    """120 V over 40 and 80 ohm: node 1 is fed, node 2 the middle, node 3 loose with a stray."""
    fields: dict[str, object] = {
        "nodes": 4, "tail": [0, 1, 2, 2], "head": [1, 2, 0, 3], "impedance": [0, 40, 80, 1],
        "closed": [True, True, True, False], "emf": [120, 0, 0, 0], "coupling": (),
        "stray": [0, 0, 0, 1e-8], "ground": 0,
    }  # fmt: skip
    return nw.Network(**{**fields, **changes})  # type: ignore[arg-type]


def test_an_emf_raises_volts_from_tail_to_head() -> None:
    """120 V driven from ground to node 1 puts node 1 at 120 V and 1 A through 120 ohm."""
    solution = dense.solve(divider())
    assert np.allclose(solution.v, [0, 120, 80, 0])
    assert np.allclose(solution.i, [1, 1, 1, 0])


def test_all_problems_are_told_at_once() -> None:
    """Two bad ends, an infinite impedance and a coupling with itself make four problems."""
    with pytest.raises(nw.NetworkError) as caught:
        divider(tail=[0, 9, 2, 3], impedance=[0, 40, np.inf, 1], coupling=((1, 1, 2.0),))
    assert len(caught.value.problems) == 4
    assert "branch 1: tail is node 9" in str(caught.value)


def test_wrong_shapes_are_told_before_values() -> None:
    """An array of the wrong length is named with the length it needs."""
    with pytest.raises(nw.NetworkError, match=r"emf has shape \(1,\), it needs \(4,\)"):
        divider(emf=[120])


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (nw.opened(7), "branches are 0 to 3"),
        (nw.Rebranch(1, True, complex("inf")), "closed=False"),
        (nw.Bridge(1, 1, 1), "two nodes"),
        (nw.Bridge(1, 2, complex("nan")), "leave it out"),
    ],
)
def test_edits_that_cannot_be_made_are_refused_by_both_solvers(edit: nw.Edit, words: str) -> None:
    """A wrong branch, node or impedance raises the same sentence from the slow and the fast way."""
    with pytest.raises(nw.NetworkError, match=words):
        dense.solve(divider(), (edit,))
    with pytest.raises(nw.NetworkError, match=words):
        fast.Factored(divider()).solve((edit,))


def test_a_loose_node_without_a_stray_has_no_solution() -> None:
    """The dense and the fast solver say so in words instead of returning numbers."""
    with pytest.raises(nw.NetworkError, match="hangs free"):
        dense.solve(divider(stray=[0, 0, 0, 0]))
    with pytest.raises(nw.NetworkError, match="hangs free"):
        fast.Factored(divider(stray=[0, 0, 0, 0]))
    with pytest.raises(nw.NetworkError, match="edit list 0 leaves a node hanging free"):
        fast.Factored(divider(tail=[0, 1, 2, 3], head=[1, 2, 0, 2], closed=[True] * 4, stray=[0] * 4)).solve(
            (nw.opened(3),)
        )


def test_the_last_rebranch_of_a_branch_counts() -> None:
    """Two edits of one branch: the second replaces the first, emf None keeping the network's own."""
    edits = (nw.Rebranch(0, True, 0, emf=10), nw.Rebranch(0, True, 120))
    for solution in (dense.solve(divider(), edits), fast.Factored(divider()).solve(edits)):
        assert np.allclose(solution.v, [0, 60, 40, 0])


@pytest.mark.parametrize(("coupled", "volts"), [(True, 75.0), (False, 80.0)])
def test_a_rebranch_keeps_or_drops_the_induced_volts(coupled: bool, volts: float) -> None:
    """8 ohm of coupling from branch 0 into 1: the same 40 ohm again keeps it unless told to drop it."""
    network = divider(coupling=((1, 0, 8.0),))
    edits = (nw.Rebranch(1, True, 40, coupled=coupled),)
    for solution in (dense.solve(network, edits), fast.Factored(network).solve(edits)):
        assert solution.v[2].real == pytest.approx(volts)


def test_arrays_cannot_be_written() -> None:
    """A network is frozen to its arrays."""
    with pytest.raises(ValueError, match="read-only"):
        divider().emf[0] = 1
