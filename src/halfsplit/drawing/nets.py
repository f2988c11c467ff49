"""Terminals that wires join, as nets: a help for who builds a sheet from wires. May know: the sheet's words."""

from __future__ import annotations

from collections.abc import Iterable

from halfsplit.drawing.sheet import Wire


def joined(terminals: Iterable[str], wires: Iterable[Wire]) -> list[tuple[str, ...]]:
    """Terminals in groups that wires join, each in the order given, groups by their first terminal.

    >>> joined(["a.1", "a.2", "b.1"], [Wire("a.2", "b.1", ("RD",))])
    [('a.1',), ('a.2', 'b.1')]
    """
    order = list(dict.fromkeys(terminals))
    root = {terminal: terminal for terminal in order}

    def top(terminal: str) -> str:
        while root[terminal] != terminal:
            terminal = root[terminal]
        return terminal

    for wire in wires:
        one, two = sorted((top(wire.start), top(wire.end)), key=order.index)
        root[two] = one
    groups: dict[str, list[str]] = {}
    for terminal in order:
        groups.setdefault(top(terminal), []).append(terminal)
    return [tuple(group) for group in groups.values()]
