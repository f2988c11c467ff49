"""The plan of a picture before any size is known: rungs, their rows, the rank of every net.

May know: everything of the graph. May not know: symbols, text, pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from halfsplit.drawing import dual, graph, order, orient, rank, rungs
from halfsplit.drawing.orient import Flow
from halfsplit.drawing.rungs import Rung
from halfsplit.drawing.sheet import Rail, Sheet


@dataclass(frozen=True, slots=True)
class Plan:
    """``rows[i]`` is the row of ``rungs[i]``; ``crossings`` counts rungs that pass a bar that is not theirs."""

    graph: graph.Graph
    flow: Flow
    rungs: tuple[Rung, ...]
    rows: tuple[int, ...]
    rank: dict[str, int]
    crossings: int


def _wish(found: graph.Graph, flow: Flow, links: Sequence[int]) -> float:
    """Where a rung would like to stand: L2 at the top (negative), PE at the foot, else as the sheet is written."""
    ends = {end for i in links for end in flow.arcs[i]}
    if found.rails.get(Rail.PE) in ends or found.rails.get(Rail.FRAME) in ends:
        return 100.0
    if found.rails.get(Rail.L2) in ends:
        return -100.0
    items = [flow.links[i].item for i in links if flow.links[i].item >= 0]
    return min(items, default=0) * 0.1


def _first_order(found: graph.Graph, flow: Flow, pieces: Sequence[Rung], paths: Sequence[Sequence[int]]) -> list[int]:
    """Rungs in the order of their paths, then the links that no planar picture holds."""
    turn = {i: place for place, p in enumerate(_paths(found, flow, paths)) for i in paths[p]}
    planar = [n for n, rung in enumerate(pieces) if rung.links[0] < flow.planar_count]
    return sorted(planar, key=lambda n: (turn[pieces[n].links[0]], n))


def _paths(found: graph.Graph, flow: Flow, paths: Sequence[Sequence[int]]) -> list[int]:
    return dual.path_order(flow, paths, lambda p: _wish(found, flow, paths[p]))


def _buses(sheet: Sheet, found: graph.Graph, places: dict[str, int]) -> list[Rung]:
    """Rows on which frames hang, as many to a row as there are gaps."""
    net_of = sheet.net_of()
    count: dict[str, int] = {}
    for frame in sheet.frames:
        count[net_of[frame.terminal]] = count.get(net_of[frame.terminal], 0) + 1
    last = max((place for node, place in places.items() if node not in (graph.LEFT, graph.RIGHT)), default=0)
    made = []
    for node, frames in count.items():
        room = max(1, last - places[node])
        made += [Rung((node,), (), min(room, frames - done)) for done in range(0, frames, room)]
    return made


def _with_heads(found: graph.Graph, pieces: Sequence[Rung], best: Sequence[int]) -> tuple[list[Rung], list[int]]:
    """Heads of the rails, each right before the first rung of its rail."""
    all_rungs = list(pieces)
    line = list(best)
    for node in found.rails.values():
        users = [place for place, number in enumerate(line) if node in all_rungs[number].nodes]
        line.insert(users[0] if users else len(line), len(all_rungs))
        all_rungs.append(Rung((node,), ()))
    return all_rungs, line


def _lowered(ladder: order.Ladder, all_rungs: Sequence[Rung], rows: list[int], heads: int) -> list[int]:
    """Heads moved down to the row above the first rung of their rail."""
    for number in range(heads, len(all_rungs)):
        node = all_rungs[number].nodes[0]
        own = [rows[n] for n in range(heads) if node in all_rungs[n].nodes]
        rows[number] = max(rows[number], min(own) - 1) if own else rows[number]
    return rows


def made(sheet: Sheet) -> Plan:
    """The plan of a checked sheet."""
    found = graph.build(sheet)
    flow = orient.oriented(found)
    places = rank.ranks(flow, found.rails.get(Rail.L2))
    pieces, paths = rungs.peel(flow)
    first = _first_order(found, flow, pieces, paths)
    loose = [n for n in range(len(pieces)) if n not in set(first)]
    pieces += _buses(sheet, found, places)
    first += [n for n in range(len(pieces)) if n not in {*first, *loose}]
    wish = [_wish(found, flow, rung.links) if rung.links else 200.0 for rung in pieces]
    rails = frozenset(found.rails.values())
    ladder = order.Ladder(pieces, places, rails, wish)
    for number in loose:
        first = order.inserted(ladder, first, number)
    best = order.improved(ladder, first)
    crossings = ladder.crossings(best)
    all_rungs, line = _with_heads(found, pieces, best)
    full = order.Ladder(all_rungs, places, rails, [*wish, *[0.0] * (len(all_rungs) - len(pieces))])
    rows = _lowered(full, all_rungs, full.rows(line), len(pieces))
    return Plan(found, flow, tuple(all_rungs), tuple(rows), places, crossings)
