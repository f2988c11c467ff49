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
    removed, wires = tree.reach(own, ("without",)), tree.reach(base, ("wires",))
    added = tree.reach(own, ("wires",))
    kept = list(wires.value) if wires is not None and isinstance(wires.value, list) else []
    for line in removed.value if removed is not None and isinstance(removed.value, list) else []:
        found = [node for node in kept if isinstance(line, tree.Node) and _ends(node) == _ends(line)]
        if not found:
            remedy = "Write it as `TERMINAL  TERMINAL`, as the wire of the other machine."
            problems.append(line.spot.problem("There is no such wire to leave out.", remedy))
        kept = [node for node in kept if node not in found[:1]]
    more = added.value if added is not None and isinstance(added.value, list) else []
    return tree.Node(wires.spot if wires else own.spot, [*kept, *more])


def _ends(node: tree.Node) -> tuple[str, ...]:
    return tuple(text for text, _ in wiring.fields(node.value)[-2:]) if isinstance(node.value, str) else ()
