#!/usr/bin/env python3
"""Writes what is made from the grammar and the tables: the machine file's reference page and its JSON Schema.

    .venv/bin/python tools/write_reference.py

Run it after a change of the grammar, the part types, the supply systems or the rules; a test says when it is due.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from halfsplit.audit import catalogue as behaviour
from halfsplit.machine import format as grammar
from halfsplit.machine import merging, part_types, schema, supplies, wiring
from halfsplit.machine.descriptions import descriptions
from halfsplit.machine.model import is_inner
from halfsplit.machine.rules import catalogue
from halfsplit.predict import healthy

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "reference" / "machine-file.md"
SCHEMA = ROOT / "src" / "halfsplit" / "machine" / schema.PUBLISHED

SECTIONS: tuple[tuple[str, type[BaseModel]], ...] = (
    ("The file", grammar.MachineFile),
    ("An entry of `controls`", grammar.ControlEntry),
    ("`supply`", grammar.SupplyEntry),
    ("An entry of `parts`", grammar.PartEntry),
    ("An entry of `symptoms`", grammar.SymptomEntry),
    ("An entry of `bays`", grammar.BayEntry),
    ("An entry of `seen`", grammar.SeenEntry),
    ("`gas`", grammar.GasEntry),
    ("`water`", grammar.WaterEntry),
)

HEAD = """# The machine file

Made by `tools/write_reference.py` from the grammar, the tables and the rules: do not edit it by hand.

A machine file is YAML and says how one machine is wired, what its controls do, how it comes apart and what it
costs. Every word is read as it is written: `off`, `no` and `1` are names here, never truth values or numbers.
References (`&`, `*`), tags (`!`), doubled keys, more than 12 levels, 20 000 entries or a million characters are
refused. All problems are told at once, each with line, column and remedy; with more than a hundred, the first hundred.
Units are written out and never guessed; a tolerance is written `20 ohm ± 5 %` or `68 °C ± 3` (`+-` will do for ±).
A terminal is `part.terminal`. A name holds none of `. ~ * $ [ ] { }`.
"""


def page() -> str:
    """The whole reference page."""
    parts = [HEAD, *_sections(), _wires(), _like(), _supplies(), *_types(), _rules()]
    return "\n".join(parts).rstrip() + "\n"


def _sections() -> Iterator[str]:
    for title, model in SECTIONS:
        doc = inspect.cleandoc(model.__doc__ or "").split("\n\n")[0]
        about = descriptions(model)
        rows = [_row(f.alias or n, f, about) for n, f in model.model_fields.items() if n != "momentary"]
        yield f"## {title}\n{doc}\n\n| key | needed | what it is |\n|---|---|---|\n" + "\n".join(rows) + "\n"


def _row(key: str, field: Any, about: dict[str, str]) -> str:
    return f"| `{key}` | {'yes' if field.is_required() else ''} | {_cell(about[key])} |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


def _wires() -> str:
    codes = ", ".join(f"{code} {word}" for code, word in wiring.COLOURS.items())
    return f"""## A wire
`COLOUR  TERMINAL  TERMINAL` or `COLOUR  GAUGE LENGTH  TERMINAL  TERMINAL`, with two blanks or more between the
fields: `BK  10 AWG 0.1 m  terminal block.L1  block fuse.1`. A gauge is `10 AWG` or `1.5 mm2`. Where none is given
the wire is {wiring.DEFAULT_RUN.gauge} and {wiring.DEFAULT_RUN.length:g} m long. Colours are the codes of
IEC 60757: {codes}; two of them together are a wire of two colours, GNYE is protective earth.
"""


def _like() -> str:
    return f"""## `like`
`like: NAME` takes over another machine of the library, or one in the same folder, that is itself like no other.
The entries of {", ".join(f"`{s}`" for s in merging.ENTRIES)} are laid over its entries one by one, each replacing
the old one whole; `{merging.NONE}` removes one. `wires` are added to its wires, `without` takes some of those away.
Any other key replaces the other machine's.
"""


def _supplies() -> str:
    lines = ["## Supply systems", "| system | ends | values | what it is |", "|---|---|---|---|"]
    for name, system in supplies.table().items():
        values = "; ".join(f"`{value}` ({spec.default})" for value, spec in system.values.items())
        lines.append(f"| `{name}` | {' '.join(system.ends)} | {values} | {_cell(system.about)} |")
    return "\n".join(lines) + "\n"


def _types() -> Iterator[str]:
    yield "## Part types\nThe house's own types come with the supply and are not listed.\n"
    for name, spec in part_types.table().items():
        if not spec.house and name not in ("joint", "wire"):
            yield _type(name, spec)


def _type(name: str, spec: part_types.PartType) -> str:
    outer = "from its chart" if spec.terminals == "from chart" else ", ".join(_outer(spec)) or "none"
    text = [f"### {name}", f"{spec.about} Terminals: {outer}. Ways to fail: {', '.join(spec.modes) or 'none'}.", ""]
    if spec.values:
        text += ["| value | is | left out | |", "|---|---|---|---|"]
    for value, one in spec.values.items():
        default = "needed" if one.default is None else _shown(one.default)
        range_ = f"{one.plausible[0]} to {one.plausible[1]}" if one.plausible else ""
        about = "; ".join(filter(None, (one.about, range_ and f"plausible: {range_}")))
        text.append(f"| `{value}` | {part_types.VALUE_KINDS[one.kind]} | {default} | {_cell(about)} |")
    return "\n".join(text) + "\n"


def _outer(spec: part_types.PartType) -> list[str]:
    return [terminal for terminal in spec.terminals if not is_inner(terminal)]


def _shown(default: str | tuple[str, ...]) -> str:
    return default if isinstance(default, str) else ", ".join(default)


def _rules() -> str:
    lines = [
        "## What the check finds",
        "Beyond words, names and units that cannot be read, each with its line, column and remedy:",
        "",
    ]
    lines += _told(catalogue.RULES)
    lines += ["", "And from running the healthy machine through all its settings, under `check` only:", ""]
    lines += _told(behaviour.RULES) + _told(healthy.RULES)
    return "\n".join(lines) + "\n"


def _told(rules: Mapping[str, Callable[..., object]]) -> list[str]:
    docs = {name: inspect.cleandoc(rule.__doc__ or "").split("\n\n")[0] for name, rule in rules.items()}
    return [f"- **{name}**: {_cell(doc)}" for name, doc in docs.items()]


def outputs() -> dict[Path, str]:
    """Every generated file and what it must hold."""
    return {PAGE: page(), SCHEMA: schema.text()}


def main() -> int:
    """Writes those that are out of date."""
    for path, text in outputs().items():
        if not path.exists() or path.read_text("utf-8") != text:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, "utf-8")
            print(f"wrote {path.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
