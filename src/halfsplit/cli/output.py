"""What commands print: one JSON document, or tables and sentences for people."""

from __future__ import annotations

import contextlib
import json
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

import click

from halfsplit.errors import WrongUse


def document(data: object) -> None:
    """One JSON document on stdout, exact in its numbers; a number that is none is an error of ours."""
    click.echo(json.dumps(data, ensure_ascii=not _writes_all(), allow_nan=False, indent=1))


def _writes_all() -> bool:
    return (getattr(sys.stdout, "encoding", "") or "").lower().replace("-", "") == "utf8"


@contextlib.contextmanager
def patience(what: str) -> Iterator[None]:
    """Says on stderr what takes long, once it has taken a second; nothing where nobody looks."""
    timer = threading.Timer(1.0, click.echo, [f"{what} ..."], {"err": True})
    timer.daemon = True
    if sys.stderr.isatty():
        timer.start()
    try:
        yield
    finally:
        timer.cancel()


@contextlib.contextmanager
def progress(what: str, total: int, *, time_left: bool = False) -> Iterator[Callable[[int], None]]:
    """A bar on stderr where somebody looks, gone when the work is done; it is handed how much is done."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    console = Console(stderr=True)
    columns = (TextColumn(what), BarColumn(), MofNCompleteColumn(), *((TimeRemainingColumn(),) if time_left else ()))
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task(what, total=total)
        yield lambda done: bar.update(task, completed=done)


def table(headings: Sequence[str], rows: Iterable[Sequence[str]], right: Sequence[int] = ()) -> None:
    """A plain table, as wide as the terminal; columns in `right` hold numbers."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    made = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False)
    for place, heading in enumerate(headings):
        made.add_column(heading, justify="right" if place in right else "left", overflow="fold")
    for row in rows:
        made.add_row(*map(plain, row))
    console().print(made)


def console() -> Any:
    """Where people read; wide where nobody looks, so that nothing is cut off."""
    from rich.console import Console

    return Console(highlight=False, soft_wrap=False, width=None if sys.stdout.isatty() else 140)


def plain(text: str) -> Any:
    """Text as it stands: a bracket in a name is no markup."""
    from rich.text import Text

    return Text(text)


def percent(probability: float) -> str:
    """A probability as people read it.

    >>> percent(0.873), percent(0.0004), percent(0.9999), percent(0.034)
    ('87 %', '< 0.1 %', '> 99.9 %', '3.4 %')
    """
    share = 100 * probability
    if share < 0.1:
        return "< 0.1 %"
    if share > 99.9:
        return "> 99.9 %"
    return f"{share:.1f} %" if share < 10 or share > 99 else f"{share:.0f} %"


def counted(share: float) -> str:
    """The share of a count as people read it: unlike a probability it may be none, or all.

    >>> counted(0.0), counted(1.0), counted(0.05)
    ('0 %', '100 %', '5.0 %')
    """
    whole = round(share)
    return f"{100 * whole} %" if abs(share - whole) < NOT_ONE else percent(share)


NOT_ONE = 1e-9
"""Smaller shares are those of nothing, rounded."""


def text_and_name(place: str) -> tuple[str, str]:
    """What is read from a file, or from standard input for "-", and what problems call it."""
    from halfsplit.machine import library

    if place == "-":
        return library.decode(sys.stdin.buffer.read(), "standard input"), "standard input"
    return library.read(Path(place)), place


def to_file(place: str, text: str) -> None:
    """Writes a file that was asked for. Raises WrongUse where that cannot be."""
    try:
        Path(place).write_text(text, encoding="utf-8")
    except (OSError, ValueError) as error:
        raise WrongUse(f"{place} cannot be written: {error}.", "Name another file.") from None


def text_or_file(found: Mapping[str, Any], key: str, place: str | None, as_json: bool) -> None:
    """What a command made under `key`: into the file `place`, as one JSON document, or plain on stdout."""
    if place:
        to_file(place, str(found[key]))
    if as_json:
        document(found)
    elif not place:
        click.echo(found[key], nl=False)
