"""Tables in the documentation: each stands between two markers of its name, and a tool puts a new one in its place.

Knows text; not what the tables say.
"""

from __future__ import annotations

from collections.abc import Container, Mapping
from pathlib import Path

Cells = tuple[str, ...]


def begin(name: str) -> str:
    """The line above a table."""
    return f"<!-- table {name} -->\n"


def end(name: str) -> str:
    """The line below it."""
    return f"<!-- end {name} -->"


def put(page: str, name: str, text: str) -> str:
    """The page with this text in the place of this name. Raises ValueError where the page has no such place.

    >>> put("a\\n<!-- table x -->\\nold\\n<!-- end x -->\\nb", "x", "new\\n")
    'a\\n<!-- table x -->\\nnew\\n<!-- end x -->\\nb'
    """
    head, _, rest = page.partition(begin(name))
    _, found, tail = rest.partition(end(name))
    if not found:
        raise ValueError(f"The page has no place for {name}: write '{begin(name).strip()}' and '{end(name)}' into it.")
    return head + begin(name) + text + end(name) + tail


def write(place: Path, name: str, text: str) -> None:
    """The same in a file."""
    place.write_text(put(place.read_text(encoding="utf-8"), name, text), encoding="utf-8")


def table(head: Cells, rows: Mapping[Cells, Cells]) -> str:
    """A table of rows by what they begin with."""
    lines = [head, ("---",) * len(head), *(key + cells for key, cells in rows.items())]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def rows(page: str, name: str, keys: int) -> dict[Cells, Cells]:
    """The rows of the table of this name, by their first so many cells.

    >>> rows("<!-- table x -->\\n| a | b |\\n| --- | --- |\\n| 1 | 2 |\\n<!-- end x -->", "x", 1)
    {('1',): ('2',)}
    """
    _, _, rest = page.partition(begin(name))
    lines = rest.partition(end(name))[0].splitlines()[2:]
    cells = [tuple(cell.strip() for cell in line.strip().strip("|").split("|")) for line in lines]
    return {line[:keys]: line[keys:] for line in cells}


def write_rows(
    place: Path, name: str, head: Cells, keys: int, new: Mapping[Cells, Cells], whole: Container[str] = ()
) -> None:
    """New rows in place of those that begin alike; all others stay, in the order in which they stand, but for those
    whose first cell is among `whole`: of these the new ones are all."""
    page = place.read_text(encoding="utf-8")
    old = {key: cells for key, cells in rows(page, name, keys).items() if key in new or key[0] not in whole}
    place.write_text(put(page, name, table(head, old | dict(new))), encoding="utf-8")
