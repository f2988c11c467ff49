"""What is made from the grammar and the tables is up to date, and names everything there is."""

from __future__ import annotations

from halfsplit.machine import format as grammar
from halfsplit.machine import part_types, supplies
from halfsplit.machine.descriptions import descriptions
from halfsplit.machine.rules import catalogue
from tools import write_reference

DUE = "run: .venv/bin/python tools/write_reference.py"


def test_reference_page_and_schema_are_up_to_date() -> None:
    """Writing them again would change nothing."""
    for path, text in write_reference.outputs().items():
        assert path.read_text("utf-8") == text, DUE


def test_page_names_everything() -> None:
    """Each key, part type, supply system, value and rule stands on the page."""
    page = write_reference.PAGE.read_text("utf-8")
    keys = [field.alias or name for name, field in grammar.MachineFile.model_fields.items()]
    own = {name: spec for name, spec in part_types.table().items() if not spec.house and name not in ("joint", "wire")}
    values = [value for spec in own.values() for value in spec.values]
    for word in (*keys, *values):
        assert f"`{word}`" in page
    for word in (*own, *supplies.table(), *catalogue.RULES):
        assert word in page


def test_every_key_says_what_it_is_for() -> None:
    """No key of the grammar is without a description."""
    for _, model in write_reference.SECTIONS:
        keys = {field.alias or name for name, field in model.model_fields.items()} - {"momentary"}
        assert keys <= set(descriptions(model))
