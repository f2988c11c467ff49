#!/usr/bin/env python3
"""Writes docs/reference/commands.md: every command's own help, so that the page cannot say anything else.

    .venv/bin/python tools/write_commands.py

Run it after a change of the command line; a test says when it is due.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import click

from halfsplit.cli.app import app

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "reference" / "commands.md"
WIDTH = 100

HEAD = """# Commands

Made by `tools/write_commands.py` from the help of the commands themselves: do not edit it by hand.

Every command takes `--json`: one JSON document on stdout, messages on stderr. Exit codes: 0 done, 1 the answer is
no, 2 wrong use, 3 bad input file; 70 is a mistake of Halfsplit itself, 130 an interrupted run. With `--json` a refusal
is a document as well: `{"problems": [{"file", "line", "column", "message", "remedy"}]}`. [The fields of all
documents](json.md)

| environment variable | does |
|---|---|
| `HALFSPLIT_CACHE` | where read machines, compiled tables and predictions are kept; empty: nowhere |
| `HALFSPLIT_DEBUG` | with any value, prints the traceback of a mistake of Halfsplit itself |

Without the first the user's cache folder is used (`XDG_CACHE_HOME`, else `~/.cache/halfsplit`; on Windows
`LOCALAPPDATA`). It may be deleted at any time.
"""


def page() -> str:
    """The whole page."""
    return "\n".join([HEAD, *_commands()]).rstrip() + "\n"


def _commands() -> Iterator[str]:
    yield _help("halfsplit", app, None)
    for name, command in app.commands.items():
        yield _help(f"halfsplit {name}", command, click.Context(app, info_name="halfsplit"))


def _help(title: str, command: click.Command, parent: click.Context | None) -> str:
    context = click.Context(
        command, info_name=title.split()[-1], parent=parent, terminal_width=WIDTH, max_content_width=WIDTH,
        help_option_names=["-h", "--help"],
    )  # fmt: skip
    text = "\n".join(line.rstrip() for line in command.get_help(context).splitlines())
    return f"## {title}\n```\n{text}\n```\n"


def main() -> int:
    """Writes the page."""
    PAGE.write_text(page(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
