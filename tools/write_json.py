#!/usr/bin/env python3
"""Writes docs/reference/json.md: every field of the JSON documents that the commands print, with its kind and meaning.

    .venv/bin/python tools/write_json.py

What a field says stands in tools/json_fields.yaml; its kind is that of the documents which the commands of
tools/json_examples.py print. Run it after a change of a document; a test says when it is due. Takes some seconds.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from tools import json_examples, json_tables  # noqa: E402
from tools.json_tables import ITEM, LIST, NULL, OBJECT, Held, Table  # noqa: E402

PAGE = ROOT / "docs" / "reference" / "json.md"

HEAD = """# The JSON documents

Made by `tools/write_json.py` from what the commands print, and from the words of `tools/json_fields.yaml`: do not edit
it by hand.

With `--json` every command prints one JSON document on stdout; messages go to stderr. What it says to people, it says
in `text` and the like; all else is for programs. [How to read it](../how-to/read-the-json.md)

- *yes or no* is `true` or `false`. In a [finding](#finding) it is the text `yes` or `no`, as in a findings file.
- A probability is a number from 0 to 1, and so is a share. Minutes are whole and parts of minutes: 0.5 is 30 s.
- A terminal is `part.terminal`, a fault `part: mode`, a setting an object of controls and where they stand, the plug or
  breaker and the warmth (`warmth`) among them. Names are those of the machine file, also where `text` has others for
  people (*the plug's L1 prong*).
- *or null*: the field is there, and what it says is not. *may be left out*: the field itself may be missing. What it
  says tells when.
- Fields may be added. A program should pass over those that it does not know.
"""
DOCUMENTS = "## Documents\nOne for each command, and one for what is refused.\n"
OBJECTS = "## Objects in them\nEach stands once, with the tables and fields under which it is found.\n"


def held() -> Held:
    """What the documents of all examples hold."""
    tables = json_tables.read()
    found = Held(tables)
    for name, document in json_examples.documents():
        found.take(tables.documents[name], document)
    return found


def page(found: Held) -> str:
    """The whole page."""
    tables = found.tables
    parts = [HEAD, _list("Documents", tables.documents), _list("Objects in them", tables.objects)]
    parts += [DOCUMENTS, *_all(found, tables.documents), OBJECTS, *_all(found, tables.objects)]
    return "\n".join(parts).rstrip() + "\n"


def _list(title: str, tables: dict[str, Table]) -> str:
    return f"**{title}**: {', '.join(map(_link, tables))}\n"


def _all(found: Held, tables: dict[str, Table]) -> Iterator[str]:
    return (_section(found, table) for table in tables.values())


def _section(found: Held, table: Table) -> str:
    lines = [f"### {table.name}", table.about, *_besides(found, table), ""]
    lines += ["| field | kind | unit | what it says |", "|---|---|---|---|"]
    return "\n".join([*lines, *(_row(found, table, key) for key in table.fields)]) + "\n"


def _besides(found: Held, table: Table) -> Iterator[str]:
    """Where it is found, and which fields of other tables it has too."""
    fields = ((one.name, key, field) for one in found.tables.all for key, field in one.fields.items())
    places = [f"{_link(name)} `{key}`" for name, key, field in fields if field.of == table.name]
    if places:
        yield f"\nFound under {'; '.join(places)}."
    if table.splits:
        named = (name for name in found.tables.objects if name.startswith(f"{table.name} "))
        yield f"By its `{table.splits}` it has those of one of these too: {', '.join(map(_link, named))}."
    if table.like:
        shared = found.shared[table.name, table.like]
        whole = set(shared) == set(found.tables.objects[table.like].fields)
        which = "all" if whole else ", ".join(f"`{key}`" for key in shared)
        yield f"It has fields of a {_link(table.like)} too: {which}."


def _row(found: Held, table: Table, key: str) -> str:
    field = table.fields[key]
    says = " ".join(field.says.split()).replace("|", "\\|")
    return f"| `{key}` | {_kind(found, table, key)} | {field.unit} | {says} |"


def _kind(found: Held, table: Table, key: str) -> str:
    """The kinds of value of a field in words."""
    field, kinds = table.fields[key], found.of(table, key)
    inside = found.kinds[table.name, f"{key}{ITEM}"]
    what = " or ".join(_link(field.of) if one == OBJECT else one for one in sorted(inside or kinds - {NULL}))
    if LIST in kinds:
        what = f"list of {what}"
    elif field.by:
        what = f"object, by {field.by}: {what}"
    null = f"{' or ' if what else ''}null" if NULL in kinds else ""
    return f"{what}{null}{', may be left out' if found.left_out(table, key) else ''}"


def _link(name: str) -> str:
    return f"[{name}](#{name.replace(' ', '-')})"


def main() -> int:
    """Writes the page; says what does not agree instead, where something does not."""
    found = held()
    wrong = found.problems()
    for problem in wrong:
        print(problem, file=sys.stderr)
    if wrong:
        return 1
    PAGE.write_text(page(found), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
