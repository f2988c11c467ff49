"""The sheet as a graph: nets and boxes are nodes, elements and pins of boxes are links.

May know: the sheet. May not know: where anything will be drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

from halfsplit.drawing.sheet import Rail, Sheet

LEFT, RIGHT = "<house", "house>"
"""The two sides of the house, as nodes that no net can be named like."""


class Kind(Enum):
    """What a link stands for; a GUIDE is drawn nowhere and only keeps the picture in order."""

    ELEMENT = "element"
    PIN = "pin"
    WIRE = "wire"
    GUIDE = "guide"


@dataclass(frozen=True, slots=True)
class Link:
    """An undirected link between nodes ``a`` and ``b``; ``item`` indexes elements, or (box, pin) pairs."""

    kind: Kind
    a: str
    b: str
    item: int = -1
    weight: float = 1.0

    def other(self, node: str) -> str:
        """The node at the other end."""
        return self.b if node == self.a else self.a


@dataclass(frozen=True, slots=True)
class Graph:
    """Nodes in a fixed order; ``rails`` maps the role of a net to its node."""

    nodes: tuple[str, ...]
    links: tuple[Link, ...]
    rails: dict[Rail, str]

    def adjacency(self) -> dict[str, list[int]]:
        """Indices of the links at every node."""
        return adjacency(self.nodes, self.links)


def adjacency(nodes: Iterable[str], links: Iterable[Link]) -> dict[str, list[int]]:
    """Indices of the links at every node, in the order of the links."""
    at: dict[str, list[int]] = {node: [] for node in nodes}
    for index, link in enumerate(links):
        at.setdefault(link.a, []).append(index)
        at.setdefault(link.b, []).append(index)
    return at


def box_node(part: str) -> str:
    """Name of the node of a box."""
    return f"[{part}]"


def twin(net: str) -> str:
    """Name of the second node of a net that has both ends of an element."""
    return f"{net}'"


def is_contact(kind: str) -> bool:
    """Whether an element only connects: it goes before the loads and is given three times their weight."""
    return kind in {
        "breaker",
        "make contact",
        "break contact",
        "connector",
        "joint",
        "fuse",
        "thermal cut-off",
        "strap",
        "overload",
    }


def _element_links(sheet: Sheet, net_of: dict[str, str]) -> Iterator[Link]:
    for index, element in enumerate(sheet.elements):
        a, b = net_of[element.start], net_of[element.end]
        weight = 3.0 if is_contact(element.kind) else 1.0
        if a != b:
            yield Link(Kind.ELEMENT, a, b, index, weight)
        else:
            yield Link(Kind.ELEMENT, a, twin(a), index, weight)
            yield Link(Kind.WIRE, a, twin(a))


def pins(sheet: Sheet) -> list[tuple[int, str]]:
    """All pins of all boxes as (index of the box, terminal); links of pins index this list."""
    return [(index, pin) for index, box in enumerate(sheet.boxes) for pin in box.pins]


def _pin_links(sheet: Sheet, net_of: dict[str, str]) -> Iterator[Link]:
    for index, (box, pin) in enumerate(pins(sheet)):
        yield Link(Kind.PIN, net_of[pin], box_node(sheet.boxes[box].part), index)


def build(sheet: Sheet) -> Graph:
    """The graph of a sheet; nets to which nothing is joined are left out."""
    net_of = sheet.net_of()
    links = [*_element_links(sheet, net_of), *_pin_links(sheet, net_of)]
    used = {link.a for link in links} | {link.b for link in links}
    framed = {sheet.net_of()[frame.terminal] for frame in sheet.frames}
    rails = {net.rail: net.name for net in sheet.nets if net.rail and (net.feed or net.name in used | framed)}
    nodes = [net.name for net in sheet.nets if net.name in used or net.name in rails.values()]
    nodes += sorted(used - set(nodes))
    return Graph(tuple(nodes), tuple(links), rails)


def node_net(node: str) -> str:
    """Name of the net that a node (or its twin) stands for."""
    return node.removesuffix("'")
