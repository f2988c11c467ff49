"""Laws of the plan, on random netlists: directions, ranks, rungs and rows."""

from __future__ import annotations

import pytest

from halfsplit.drawing import channels, graph, order, orient, plan, rank, rungs
from halfsplit.drawing.graph import LEFT, RIGHT, Kind
from halfsplit.drawing.sheet import Rail
from tests.drawing import netlists

SEEDS = range(0, 60, 3)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_net_has_something_before_and_after_it(seed: int) -> None:
    """In the planar part only the two sides of the house are ends: the orientation is bipolar."""
    flow = orient.oriented(graph.build(netlists.netlist(seed, most=30)[0]))
    planar_arcs = flow.arcs[: flow.planar_count]
    used = {end for arc in planar_arcs for end in arc}
    assert {node for node in used if not any(head == node for _, head in planar_arcs)} == {LEFT}
    assert {node for node in used if not any(tail == node for tail, _ in planar_arcs)} == {RIGHT}


@pytest.mark.parametrize("seed", SEEDS)
def test_every_link_runs_to_a_higher_rank(seed: int) -> None:
    """Ranks rise along every link, with and without guides for dead ends."""
    found = graph.build(netlists.netlist(seed, most=30)[0])
    flow = orient.oriented(found)
    for guides in (True, False):
        place = rank.ranks(flow, found.rails.get(Rail.L2), guides)
        for (tail, head), link in zip(flow.arcs, flow.links, strict=True):
            if link.kind is not Kind.GUIDE:
                assert place[tail] < place[head]


@pytest.mark.parametrize("seed", SEEDS)
def test_rungs_hold_every_link_once(seed: int) -> None:
    """Each link that is drawn is on one rung, between the nodes that it joins."""
    flow = orient.oriented(graph.build(netlists.netlist(seed, most=30)[0]))
    found, _ = rungs.peel(flow)
    drawn = [i for i, link in enumerate(flow.links) if link.kind is not Kind.GUIDE]
    assert sorted(i for rung in found for i in rung.links) == drawn
    for rung in found:
        assert [flow.arcs[i] for i in rung.links] == list(zip(rung.nodes, rung.nodes[1:], strict=False))


@pytest.mark.parametrize("seed", SEEDS)
def test_rungs_that_meet_have_rows_of_their_own(seed: int) -> None:
    """Two rungs on one row share at most one rank, where one ends and the other begins on the same net."""
    made = plan.made(netlists.netlist(seed, most=30)[0])
    spans = [
        (row, made.rank[r.nodes[0]], made.rank[r.nodes[-1]], r) for r, row in zip(made.rungs, made.rows, strict=True)
    ]
    for number, (row, start, end, rung) in enumerate(spans):
        for other_row, other_start, other_end, other in spans[number + 1 :]:
            if row == other_row and start <= other_end and other_start <= end:
                meeting = (rung.nodes[-1] == other.nodes[0] and end == other_start) or (
                    other.nodes[-1] == rung.nodes[0] and other_end == start
                )
                assert meeting


@pytest.mark.parametrize("seed", SEEDS)
def test_bars_of_one_track_do_not_touch(seed: int) -> None:
    """Two nets of one rank and one track have no row in common."""
    made = plan.made(netlists.netlist(seed, most=30)[0])
    lane = channels.tracks(made)
    rows: dict[tuple[int, int], list[set[int]]] = {}
    for node, track in lane.items():
        on = [row for rung, row in zip(made.rungs, made.rows, strict=True) if node in rung.nodes]
        rows.setdefault((made.rank[node], track), []).append(set(range(min(on), max(on) + 1)))
    for spans in rows.values():
        assert sum(map(len, spans)) == len(set().union(*spans))


def test_improvement_never_makes_it_worse() -> None:
    """The order after improvement costs no more than before, and holds the same rungs."""
    sheet = netlists.netlist(9, most=30)[0]
    found = graph.build(sheet)
    flow = orient.oriented(found)
    pieces, _ = rungs.peel(flow)
    ladder = order.Ladder(pieces, rank.ranks(flow, None), found.rails.values(), (), [0.0] * len(pieces))
    start = list(range(len(pieces)))
    after = order.improved(ladder, start)
    assert sorted(after) == start
    assert ladder.cost(after) <= ladder.cost(start)
