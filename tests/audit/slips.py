"""Slips of a tired transcriber that only show in what the machine does, each with where it may be blamed.

Knows the text of a file and its tree, and which terminals a part has; not the rules.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

from halfsplit.machine import loading, model, tree
from tests.machine.planting import Sheet


@dataclass(frozen=True)
class Slip:
    """A file with one slip: the lines and the parts that it touches, and what was done."""

    text: str
    lines: frozenset[int]
    parts: frozenset[str]
    what: str


@dataclass(frozen=True)
class Good:
    """A good file: its text as lines and tree, and its machine."""

    sheet: Sheet
    machine: model.Machine

    @classmethod
    def of(cls, text: str, name: str) -> Good:
        """From its text."""
        return cls(Sheet.of(text), loading.load_text(text, name))

    def others(self, terminal: str) -> list[str]:
        """The other terminals of a terminal's part that a lead can reach."""
        part = self.machine.parts[model.part_of(terminal)]
        every = [f"{part.name}.{t}" for t in part.terminals if not t.startswith(model.HIDDEN)]
        return [t for t in every if t != terminal]


def _rewired(good: Good, changes: dict[int, tuple[str, str]], what: str) -> Slip:
    """The file with the ends of some wires (by their place in the list) rewritten."""
    lines = list(good.sheet.lines)
    wires = good.sheet.wires()
    parts: set[str] = set()
    for index, (first, second) in changes.items():
        line, text, ends = wires[index]
        lines[line - 1] = lines[line - 1].replace(text, text[: text.rindex(f"{ends[0]}  ")] + f"{first}  {second}")
        parts |= {model.part_of(end) for end in (*ends, first, second)}
    return Slip("\n".join(lines), frozenset(wires[i][0] for i in changes), frozenset(parts), what)


def wire_moved(good: Good) -> Iterator[Slip]:
    """One end of a wire is read one terminal off, at the same part."""
    for index, (line, _, ends) in enumerate(good.sheet.wires()):
        for side in (0, 1):
            for other in good.others(ends[side]):
                if other not in ends:
                    new = (other, ends[1]) if side == 0 else (ends[0], other)
                    yield _rewired(good, {index: new}, f"line {line}: {ends[side]} read as {other}")


def wires_exchanged(good: Good) -> Iterator[Slip]:
    """Two wires of one part are written down on each other's terminals."""
    wires = good.sheet.wires()
    ends = [(index, side, end) for index, (_, _, both) in enumerate(wires) for side, end in enumerate(both)]
    for (i, a, first), (j, b, second) in combinations(ends, 2):
        if i != j and first != second and model.part_of(first) == model.part_of(second):
            one, two = list(wires[i][2]), list(wires[j][2])
            one[a], two[b] = second, first
            if one[0] != one[1] and two[0] != two[1]:
                changes = {i: (one[0], one[1]), j: (two[0], two[1])}
                yield _rewired(good, changes, f"lines {wires[i][0]}, {wires[j][0]}: {first} and {second} exchanged")


def wire_forgotten(good: Good) -> Iterator[Slip]:
    """A wire is overlooked."""
    for line, _, ends in good.sheet.wires():
        parts = frozenset(model.part_of(end) for end in ends)
        near = frozenset({line - 1, line})
        yield Slip(good.sheet.with_line(line), near, parts, f"line {line} forgotten: {ends[0]} to {ends[1]}")


def mark_overlooked(good: Good) -> Iterator[Slip]:
    """A mark of a contact chart is overlooked."""
    for path, line, rest in _marks(good):
        if len(rest) > 1:
            for mark in rest:
                left = [one for one in rest if one != mark]
                yield _chart(good, line, rest, left, f"line {line}: {path[1]}.{path[-1]} without {mark}", str(path[1]))


def mark_too_many(good: Good) -> Iterator[Slip]:
    """A mark is written in a wrong column of a contact chart."""
    for path, line, rest in _marks(good):
        control = next(c for c in good.machine.controls.values() if set(rest) <= set(c.positions))
        for mark in control.positions:
            if mark not in rest:
                what = f"line {line}: {path[1]}.{path[-1]} with {mark}"
                yield _chart(good, line, rest, [*rest, mark], what, str(path[1]))


def _marks(good: Good) -> Iterator[tuple[tree.Path, int, list[str]]]:
    for name in good.sheet.entries("parts"):
        chart = tree.reach(good.sheet.root, ("parts", name, "chart"))
        for key, node in chart.value.items() if chart is not None and isinstance(chart.value, dict) else ():
            if isinstance(node.value, list):
                yield ("parts", name, "chart", key), node.spot.line, [str(item.value) for item in node.value]


def _chart(good: Good, line: int, old: list[str], new: list[str], what: str, part: str) -> Slip:
    row = good.sheet.lines[line - 1].replace(f"[{', '.join(old)}]", f"[{', '.join(new)}]")
    return Slip(good.sheet.with_line(line, row), frozenset({line}), frozenset({part}), what)


def supply_exchanged(good: Good) -> Iterator[Slip]:
    """Two ends of the supply are written down on each other's terminals."""
    node = tree.reach(good.sheet.root, ("supply", "meets"))
    assert node is not None
    assert isinstance(node.value, dict)
    ends = {key: str(value.value) for key, value in node.value.items()}
    for one, two in combinations(ends, 2):
        row = good.sheet.lines[node.spot.line - 1]
        row = row.replace(f"{one}: {ends[one]}", "@").replace(f"{two}: {ends[two]}", f"{two}: {ends[one]}")
        text = good.sheet.with_line(node.spot.line, row.replace("@", f"{one}: {ends[two]}"))
        parts = frozenset(model.part_of(end) for end in (ends[one], ends[two]))
        yield Slip(text, frozenset({node.spot.line}), parts, f"{one} and {two} of the supply exchanged")


def seen_wrong(good: Good) -> Iterator[Slip]:
    """A reading of a healthy machine is off by half as much again, or over range for shown."""
    for _, line, text in good.sheet.values(r"[\d.]+ (ohm|kohm|V|A)|OL", ("seen",)):
        number, _, unit = text.partition(" ")
        wrong = "OL" if unit and float(number) == 0 else f"{float(number) * 1.5:g} {unit}" if unit else "0.0 ohm"
        wrong = "60 V" if text == "0 V" else wrong
        row = good.sheet.lines[line - 1].replace(f"value: {text}", f"value: {wrong}")
        yield Slip(good.sheet.with_line(line, row), frozenset({line}), frozenset(), f"line {line}: {text} as {wrong}")


SLIPS: dict[str, Callable[[Good], Iterator[Slip]]] = {
    slip.__name__.replace("_", " "): slip
    for slip in (
        wire_moved,
        wires_exchanged,
        wire_forgotten,
        mark_overlooked,
        mark_too_many,
        supply_exchanged,
        seen_wrong,
    )
}
"""Name: slip."""
