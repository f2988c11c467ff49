"""The fields of one finding in a findings file, each read with place and remedy for whatever is wrong.

What could not be read is told once and is then `UNREAD`, or None: nothing is concluded from it, so that one mistake
brings no others. Knows YAML trees and the machine; not which fields a kind of finding has.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import Any

from halfsplit.errors import NotUnderstood, Problem, WrongUse, did_you_mean
from halfsplit.evidence import displayed
from halfsplit.evidence import finding as f
from halfsplit.machine import amounts, model, tree, twins
from halfsplit.modes import listing
from halfsplit.modes.fault import Fault
from halfsplit.operate import condition as conditions

YES = frozenset({"yes", "y", "true"})
NO = frozenset({"no", "n", "false"})
NONE = ("", "none")
"""Said where nothing is lifted or exchanged."""
UNREAD = " unread"
"""Stands for a text that could not be read; none begins with a blank."""
TIME = "Write it as in 3 min, 40 s or 1.5 h; at most a day."


def minutes(text: str) -> float:
    """Minutes that a step took, as they are written. Raises NotUnderstood.

    >>> minutes("90 s")
    1.5
    """
    try:
        found = amounts.minutes(text)
    except WrongUse:
        raise NotUnderstood(text, f"{text[:40]!r} is no time that a step takes.", TIME) from None
    if found <= 0:
        raise NotUnderstood(text, "A step takes more than no time.", TIME)
    return found


class Fields:
    """Reads fields, and gathers what is wrong with them."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self.problems: list[Problem] = []

    @cached_property
    def faults(self) -> tuple[Fault, ...]:
        """All faults of the machine, listed once."""
        return tuple(listing.faults(self.machine))

    def complain(self, node: tree.Node, message: str, remedy: str = "") -> None:
        """Notes a problem at a place."""
        self.problems.append(node.spot.problem(message, remedy))

    def child(self, node: tree.Node, key: str) -> tree.Node | None:
        """What stands under a key."""
        assert isinstance(node.value, dict)
        return node.value.get(key)

    def at(self, node: tree.Node, key: str) -> tree.Node:
        """Where to point a person for a field: at it, or at the finding that lacks it."""
        return self.child(node, key) or node

    def one_text(self, node: tree.Node, what: str) -> str:
        """The text of a node; UNREAD, and told, where it is a list or a mapping."""
        if isinstance(node.value, str):
            return node.value
        self.complain(node, f"{what} is one text.", "Write it without brackets.")
        return UNREAD

    def text(self, node: tree.Node, key: str, otherwise: str = "") -> str:
        """The text under a key."""
        inner = self.child(node, key)
        return otherwise if inner is None else self.one_text(inner, repr(key))

    def took(self, node: tree.Node) -> float | None:
        """Minutes that the step took, its opening, lifting and setting included; None where that is not said."""
        inner, text = self.child(node, "took"), self.text(node, "took")
        if inner is None or text in ("", UNREAD):
            return None
        try:
            return minutes(text)
        except NotUnderstood as refusal:
            self.complain(inner, refusal.message, refusal.remedy)
            return None

    def choice(self, node: tree.Node, key: str, known: Any, otherwise: str) -> str:
        """One of the known words; UNREAD, and told, where it is none."""
        chosen, inner = self.text(node, key, otherwise), self.child(node, key)
        if inner is None or chosen in known or chosen == UNREAD:
            return chosen
        self.complain(inner, f"No {key} {chosen!r}.", did_you_mean(chosen, known))
        return UNREAD

    def yes_or_no(self, node: tree.Node, key: str, otherwise: bool | None, beside: str = "") -> bool | None:
        """None, and told, where it is neither; `beside`: what else may stand there."""
        inner = self.child(node, key)
        if inner is None:
            return otherwise
        word = self.text(node, key).lower()
        if word == UNREAD:
            return None
        if word not in YES | NO:
            known = f"yes, no or {beside}" if beside else "yes or no"
            self.complain(inner, f"{key!r} is {known}, not {word!r}.")
            return None
        return word in YES

    def terminal(self, node: tree.Node, key: str, otherwise: str) -> str:
        """A terminal that has to be named, here or before."""
        inner = self.child(node, key)
        name = self.text(node, key, otherwise)
        if not name:
            self.complain(node, f"This reading does not say where {key} goes.", f"Add {key}: part.terminal.")
            return UNREAD
        return name if inner is None or name == UNREAD else self.known_terminal(inner, name)

    def known_terminal(self, node: tree.Node, name: str) -> str:
        """A terminal of the machine that a lead reaches; UNREAD, and told, where it has none of that name."""
        if name in self.machine.reachable:
            return name
        self.complain(node, f"No terminal {name!r}.", did_you_mean(name, self.machine.reachable))
        return UNREAD

    def terminals(self, node: tree.Node, key: str, otherwise: tuple[str, ...]) -> tuple[str, ...]:
        """The terminals of a list that the machine has."""
        if self.child(node, key) is None:
            return otherwise
        found = [self.known_terminal(item, name) for item, name in self.listed(node, key) if name != UNREAD]
        return tuple(name for name in found if name != UNREAD)

    def listed(self, node: tree.Node, key: str) -> Iterator[tuple[tree.Node, str]]:
        """The texts of a list, or the one text that stands in its stead, each with its place."""
        inner = self.child(node, key)
        items = [] if inner is None else inner.value if isinstance(inner.value, list) else [inner]
        for item in items:
            name = self.one_text(item, f"Each of {key!r}" if inner and isinstance(inner.value, list) else repr(key))
            if name not in NONE:
                yield item, name

    def exchanged(self, node: tree.Node) -> twins.Exchange | None:
        """The twins that stand in each other's places, for this finding only; None, and told, where they are none."""
        named = tuple(name for _, name in self.listed(node, "exchange"))
        if UNREAD in named:
            return None
        try:
            return twins.known(self.machine, named)
        except WrongUse as error:
            self.complain(self.at(node, "exchange"), error.message, error.remedy)
            return None

    def shown(self, node: tree.Node, meter: str) -> tuple[displayed.Measured, f.Spans] | None:
        """What a display showed; None, and told, where that is not understood."""
        text = self.one_text(node, "'value'")
        if text == UNREAD or meter not in displayed.DIMENSIONS:
            return None
        try:
            within = displayed.spans(text, meter)
            return ((within[0][0], None, 0.0, text) if within else displayed.measured(text, meter)), within
        except WrongUse as error:
            self.complain(node, error.message, error.remedy)
            return None

    def setting(self, node: tree.Node) -> Iterator[tuple[str, str]]:
        """The controls that are set, and how."""
        if not isinstance(node.value, dict):
            self.complain(node, "A setting is a mapping of controls to positions.", "Write {selector: high heat}.")
            return
        known = conditions.positions(self.machine)
        for control, inner in node.value.items():
            if control not in known:
                self.complain(inner, f"No control {control!r}.", did_you_mean(control, known))
                continue
            position = self.one_text(inner, f"The position of {control!r}")
            if position in known[control]:
                yield control, position
            elif position != UNREAD:
                remedy = did_you_mean(position, known[control])
                self.complain(inner, f"{control!r} has no position {position!r}.", remedy)
