"""Blocks as one page of HTML, to be read on a phone or a desk, by day or in the dark, and to be printed.

Knows lines and blocks; of what they say the signal words alone. Words break where the screen ends, so that a phone need
not be swiped.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable

from halfsplit.cli.lines import Block, Line
from halfsplit.machine import cautions

_GO = re.compile(r"(?:go to|(?<=come here, )from) (\d+)")
"""With which words another box is named: that is linked."""
_UNIT = re.compile(r"(?<=\d) (?=%|[kM]?Ω|[VAs]\b|min\b)")
"""A space at which no line is broken: a unit stands with its number."""
_SIGNAL = re.compile(rf"\b({'|'.join((*cautions.WORDS, 'STOP'))}): ")
"""What has to be seen before the rest is read: a signal word, in its colour of ANSI Z535.1 (red, orange, yellow, blue;
from memory), or that the work ends."""
_STYLE = """<style>
:root{color-scheme:light dark}
body{font:1rem/1.4 sans-serif;max-width:44em;margin:0 auto;padding:.8em;overflow-wrap:break-word}
section{margin:0 0 1.2em;break-inside:avoid}
section.box{border:1px solid;padding:.2em .7em}
section:not(.box):has(>h2:last-child){break-after:avoid}
h1{font-size:1.25em}
h2{font-size:1em;margin:.3em 0}
p{display:flex;gap:.5em;margin:.3em 0;min-height:.4em}
.mark{white-space:pre;font-family:monospace}
.text{flex:1;min-width:0}
.cell{min-width:4.4em;text-align:right;white-space:nowrap}
p:has(a){align-items:center}
a{color:inherit;display:inline-flex;align-items:center;min-height:3em;padding:0 .5em}
h2 a{vertical-align:middle;padding:0 .3em}
b{border:1px solid;padding:0 .3em;print-color-adjust:exact}
.DANGER,.STOP{background:#b71c1c;color:#fff}
.WARNING{background:#ff8c1a;color:#000}
.CAUTION{background:#ffd60a;color:#000}
.NOTICE{background:#1556a0;color:#fff}
@page{size:A4;margin:15mm}
@media print{:root{color-scheme:light}body{font-size:10pt;max-width:none;padding:0}a{min-height:0}}
</style>"""


def page(title: str, blocks: Iterable[Block]) -> str:
    """A page without anything from elsewhere; a printer keeps each block whole, each box is linked."""
    head = "<meta charset=utf-8>\n<meta name=viewport content='width=device-width,initial-scale=1'>"
    said = html.escape(title)
    body = "\n".join(map(_block, blocks))
    return f"<!doctype html>\n<html lang=en>\n{head}\n<title>{said}</title>\n{_STYLE}\n<h1>{said}</h1>\n{body}\n"


def _block(block: Block) -> str:
    lines = "\n".join(map(_line, block.lines))
    head = _linked(block.head)
    if block.box:
        return f'<section class=box>\n<h2 id="box{block.box}">Box {block.box}: {head}</h2>\n{lines}\n</section>'
    return f"<section>\n{f'<h2>{head}</h2>' if head else ''}\n{lines}\n</section>"


def _line(line: Line) -> str:
    mark = f"<span class=mark>{html.escape(line.mark)}</span>" if line.mark else ""
    cells = "".join(f"<span class=cell>{_linked(cell.strip())}</span>" for cell in line.cells)
    text = _SIGNAL.sub(r"<b class=\1>\1:</b> ", _UNIT.sub("&nbsp;", html.escape(line.text)))
    return f"<p>{mark}<span class=text>{text}</span>{cells}</p>"


def _linked(cell: str) -> str:
    return _GO.sub(r'<a href="#box\1">\g<0></a>', html.escape(cell))
