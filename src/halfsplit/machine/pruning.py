"""Takes what breaks the grammar out of a file's tree, so that the rest is read and told of as well.

An entry or an item goes alone, a section that may be left out goes whole, and something stands in for a text that has
to be there. Knows the sections of a file; what is wrong with them was told before.
"""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.machine import merging, tree
from halfsplit.machine.format import FORMAT, MachineFile

__all__ = ["prune"]

_NEEDED = frozenset(name for name, field in MachineFile.model_fields.items() if field.is_required())
_STAND_IN = {"format": FORMAT, "machine": "machine", "kind": "machine"}


def prune(root: tree.Node, paths: Iterable[tree.Path]) -> set[str] | None:
    """Takes out what holds these paths; the names of the entries among it. None where the file cannot do without."""
    names: set[str] = set()
    for held in sorted({path[:2] for path in paths}, key=_last_item_first):
        around = tree.reach(root, held[:-1])
        inner = around.value if around is not None and len(held) == 2 else None
        if isinstance(inner, dict) and held[0] in merging.ENTRIES:
            inner.pop(str(held[1]), None)
            names.add(str(held[1]))
        elif isinstance(inner, list) and isinstance(held[1], int):
            inner.pop(held[1])
        elif not _without(root, held):
            return None
    return names


def _last_item_first(held: tree.Path) -> int:
    """So that the places of the items before it stay as they are."""
    return -held[1] if len(held) == 2 and isinstance(held[1], int) else 0


def _without(root: tree.Node, held: tree.Path) -> bool:
    """Takes a section out; whether the file can do without."""
    assert isinstance(root.value, dict)
    section = str(held[0]) if held else ""
    if section in _STAND_IN:
        root.value[section] = tree.Node(tree.locate(root, (section,)), _STAND_IN[section])
    elif not section or section in (*_NEEDED, *merging.ENTRIES):
        return False
    else:
        root.value.pop(section, None)
    return True
