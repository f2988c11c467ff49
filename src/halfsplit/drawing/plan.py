"""The plan of a picture before any size is known: rungs, their rows, the rank of every net.

May know: everything of the graph. May not know: symbols, text, pixels.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from halfsplit.drawing import dual, graph, order, orient, rank, rungs
from halfsplit.drawing.orient import Flow
from halfsplit.drawing.rungs import Rung
from halfsplit.drawing.sheet import Rail, Sheet

_TRIES = 10_000
"""Budget of links over the flows that are tried for fewer crossings: keeps 60 elements within seconds."""

_FEW = 14
"""Up to so many rungs both starts are improved, else only the better one."""


@dataclass(frozen=True, slots=True)
class Plan:
    """``rows[i]`` is the row of ``rungs[i]``; ``crossings`` counts rungs that pass a bar that is not theirs."""

    graph: graph.Graph
    flow: Flow
    rungs: tuple[Rung, ...]
    rows: tuple[int, ...]
    rank: dict[str, int]
    crossings: int
    inline: frozenset[str] = frozenset()
    """Rails whose head goes on in line with their only rung."""


def _wish(found: graph.Graph, flow: Flow, links: Sequence[int]) -> float:
    """Where a rung would like to stand: L2 at the top (negative), PE at the foot, else as the sheet is written."""
    ends = {end for i in links for end in flow.arcs[i]}
    if found.rails.get(Rail.PE) in ends or found.rails.get(Rail.FRAME) in ends:
        return 300.0
    if found.rails.get(Rail.L2) in ends:
        return -300.0
    items = [flow.links[i].item for i in links if flow.links[i].item >= 0]
    return min(items, default=0) * 0.1


def _first_order(
    found: graph.Graph, flow: Flow, pieces: Sequence[Rung], paths: Sequence[Sequence[int]], mirrored: bool
) -> list[int]:
    """Rungs of the planar part in the order of their paths."""
    along = dual.path_order(flow, paths, lambda p: _wish(found, flow, paths[p]), mirrored)
    turn = {i: place for place, p in enumerate(along) for i in paths[p]}
    planar = [n for n, rung in enumerate(pieces) if rung.links and rung.links[0] < flow.planar_count]
    return sorted(planar, key=lambda n: (turn[pieces[n].links[0]], n))


def _starts(
    ladder: order.Ladder, found: graph.Graph, flow: Flow, pieces: Sequence[Rung], paths: Sequence[Sequence[int]]
) -> Iterator[list[int]]:
    """The orders of the planar picture and of its mirror image, with what that could not hold put in."""
    for mirrored in (False, True):
        first = _first_order(found, flow, pieces, paths, mirrored)
        loose = [n for n, rung in enumerate(pieces) if rung.links and n not in set(first)]
        first += [n for n, rung in enumerate(pieces) if not rung.links]
        for number in loose:
            first = order.inserted(ladder, first, number)
        yield first


def _best_order(
    ladder: order.Ladder, found: graph.Graph, flow: Flow, pieces: Sequence[Rung], paths: Sequence[Sequence[int]]
) -> list[int]:
    """The better of the two orders that start from the planar picture and from its mirror image."""
    starts = sorted(_starts(ladder, found, flow, pieces, paths), key=ladder.cost)
    whole = flow.planar_count == len(flow.links)
    tried = starts if len(pieces) <= _FEW or not whole else starts[:1]
    effort = order.EFFORT if whole else 5 * order.EFFORT
    return min((order.improved(ladder, first, effort) for first in tried), key=ladder.cost)


def _buses(sheet: Sheet, found: graph.Graph, places: dict[str, int]) -> list[Rung]:
    """Rows on which frames hang, one frame in each gap from the bar on."""
    net_of = sheet.net_of()
    count: dict[str, int] = {}
    for frame in sheet.frames:
        count[net_of[frame.terminal]] = count.get(net_of[frame.terminal], 0) + 1
    last = max((place for node, place in places.items() if node in found.nodes), default=0)
    made = []
    for node, frames in count.items():
        room = max(1, last - places[node])
        made += [Rung((node,), (), min(room, frames - done)) for done in range(0, frames, room)]
    return made


def _inline(found: graph.Graph, pieces: Sequence[Rung], places: dict[str, int]) -> frozenset[str]:
    """Rails at the outer ends with a single rung, which begins or ends there."""
    last = max((places[node] for rung in pieces for node in rung.nodes), default=0)
    return frozenset(node for node in _single(found, pieces) if places[node] in (0, last))


def _single(found: graph.Graph, pieces: Sequence[Rung]) -> list[str]:
    """Rails with a single rung, which begins or ends there."""
    made = []
    for node in found.rails.values():
        own = [rung for rung in pieces if node in rung.nodes]
        if len(own) == 1 and own[0].links and node in (own[0].nodes[0], own[0].nodes[-1]):
            made.append(node)
    return made


def _with_heads(rails: Sequence[str], pieces: Sequence[Rung], best: Sequence[int]) -> tuple[list[Rung], list[int]]:
    """Heads of rails, each right before the first rung of its rail."""
    all_rungs = list(pieces)
    line = list(best)
    for node in rails:
        users = [place for place, number in enumerate(line) if node in all_rungs[number].nodes]
        line.insert(users[0] if users else len(line), len(all_rungs))
        all_rungs.append(Rung((node,), ()))
    return all_rungs, line


def _lowered(all_rungs: Sequence[Rung], rows: list[int], heads: int) -> list[int]:
    """Heads moved down to the row above the first rung of their rail."""
    for number in range(heads, len(all_rungs)):
        node = all_rungs[number].nodes[0]
        own = [rows[n] for n in range(heads) if node in all_rungs[n].nodes]
        rows[number] = max(rows[number], min(own) - 1) if own else rows[number]
    return rows


@dataclass(frozen=True, slots=True)
class Draft:
    """Rungs in an order, before any head of a rail is put in."""

    flow: Flow
    pieces: tuple[Rung, ...]
    rank: dict[str, int]
    wish: tuple[float, ...]
    order: tuple[int, ...]
    crossings: int


def _boxes(sheet: Sheet) -> frozenset[str]:
    return frozenset(graph.box_node(box.part) for box in sheet.boxes)


@dataclass(frozen=True, slots=True)
class _Rungs:
    """What of a flow is to be put in order: rungs, the paths they come from, their wishes, the costs of orders."""

    pieces: tuple[Rung, ...]
    paths: list[list[int]]
    wish: tuple[float, ...]
    ladder: order.Ladder


def _rungs(sheet: Sheet, found: graph.Graph, flow: Flow, places: dict[str, int]) -> _Rungs:
    pieces, paths = rungs.peel(flow)
    pieces += _buses(sheet, found, places)
    wish = tuple(_wish(found, flow, rung.links) if rung.links else 400.0 for rung in pieces)
    return _Rungs(tuple(pieces), paths, wish, order.Ladder(pieces, places, found.rails.values(), _boxes(sheet), wish))


def _draft(sheet: Sheet, found: graph.Graph, flow: Flow, places: dict[str, int]) -> Draft:
    made = _rungs(sheet, found, flow, places)
    best = _best_order(made.ladder, found, flow, made.pieces, made.paths)
    return Draft(flow, made.pieces, places, made.wish, tuple(best), made.ladder.crossings(best))


def _drafted(sheet: Sheet, found: graph.Graph, flow: Flow) -> Draft:
    """Without the guides that tie dead ends where that costs no crossing and is shorter, else with them."""
    safe, short = (rank.ranks(flow, found.rails.get(Rail.L2), guides) for guides in (True, False))
    if flow.planar_count == len(flow.links) and max(short.values()) < max(safe.values()):
        draft = _draft(sheet, found, flow, short)
        if not draft.crossings:
            return draft
    return _draft(sheet, found, flow, safe)


def made(sheet: Sheet, longest_inline: int = 99) -> Plan:
    """The plan of a checked sheet; a head goes on in line with a rung if its feed has at most so many terminals."""
    planner = Planner(sheet, longest_inline)
    return planner.plan(planner.best())


class Planner:
    """Makes plans of one checked sheet: the best one, and others near to it."""

    def __init__(self, sheet: Sheet, longest_inline: int = 99) -> None:
        self._sheet = sheet
        self._found = graph.build(sheet)
        self._short = frozenset(net.name for net in sheet.nets if len(net.feed) <= longest_inline)

    def best(self) -> Draft:
        """The draft with the fewest crossings, rows and bends that was found."""
        return _least_crossed(self._sheet, self._found)

    def others(self, draft: Draft) -> Iterator[Draft]:
        """Drafts that differ from one by one move of rungs and cross no more, from the cheapest on."""
        ladder = order.Ladder(draft.pieces, draft.rank, self._found.rails.values(), _boxes(self._sheet), draft.wish)
        for other in order.neighbours(ladder, draft.order):
            yield replace(draft, order=tuple(other))

    def plan(self, draft: Draft) -> Plan:
        """The plan of a draft."""
        return _finished(self._sheet, self._found, draft, self._short)


def _least_crossed(sheet: Sheet, found: graph.Graph) -> Draft:
    """The draft of the first flow; where that crosses more than once, of the flow that promises fewest crossings."""
    flows = orient.flows(found)
    draft = _drafted(sheet, found, next(flows))
    if draft.crossings <= 1:
        return draft
    fewest, chosen = draft.crossings, draft.flow
    for flow in islice(flows, _TRIES // len(found.links)):
        promised = _promised(sheet, found, flow)
        if promised < fewest:
            fewest, chosen = promised, flow
        if promised <= 1:
            break
    other = _drafted(sheet, found, chosen)
    return other if other.crossings < draft.crossings else draft


def _promised(sheet: Sheet, found: graph.Graph, flow: Flow) -> int:
    """Crossings of a flow before its order is improved."""
    made = _rungs(sheet, found, flow, rank.ranks(flow, found.rails.get(Rail.L2)))
    starts = _starts(made.ladder, found, flow, made.pieces, made.paths)
    return min(made.ladder.crossings(start) for start in starts)


def _finished(sheet: Sheet, found: graph.Graph, draft: Draft, short: frozenset[str]) -> Plan:
    """The draft with its heads; ``short`` nets may have theirs in line with their only rung."""
    plan = _headed(sheet, found, draft, _inline(found, draft.pieces, draft.rank) & short)
    for node in _single(found, draft.pieces):
        if node in short - plan.inline:
            other = _headed(sheet, found, draft, plan.inline | {node})
            plan = other if _is_free_beyond(other, node) else plan
    return plan


def _headed(sheet: Sheet, found: graph.Graph, draft: Draft, inline: frozenset[str]) -> Plan:
    """The draft with the heads of those rails that do not go on in line."""
    standing = [node for node in found.rails.values() if node not in inline]
    all_rungs, line = _with_heads(standing, draft.pieces, draft.order)
    wish = [*draft.wish, *[0.0] * (len(all_rungs) - len(draft.pieces))]
    full = order.Ladder(all_rungs, draft.rank, found.rails.values(), _boxes(sheet), wish)
    rows = _lowered(all_rungs, full.rows(line), len(draft.pieces))
    return Plan(found, draft.flow, tuple(all_rungs), tuple(rows), draft.rank, draft.crossings, inline)


def _is_free_beyond(plan: Plan, node: str) -> bool:
    """Whether all that reaches to the right of a rail lies above the row of its only rung, which ends there."""
    own = next(number for number, rung in enumerate(plan.rungs) if node in rung.nodes)
    reach = [plan.rank[rung.nodes[-1]] + rung.bus for rung in plan.rungs]
    beyond = [row for row, end in zip(plan.rows, reach, strict=True) if end > plan.rank[node]]
    return plan.rungs[own].nodes[-1] == node and max(beyond, default=-1) < plan.rows[own]
