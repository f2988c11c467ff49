"""How wide words are, without a browser: advance widths of the Helvetica metrics that Arial and its kin share.

Widths per 1000 units are those of the Adobe Font Metrics of the PDF standard fonts Helvetica and Helvetica-Bold.
"""

from __future__ import annotations

import re
from functools import lru_cache

_HYPHEN = re.compile(r"(?<=\w-)(?=\w)")
_UNIT = re.compile(r"(?<=\d)\s(?=\S{1,3}(?:\s|$))")
FAMILY = "'Liberation Sans', Arial, Helvetica, sans-serif"

_REGULAR = (
    "278 278 355 556 556 889 667 191 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 278 278 "
    "584 584 584 556 1015 667 667 722 722 667 611 778 722 278 500 667 556 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 278 278 278 469 556 333 556 556 500 556 556 278 556 556 222 222 500 222 833 556 556 556 556 333 500 "
    "278 556 500 722 500 500 500 334 260 334 584"
)
_BOLD = (
    "278 333 474 556 556 889 722 238 333 333 389 584 278 333 278 278 556 556 556 556 556 556 556 556 556 556 333 333 "
    "584 584 584 611 975 722 722 722 722 667 611 778 722 278 556 722 611 833 722 778 667 778 722 667 611 722 667 944 "
    "667 667 611 333 278 333 584 556 333 556 611 556 611 556 333 611 611 278 278 556 278 889 611 611 611 611 389 556 "
    "333 611 556 778 556 556 500 389 280 389 584"
)
_OTHER = {
    "\u03a9": 768,
    "\u00b0": 400,
    "\u00b5": 576,
    "\u00d7": 584,
    "\u00b1": 584,
    "\u2013": 556,
    "\u2212": 584,
    "\u00b7": 278,
    "\u00a0": 278,
}


def _table(text: str) -> dict[str, int]:
    return {chr(32 + i): int(width) for i, width in enumerate(text.split())} | _OTHER


_TABLES = {False: _table(_REGULAR), True: _table(_BOLD)}


@lru_cache(maxsize=4096)
def width(words: str, size: float, bold: bool = False) -> float:
    """Width of a line of text in px at a font size in px; an unknown sign counts as a wide one.

    >>> width("RD", 10, bold=True)
    14.44
    """
    table = _TABLES[bold]
    return round(sum(table.get(sign, 780) for sign in words) * size / 1000, 3)


def wrapped(words: str, size: float, limit: float, bold: bool = False) -> tuple[str, ...]:
    """Words broken at spaces into lines no wider than ``limit`` px where that is possible; a number keeps its unit.

    A word that is too wide by itself is broken after its hyphens.

    >>> wrapped("Cycling thermostat", 10, 60), wrapped("terminal-block fuse", 10, 50)
    (('Cycling', 'thermostat'), ('terminal-', 'block fuse'))
    """
    lines: list[str] = []
    for word in _UNIT.sub("\u00a0", words).split(" "):
        if "-" in word and width(word, size, bold) > limit:
            *starts, word = _HYPHEN.split(word)
            lines += starts
            if starts:
                lines.append(word)
                continue
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, size, bold) <= limit:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(line.replace("\u00a0", " ") for line in lines if line)
