"""Laws of reading: neither the order nor the names of things change what a machine is."""

from __future__ import annotations

import random
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from halfsplit.machine import library, loading, tree
from halfsplit.machine.model import Machine

NAMES = library.names()


def data_of(name: str) -> dict[str, Any]:
    """A library file as texts, lists and mappings."""
    found = tree.plain(tree.compose(library.text(name), name))
    assert isinstance(found, dict)
    return found


def read(data: Any) -> Machine:
    """The machine of such data."""
    return loading.load_text(yaml.safe_dump(data, allow_unicode=True, sort_keys=False, width=10_000), "x")


@given(st.sampled_from(NAMES), st.integers(0, 2**32))
@settings(max_examples=25)
def test_order_of_sections_and_entries_does_not_matter(name: str, seed: int) -> None:
    """Sections, parts, bays, symptoms and wires in any order are the same machine."""
    draw, data = random.Random(seed), data_of(name)
    for section in ("parts", "bays", "symptoms", "settings"):
        items = list(data.get(section, {}).items())
        draw.shuffle(items)
        data = {**data, section: dict(items)} if items else data
    if "wires" in data:
        data["wires"] = draw.sample(data["wires"], len(data["wires"]))
    sections = list(data.items())
    draw.shuffle(sections)
    before, after = loading.load(name), read(dict(sections))
    assert after.parts == before.parts
    assert after.elements == before.elements
    assert after.devices == before.devices
    assert after.symptoms == before.symptoms
    assert set(after.wires) == set(before.wires)
    assert loading.examine_text(yaml.safe_dump(dict(sections), allow_unicode=True, sort_keys=False), "x")[1] == []


@pytest.mark.parametrize("name", ["water-heater"])
def test_names_do_not_matter(name: str) -> None:
    """A part called otherwise wherever it is named leaves a machine of the same shape, with the same values."""
    text = library.text(name)
    before, after = loading.load(name), loading.load_text(text.replace("upper element", "boost coil"), "x")
    renamed = {
        name.replace("upper element", "boost coil"): (type(element), getattr(element, "when", ()))
        for name, element in before.elements.items()
    }
    assert {n: (type(e), getattr(e, "when", ())) for n, e in after.elements.items()} == renamed
    assert [p.rate for p in after.parts.values()] == [p.rate for p in before.parts.values()]
    assert [w.ohms for w in after.wires] == [w.ohms for w in before.wires]


@pytest.mark.parametrize("name", NAMES)
def test_quotes_do_not_matter(name: str) -> None:
    """Every scalar in quotes is the same machine: nothing hangs on how a word is written."""
    text = yaml.safe_dump(data_of(name), allow_unicode=True, sort_keys=False, width=10_000, default_style='"')
    before, after = loading.load(name), loading.load_text(text, name)
    assert (after.parts, after.wires, after.controls) == (before.parts, before.wires, before.controls)


@pytest.mark.parametrize("name", NAMES)
def test_units_do_not_matter(name: str) -> None:
    """Ohms written in kilo-ohms, and minutes in seconds, are the same values."""
    text = library.text(name)
    other = text.replace("replace: 20 min", "replace: 1200 s").replace("4.5 kohm ± 10 %", "4500 ohm ± 10 %")
    other = other.replace("31 ohm ± 6 %", "0.031 kohm ± 6 %").replace("12.8 ohm ± 5 %", "12.8 Ω +-5%")
    assert loading.load_text(other, name).parts == loading.load(name).parts
    assert loading.load_text(other, name).elements == loading.load(name).elements
