"""YAML text to a tree of texts, lists and mappings in which every node knows its file, line and column.

Knows YAML and nothing of machines. Every scalar is kept as the text that was written: no word turns into a
truth value, no number into a time. What a repairer's file never needs is refused in the same walk: doubled
keys, anchors and aliases, tags, more than one document, deep nesting, great size.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from halfsplit.errors import BadInput, Problem

__all__ = [
    "DEEPEST",
    "LONGEST",
    "MACHINE",
    "Kind",
    "Node",
    "Path",
    "Plain",
    "Spot",
    "compose",
    "locate",
    "plain",
    "reach",
]

DEEPEST = 12
LONGEST = 1_000_000
_MOST_NODES = 20_000
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

Path = tuple[str | int, ...]
"""The way to a node: keys and positions in lists, from the top."""

Plain = str | list["Plain"] | dict[str, "Plain"]
"""A tree without its places."""


@dataclass(frozen=True)
class Spot:
    """A place in a file; line and column count from 1."""

    file: str
    line: int
    column: int

    def problem(self, message: str, remedy: str = "") -> Problem:
        """A problem at this place."""
        return Problem(self.file, self.line, self.column, message, remedy)


@dataclass(frozen=True)
class Kind:
    """What a file is called in what is told of it, how it begins, and what to do where it holds two documents."""

    word: str
    begins: str
    apart: str = "Leave the line of dashes before it out."


MACHINE = Kind("a machine file", "Begin it with a line `format:`.", "Put each machine in a file of its own.")


@dataclass
class Node:
    """A text, a list or a mapping, where it begins, and where the keys of a mapping stand."""

    spot: Spot
    value: str | list[Node] | dict[str, Node]
    keys: dict[str, Spot] = field(default_factory=dict)


class _Stop(Exception):
    """Nothing after this problem could be trusted."""


def compose(text: str, file: str, kind: Kind = MACHINE) -> Node:
    """The tree of a text; raises ``BadInput`` with all that is wrong with it as YAML, in words of its kind of file.

    >>> compose("kind: dryer", "a.yaml").value["kind"].value
    'dryer'
    >>> compose("a: 1\\na: 2", "a.yaml")
    Traceback (most recent call last):
    halfsplit.errors.BadInput: a.yaml:2:1: 'a' is written twice; the first is on line 1. Keep one of the two.
    """
    walk = _Walk(file, kind)
    if len(text) > LONGEST:
        remedy = f"{kind.word.capitalize()} has at most a million characters."
        raise BadInput([walk.top.problem("The file is too long.", remedy)])
    try:
        root = walk.document(yaml.parse(text, Loader=_LOADER))
    except _Stop:
        root = None
    except (yaml.YAMLError, UnicodeEncodeError) as error:
        root = None
        walk.problems.append(_unreadable(error, text, file))
    if walk.problems or root is None:
        raise BadInput(walk.problems or [walk.top.problem("The file is empty.", kind.begins)])
    return root


def _unreadable(error: Exception, text: str, file: str) -> Problem:
    mark = getattr(error, "problem_mark", None)
    if mark is not None:
        what = getattr(error, "problem", None) or "it cannot be read"
        spot = Spot(file, mark.line + 1, mark.column + 1)
    else:
        position = min(getattr(error, "position", getattr(error, "start", 0)) or 0, len(text))
        what = "a character that no text file may hold"
        spot = Spot(file, text.count("\n", 0, position) + 1, position - text.rfind("\n", 0, position))
    remedy = "Look at the indent, the brackets and the colons just before it."
    if mark is not None and _at(text, spot) == "\t":
        what, remedy = "a tab", "Use blanks."
    return spot.problem(f"This is no YAML: {what}.", remedy)


def _at(text: str, spot: Spot) -> str:
    """The character at a place; "" past the end."""
    lines = text.split("\n")
    return lines[spot.line - 1][spot.column - 1 : spot.column] if spot.line <= len(lines) else ""


class _Walk:
    """One pass over the events of a YAML text, building the tree and gathering problems."""

    def __init__(self, file: str, kind: Kind) -> None:
        self.file, self.kind = file, kind
        self.top = Spot(file, 1, 1)
        self.problems: list[Problem] = []
        self.count = 0

    def document(self, events: Iterator[Any]) -> Node | None:
        root: Node | None = None
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent) and root is not None:
                self.stop(event, "A second document begins here.", self.kind.apart)
            if isinstance(event, yaml.NodeEvent):
                root = self.node(event, events, 1)
        return root

    def spot(self, event: Any) -> Spot:
        return Spot(self.file, event.start_mark.line + 1, event.start_mark.column + 1)

    def complain(self, event: Any, message: str, remedy: str) -> None:
        self.problems.append(self.spot(event).problem(message, remedy))

    def stop(self, event: Any, message: str, remedy: str) -> None:
        self.complain(event, message, remedy)
        raise _Stop

    def node(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        self.check(event, depth)
        if isinstance(event, yaml.ScalarEvent):
            return Node(self.spot(event), event.value.strip())
        if isinstance(event, yaml.SequenceStartEvent):
            return self.sequence(event, events, depth)
        if isinstance(event, yaml.MappingStartEvent):
            return self.mapping(event, events, depth)
        return Node(self.spot(event), "")

    def check(self, event: Any, depth: int) -> None:
        self.count += 1
        if depth > DEEPEST:
            never = f"{self.kind.word.capitalize()} never needs that."
            self.stop(event, f"This is nested more than {DEEPEST} deep.", never)
        if self.count > _MOST_NODES:
            self.stop(event, "The file holds too many entries.", f"At most {_MOST_NODES} are read.")
        if isinstance(event, yaml.AliasEvent) or event.anchor is not None:
            sign = f"'*{event.anchor}'" if isinstance(event, yaml.AliasEvent) else f"'&{event.anchor}'"
            self.complain(event, f"{sign} is a YAML reference.", "Write the text out, or put quotes round it.")
        elif getattr(event, "tag", None) is not None and event.tag != "!":
            self.complain(event, f"'{event.tag}' is a YAML tag.", f"Leave it out: {self.kind.word} is plain text.")

    def sequence(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        items: list[Node] = []
        for inner in events:
            if isinstance(inner, yaml.SequenceEndEvent):
                break
            items.append(self.node(inner, events, depth + 1))
        return Node(self.spot(event), items)

    def mapping(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        node = Node(self.spot(event), {})
        for inner in events:
            if isinstance(inner, yaml.MappingEndEvent):
                break
            key = self.node(inner, events, depth + 1)
            value = self.node(next(events), events, depth + 1)
            self.enter(node, inner, key, value)
        return node

    def enter(self, node: Node, event: Any, key: Node, value: Node) -> None:
        assert isinstance(node.value, dict)
        if not isinstance(key.value, str) or not key.value:
            self.complain(event, "A key must be a word.", "Write a name before the colon.")
        elif key.value in node.value:
            first = node.keys[key.value].line
            message = f"{_short(key.value)} is written twice; the first is on line {first}."
            self.complain(event, message, "Keep one of the two.")
        else:
            node.value[key.value] = value
            node.keys[key.value] = key.spot


def _short(text: str) -> str:
    return repr(text if len(text) <= 40 else text[:40] + "...")


def plain(node: Node) -> Plain:
    """The tree without its places.

    >>> plain(compose("a: [1, off]", "a.yaml"))
    {'a': ['1', 'off']}
    """
    if isinstance(node.value, str):
        return node.value
    if isinstance(node.value, list):
        return [plain(item) for item in node.value]
    return {key: plain(item) for key, item in node.value.items()}


def reach(node: Node, path: Path) -> Node | None:
    """The node at the end of a path, None where there is none."""
    for step in path:
        inner: Node | None = None
        if isinstance(node.value, dict) and isinstance(step, str):
            inner = node.value.get(step)
        elif isinstance(node.value, list) and isinstance(step, int) and 0 <= step < len(node.value):
            inner = node.value[step]
        if inner is None:
            return None
        node = inner
    return node


def locate(node: Node, path: Path) -> Spot:
    """Where to point a person for a path: at its text, or at the key that its list or mapping stands under.

    A path that leads nowhere (something is missing) points at the nearest thing that is there.

    >>> locate(compose("a:\\n  b: {c: 1}", "a.yaml"), ("a", "b", "d")).line
    2
    """
    spot = node.spot
    for step in path:
        inner = reach(node, (step,))
        if inner is None:
            break
        key = node.keys.get(step) if isinstance(step, str) else None
        spot = inner.spot if key is None or isinstance(inner.value, str) else key
        node = inner
    return spot
