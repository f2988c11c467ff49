"""Reads and writes a pace file: the factors of a shop on the minutes of machine files. Place and remedy for mistakes.

Knows YAML trees and paces; not where a file lies.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator

from halfsplit.errors import BadInput, Problem, WrongUse, did_you_mean
from halfsplit.machine import amounts, tree
from halfsplit.machine.handwork import MOST_HOURLY, Handwork
from halfsplit.work.pace import KINDS, SCATTER, WITHIN, Factor, Pace

FORMAT = "halfsplit pace 1"
KIND = tree.Kind("a pace file", f"Begin it with `format: {FORMAT}`.")
LEAST, GREATEST = 0.05, 20.0
"""A factor beyond these is a slip of the pen."""
KEYS = ("format", "scatter", "hourly", "van", "pace")
FIELDS = ("factor", "low", "high", "records")
OWN_PARTS = "A part of another file of yours is named by its type."
"""What is known of parts: this machine's, the library's, and every type."""


def written(pace: Pace, records: int) -> str:
    """A pace as a file. records: how many timed steps it comes from.

    >>> print(written(Pace({"look": Factor(1.25, 1.0, 1.5, 3)}), 3).split(chr(10))[-2])
      look: {factor: 1.25, low: 1, high: 1.5, records: 3}  # looking at a part or joint
    """
    steps = f"{records} timed step{'' if records == 1 else 's'}"
    lines = [
        f"# From {steps}. A factor of 1.4: it takes 1.4 times the file's minutes.",
        f"# low and high: {WITHIN * 100:g} % between them. Without records a factor stays at 1.",
        f"format: {FORMAT}",
        f"scatter: {pace.scatter:.4g}",
        *_hourly(pace),
        *_van(pace),
        "pace:",
    ]
    for kind, one in pace.factors.items():
        numbers = f"factor: {one.factor:.4g}, low: {one.low:.4g}, high: {one.high:.4g}, records: {one.records}"
        lines.append(f"  {kind}: {{{numbers}}}  # {KINDS[kind]}")
    return "\n".join(lines) + "\n"


def read(text: str, file: str, parts: Collection[str] | None = None) -> Pace:
    """The pace of a text. Raises BadInput with every problem, each with its line and column. parts: what may lie on a
    van (None: anything).

    >>> read("format: halfsplit pace 1\\npace: {bays: {factor: 1.5}}", "shop.yaml").of("bays")
    1.5
    """
    reader = _Reader(parts)
    found = reader.all(tree.compose(text, file, KIND))
    if reader.problems:
        raise BadInput(reader.problems)
    return found


class _Reader:
    def __init__(self, parts: Collection[str] | None) -> None:
        self.problems: list[Problem] = []
        self.parts = parts

    def complain(self, node: tree.Node, message: str, remedy: str) -> None:
        self.problems.append(node.spot.problem(message, remedy))

    def all(self, root: tree.Node) -> Pace:
        if not isinstance(root.value, dict):
            self.complain(root, "A pace file has keys.", f"Write {', '.join(KEYS)}.")
            return Pace({})
        self.known(root, KEYS, "A pace file", "key")
        form = root.value.get("format")
        if form is None or form.value != FORMAT:
            self.complain(form or root, "This is no pace file of a format that is known.", f"Write `format: {FORMAT}`.")
        inner = root.value.get("pace")
        if inner is None and ("hourly" in root.value or "van" in root.value):
            return Pace({}, self.scatter(root), self.hourly(root), self.van(root))
        if inner is None or not isinstance(inner.value, dict):
            self.complain(inner or root, "The factors stand under `pace`.", "Write `pace: {bays: {factor: 1.2}}`.")
            return Pace({})
        self.known(inner, tuple(KINDS), "A pace", "kind of work")
        kept = ((kind, node) for kind, node in inner.value.items() if kind in KINDS)
        factors = {kind: self.factor(node) for kind, node in kept}
        return Pace(factors, self.scatter(root), self.hourly(root), self.van(root))

    def known(self, node: tree.Node, names: tuple[str, ...], whose: str, what: str) -> None:
        assert isinstance(node.value, dict)
        for key, inner in node.value.items():
            if key not in names:
                self.complain(inner, f"{whose} has no {what} {key[:40]!r}.", did_you_mean(key, names))

    def scatter(self, root: tree.Node) -> float:
        assert isinstance(root.value, dict)
        inner = root.value.get("scatter")
        if inner is None:
            return SCATTER
        found = self.number(inner)
        if found is not None and not 0 < found <= 3:
            self.complain(inner, f"A scatter of {found:g} cannot be.", "It lies above 0, near 0.4.")
        return found or SCATTER

    def hourly(self, root: tree.Node) -> float:
        assert isinstance(root.value, dict)
        inner = root.value.get("hourly")
        if inner is None:
            return Handwork.hourly
        found = self.number(inner)
        if found is not None and not 0 < found <= MOST_HOURLY:
            self.complain(inner, f"An hour cannot cost {found:g}.", f"It costs up to {MOST_HOURLY:g}, as in 90.")
        return found or Handwork.hourly

    def van(self, root: tree.Node) -> tuple[str, ...] | None:
        assert isinstance(root.value, dict)
        inner = root.value.get("van")
        if inner is None:
            return None
        if not isinstance(inner.value, list):
            self.complain(inner, "What is on the van is a list.", "Write `van: [belt, thermal fuse]`, or `van: []`.")
            return None
        return tuple(dict.fromkeys(name for name in map(self.part, inner.value) if name))

    def part(self, node: tree.Node) -> str | None:
        name = node.value
        if not isinstance(name, str) or not name:
            self.complain(node, "What is on the van is a name.", "Write `van: [belt, thermal fuse]`.")
            return None
        if self.parts is not None and name not in self.parts:
            message = f"No machine that is known has a part or a type of part {name[:40]!r}."
            self.complain(node, message, f"{did_you_mean(name, self.parts)} {OWN_PARTS}")
        return name

    def factor(self, node: tree.Node) -> Factor:
        if not isinstance(node.value, dict):
            self.complain(node, "A factor stands with its name.", "Write {factor: 1.2}.")
            return Factor()
        before = len(self.problems)
        self.known(node, FIELDS, "A kind of work", "field")
        if "factor" not in node.value:
            self.complain(node, "This kind of work has no factor.", "Write {factor: 1.2}.")
        found = {name: self.number(inner) for name, inner in node.value.items() if name in FIELDS}
        if len(self.problems) > before:
            return Factor()
        numbers = {name: value for name, value in found.items() if value is not None}
        middle, count = numbers["factor"], numbers.get("records", 0.0)
        made = Factor(middle, numbers.get("low", middle), numbers.get("high", middle), int(count))
        for message, remedy in _amiss(made):
            self.complain(node.value["factor"], message, remedy)
        if count < 0 or count != int(count):
            self.complain(node.value["records"], f"{count:g} is no number of steps.", "Write it as in 12.")
        return made

    def number(self, node: tree.Node) -> float | None:
        if not isinstance(node.value, str):
            self.complain(node, "Here stands more than one number.", "Write one, as in 1.2.")
            return None
        try:
            return amounts.number(node.value)
        except WrongUse:
            self.complain(node, f"{str(node.value)[:40]!r} is no number.", "Write it as in 1.2.")
            return None


def _hourly(pace: Pace) -> Iterator[str]:
    """What an hour costs, where it is not the usual."""
    if pace.hourly != Handwork.hourly:
        yield f"hourly: {pace.hourly:.10g}  # what an hour of yours costs, in the currency of the machine files"


def _van(pace: Pace) -> Iterator[str]:
    """What is on the van, where anything is said of it; a name is quoted where YAML would read it otherwise."""
    if pace.van is not None:
        named = (name if re.fullmatch(r"\w+([ -]\w+)*", name) else json.dumps(name) for name in pace.van)
        yield f"van: [{', '.join(named)}]  # parts that you carry, by name or type; all others take a second trip"


def _amiss(one: Factor) -> Iterator[tuple[str, str]]:
    if not LEAST <= one.factor <= GREATEST:
        yield f"A factor of {one.factor:g} cannot be.", f"It lies from {LEAST:g} to {GREATEST:g}; 1 is the file's pace."
    elif not one.low <= one.factor <= one.high:
        yield f"{one.factor:g} does not lie between {one.low:g} and {one.high:g}.", "Look at factor, low and high."
