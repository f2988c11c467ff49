"""`like:` another machine, one level deep: the tree of the other with what differs put over it.

Knows trees and the names of sections; nodes keep their own file and line, so a problem points at where it is.
"""

from __future__ import annotations

from halfsplit.errors import BadInput, Problem
from halfsplit.machine import tree, wiring

__all__ = ["ENTRIES", "merge"]

ENTRIES = ("controls", "temperatures", "comes to", "parts", "symptoms", "bays", "settings")
"""The sections that are merged entry by entry; `none` removes an entry."""
NONE = "none"


def merge(base: tree.Node, own: tree.Node) -> tree.Node:
    """A tree with the entries of both; raises ``BadInput`` where something is to be removed that is not there."""
    assert isinstance(base.value, dict)
    assert isinstance(own.value, dict)
    problems: list[Problem] = []
    merged = tree.Node(own.spot, dict(base.value), dict(base.keys))
    assert isinstance(merged.value, dict)
    for key, node in own.value.items():
        merged.value[key], merged.keys[key] = _section(key, base, node, problems), own.keys[key]
    for key in ("like", "without"):
        merged.value.pop(key, None)
    if "without" in own.value:
        merged.value["wires"] = _without(base, own, problems)
    if problems:
        raise BadInput(problems)
    return merged


def _section(key: str, base: tree.Node, node: tree.Node, problems: list[Problem]) -> tree.Node:
    other = tree.reach(base, (key,))
    if other is None:
        return node
    if key in ENTRIES and isinstance(other.value, dict) and isinstance(node.value, dict):
        return _entries(other, node, problems)
    if key == "wires" and isinstance(other.value, list) and isinstance(node.value, list):
        return tree.Node(node.spot, [*other.value, *node.value])
    return node


def _entries(other: tree.Node, node: tree.Node, problems: list[Problem]) -> tree.Node:
    assert isinstance(other.value, dict)
    assert isinstance(node.value, dict)
    values, keys = dict(other.value), {**other.keys, **node.keys}
    for name, entry in node.value.items():
        if entry.value != NONE:
            values[name] = entry
        elif values.pop(name, None) is None:
            problems.append(entry.spot.problem(f"There is no '{name[:60]}' to remove.", "Leave this line out."))
    return tree.Node(node.spot, values, keys)


def _without(base: tree.Node, own: tree.Node, problems: list[Problem]) -> tree.Node:
    """The wires of the other machine but for those that are to be left out, and the own ones."""
    wires, added = tree.reach(base, ("wires",)), tree.reach(own, ("wires",))
    for node in (wires, added):
        if node is not None and not isinstance(node.value, list):
            return node  # no wires: the grammar says so
    kept = _listed(wires)
    for line in _left_out(own, problems):
        found = [node for node in kept if _ends(node) == _ends(line)]
        if not found:
            remedy = "Write it as `TERMINAL  TERMINAL`, as the wire of the other machine."
            problems.append(line.spot.problem("There is no such wire to leave out.", remedy))
        kept = [node for node in kept if node not in found[:1]]
    return tree.Node(wires.spot if wires else own.spot, [*kept, *_listed(added)])


def _listed(node: tree.Node | None) -> list[tree.Node]:
    return list(node.value) if node is not None and isinstance(node.value, list) else []


def _left_out(own: tree.Node, problems: list[Problem]) -> list[tree.Node]:
    """The lines under `without`; what is no list of them is a problem."""
    removed = tree.reach(own, ("without",))
    if removed is not None and not isinstance(removed.value, list):
        problems.append(removed.spot.problem("'without' must be a list of wires.", "Write `without: [A.1  B.2]`."))
    return _listed(removed)


def _ends(node: tree.Node) -> tuple[str, ...]:
    return tuple(text for text, _ in wiring.fields(node.value)[-2:]) if isinstance(node.value, str) else ()
