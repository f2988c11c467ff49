"""Blocks as plain text that prints on A4.

Knows lines and blocks; nothing of what they say.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import replace

from halfsplit.cli.lines import Block, Line

WIDTH = 78
PAGE = 62
"""Lines of a page: A4 at six lines an inch with margins."""
GOES_ON = ", goes on"
"""At the head of a box that began on the page before."""
FRAME = 4
"""What a frame takes of the width."""


def text(title: str, blocks: Iterable[Block]) -> str:
    """The title and the blocks one below the other."""
    return "\n\n".join("\n".join(_rows(block)) for block in (Block((), title), *blocks))


def pages(title: str, blocks: Iterable[Block]) -> str:
    """The same; a new page is begun where a block would be cut in two. A box that is longer than a page goes on in
    another."""
    made: list[str] = []
    used = 0
    for block in (part for whole in (Block((), title), *blocks) for part in _on_pages(whole)):
        rows = [*_rows(block), ""]
        if used and used + len(rows) > PAGE:
            rows[0] = "\f" + rows[0]
            used = 0
        made += rows
        used += len(rows)
    return "\n".join(made) + "\n"


def _on_pages(block: Block) -> Iterator[Block]:
    """A block, or a box in as many as each have room on a page."""
    if not block.box or len(_rows(block)) < PAGE:
        yield block
        return
    here: list[Line] = []
    for line in block.lines:
        if here and len(_rows(replace(block, lines=(*here, line)))) >= PAGE:
            yield replace(block, lines=tuple(here))
            block, here = replace(block, head=f"{block.head.removesuffix(GOES_ON)}{GOES_ON}"), []
        here.append(line)
    yield replace(block, lines=tuple(here))


def _rows(block: Block) -> list[str]:
    if not block.box:
        head = [Line(block.head)] if block.head else []
        return [row for line in (*head, *block.lines) for row in _wrapped(line, WIDTH)]
    head_row = f"--[ {block.box} ]-- {block.head} "
    rows = (row for line in block.lines for row in _wrapped(line, WIDTH - FRAME))
    framed = [f"| {row:<{WIDTH - FRAME}} |" for row in rows]
    return [f"+{head_row:-<{WIDTH - 2}}+", *framed, f"+{'-' * (WIDTH - 2)}+"]


def _wrapped(line: Line, width: int) -> list[str]:
    """The text hangs behind its mark; the cells stand at the right of the first row."""
    mark, right = f"{line.mark} " if line.mark else "", "".join(line.cells)
    room = width - len(right)
    first, *rest = textwrap.wrap(mark + line.text, room, subsequent_indent=" " * len(mark)) or [""]
    return [f"{first:<{room}}{right}" if right else first, *rest]
