"""The canonical form of a machine file: sections in the grammar's order, wires in columns, clean line ends.

Works on lines, so that no comment is lost; comments right above a section move with it. Never changes what the
file says: where a clean-up would, the text is left as it is but for its line ends. Doing it twice changes nothing.
"""

from __future__ import annotations

from halfsplit.machine import tree, wiring
from halfsplit.machine.format import MachineFile

__all__ = ["canonical"]


def canonical(text: str) -> str:
    """The text in canonical form; raises ``BadInput`` where it is no YAML that a machine file may hold.

    >>> print(canonical("wires:\\n- BK  a.1  bb.2\\n- GNYE  aa.1  b.2  # earth\\nkind: fan"), end="")
    kind: fan
    wires:
    - BK    a.1   bb.2
    - GNYE  aa.1  b.2  # earth
    """
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").rstrip() + "\n"
    root = tree.compose(plain, "")
    if not isinstance(root.value, dict) or any(spot.column != 1 for spot in root.keys.values()):
        return plain
    lines = _align([line.rstrip() for line in plain.split("\n")[:-1]], root)
    clean = "\n".join(_ordered(lines, root)) + "\n"
    return clean if _says(clean) == _says(plain) else plain


def _says(text: str) -> tree.Plain:
    """What a text says; wires by their fields, so that blanks between them do not count."""
    said = tree.plain(tree.compose(text, ""))
    if isinstance(said, dict) and isinstance(wires := said.get("wires"), list):
        fields = ["  ".join(f for f, _ in wiring.fields(w)) if isinstance(w, str) else w for w in wires]
        return {**said, "wires": fields}
    return said


def _ordered(lines: list[str], root: tree.Node) -> list[str]:
    """The lines with the sections in order; what stands above the first section stays on top."""
    starts = sorted((spot.line - 1, key) for key, spot in root.keys.items())
    begins = [_with_comments(lines, line) for line, _ in starts]
    ends = [*begins[1:], len(lines)]
    blocks = {key: lines[b:e] for (_, key), b, e in zip(starts, begins, ends, strict=True)}
    rank = {key: place for place, key in enumerate(MachineFile.ORDER)}
    keys = sorted(blocks, key=lambda key: (rank.get(key, len(rank)), key if key not in rank else ""))
    return [*lines[: begins[0]], *(line for key in keys for line in blocks[key])]


def _with_comments(lines: list[str], start: int) -> int:
    """Where a section begins: with the comments right above it, if they begin their lines."""
    while start > 0 and lines[start - 1].startswith("#"):
        start -= 1
    return start


def _align(lines: list[str], root: tree.Node) -> list[str]:
    """The lines with the fields of all wires in columns."""
    wires = tree.reach(root, ("wires",))
    items = wires.value if wires is not None and isinstance(wires.value, list) else []
    found = {node.spot.line - 1: node for node in items if _is_plain(node, lines)}
    rows = {line: _row(str(node.value)) for line, node in found.items()}
    widths = [max(map(len, column)) for column in zip(*rows.values(), strict=True)] if rows else []
    for line, node in found.items():
        aligned = "  ".join(field.ljust(w) for field, w in zip(rows[line], widths, strict=True) if w).rstrip()
        before, after = lines[line][: node.spot.column - 1], lines[line][node.spot.column - 1 + len(str(node.value)) :]
        lines[line] = before + aligned + after
    return lines


def _is_plain(node: tree.Node, lines: list[str]) -> bool:
    """Whether a wire stands unquoted on one line, alone, and has three or four fields."""
    if not isinstance(node.value, str) or len(wiring.fields(node.value)) not in (3, 4):
        return False
    line, begin = lines[node.spot.line - 1], node.spot.column - 1
    rest = line[begin + len(node.value) :].strip()
    alone = line[:begin].strip() == "-" and (not rest or rest.startswith("#"))
    return alone and line[begin : begin + len(node.value)] == node.value


def _row(text: str) -> list[str]:
    """Colour, run or "", and the two terminals."""
    fields = [field for field, _ in wiring.fields(text)]
    return fields if len(fields) == 4 else [fields[0], "", *fields[1:]]
