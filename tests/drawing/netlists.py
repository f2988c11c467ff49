"""Random netlists as sheets, and what a graph library says of them."""

from __future__ import annotations

import random
from itertools import combinations, pairwise

import networkx  # type: ignore[import-untyped]

from halfsplit.drawing.sheet import Element, Net, Rail, Sheet, Wire, checked

KINDS = ("make contact", "break contact", "heater", "motor", "lamp", "fuse", "winding", "capacitor")
CODES = ("BK", "RD", "BU", "YE", "WH", "GNYE", "VT")
Pair = tuple[str, str]


def _chain(rng: random.Random, start: str, end: str, count: int, nets: list[str]) -> list[Pair]:
    inner = [f"n{len(nets) + i}" for i in range(count - 1)]
    nets += inner
    run = [start, *inner, end]
    return list(pairwise(run))


def _ladder(rng: random.Random, size: int, rails: tuple[str, ...], nets: list[str]) -> list[Pair]:
    """Rungs between rails, with detours between two nets of one rung and dead ends here and there."""
    pairs: list[Pair] = []
    runs: list[list[str]] = []
    while len(pairs) < size:
        room = size - len(pairs)
        if not runs or rng.random() < 0.5:
            start, end = (rails[0], rng.choice(rails[1:])) if rng.random() < 0.85 else tuple(rng.sample(rails, 2))
        else:
            run = rng.choice(runs)
            start, end = (run[i] for i in sorted(rng.sample(range(len(run)), 2)))
        fresh = _chain(rng, start, end, min(room, rng.randint(1, 5)), nets)
        if rng.random() < 0.06:
            fresh = fresh[:-1] or fresh
        pairs += fresh
        runs.append([fresh[0][0], *(end for _, end in fresh)])
    return pairs


def _sheet(rng: random.Random, pairs: list[Pair], rails: tuple[str, ...]) -> Sheet:
    at: dict[str, list[str]] = {rail: [f"house.{rail}"] for rail in rails}
    elements = []
    for number, (a, b) in enumerate(pairs):
        part = f"P{number}"
        kind = rng.choice(KINDS)
        closed = rng.random() < 0.5 if "contact" in kind else None
        actuator = rng.choice(("timer", "temperature", "")) if "contact" in kind else ""
        lines = ("some words",) * rng.randint(0, 2)
        elements.append(Element(part, "e", kind, f"{part}.1", f"{part}.2", part, lines, actuator, closed))
        at.setdefault(a, []).append(f"{part}.1")
        at.setdefault(b, []).append(f"{part}.2")
    nets = tuple(
        Net(name, tuple(ends), rail=Rail(name) if name in rails else None, feed=(ends[0],) if name in rails else ())
        for name, ends in at.items()
    )
    wires = tuple(
        Wire(one, two, tuple(rng.sample(CODES, rng.randint(1, 2))))
        for ends in at.values()
        for one, two in pairwise(ends)
    )
    return checked(Sheet("Random netlist", nets, tuple(elements), wires))


def netlist(seed: int, most: int = 60) -> tuple[Sheet, int]:
    """A sheet with up to ``most`` elements, and how many bridges between any two nets were added to its ladder."""
    rng = random.Random(seed)
    rails: tuple[str, ...] = rng.choice((("L1", "N"), ("L1", "N"), ("L1", "N", "L2"), ("L1", "L2")))
    bridges = rng.choice((0, 0, 1, 2, 3))
    nets = list(rails)
    pairs = _ladder(rng, rng.randint(4, most - bridges), rails, nets)
    inner = sorted({end for pair in pairs for end in pair})
    pairs += [tuple(rng.sample(inner, 2)) for _ in range(bridges)]  # type: ignore[misc]
    return _sheet(rng, pairs, rails), bridges


def graph(sheet: Sheet, with_house: bool) -> networkx.Graph:
    """The nets as a graph, with the house joined to every rail or not."""
    found: networkx.Graph = networkx.Graph()
    net_of = sheet.net_of()
    found.add_edges_from((net_of[e.start], net_of[e.end]) for e in sheet.elements)
    if with_house:
        found.add_edges_from(("the house", net.name) for net in sheet.nets if net.rail)
    return found


def planar(sheet: Sheet, with_house: bool = True) -> bool:
    """Whether networkx finds a planar embedding."""
    return bool(networkx.check_planarity(graph(sheet, with_house))[0])


def least_crossings(sheet: Sheet, most: int) -> int:
    """The least number of crossings of a sheet's nets and elements, at most ``most``, by trying all pairs of edges."""
    return next((count for count in range(most) if _drawable(graph(sheet, with_house=False), count)), most)


def _drawable(nets: networkx.Graph, crossings: int) -> bool:
    """Whether nets are planar once so many pairs of its edges are joined where they cross."""
    if networkx.check_planarity(nets)[0]:
        return True
    if not crossings:
        return False
    for (a, b), (c, d) in combinations(list(nets.edges), 2):
        if len({a, b, c, d}) == 4:
            crossed = nets.copy()
            crossed.remove_edges_from([(a, b), (c, d)])
            middle = f"crossing {nets.number_of_nodes()}"
            crossed.add_edges_from((middle, end) for end in (a, b, c, d))
            if _drawable(crossed, crossings - 1):
                return True
    return False
