"""The published JSON Schema, tried by an independent validator: it takes every good file and refuses what is wrong."""

from __future__ import annotations

import copy
import importlib
import json
import re
from importlib import resources
from typing import Any

import pytest
import yaml

from halfsplit.machine import library, loading, schema, tree

jsonschema: Any = importlib.import_module("jsonschema")  # it comes without types
VALIDATOR = jsonschema.Draft202012Validator(schema.schema())
NAMES = library.names()


def as_texts(name: str) -> Any:
    """A library file with every scalar as its text, as the loader reads it."""
    return tree.plain(tree.compose(library.text(name), name))


def as_an_editor_reads(name: str) -> Any:
    """A library file as an editor reads it: words of YAML 1.2's core schema become numbers and truth values."""
    return json.loads(json.dumps(yaml.load(library.text(name), Loader=_CoreSchema)))


class _CoreSchema(yaml.SafeLoader):
    """Numbers, true, false and null, and no other word, turn into something else (YAML 1.2, 10.3)."""


_CoreSchema.yaml_implicit_resolvers = {}
_CoreSchema.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"(true|false)$"), list("tf"))
_CoreSchema.add_implicit_resolver("tag:yaml.org,2002:null", re.compile(r"(null|~|)$"), ["n", "~", ""])
_CoreSchema.add_implicit_resolver("tag:yaml.org,2002:int", re.compile(r"[-+]?[0-9]+$"), list("-+0123456789"))
_CoreSchema.add_implicit_resolver("tag:yaml.org,2002:float", re.compile(r"[-+]?[0-9]+\.[0-9]+$"), list("-+0123456789"))


def test_schema_is_a_schema() -> None:
    """The schema itself is valid (draft 2020-12)."""
    jsonschema.Draft202012Validator.check_schema(schema.schema())


def test_published_schema_is_up_to_date() -> None:
    """The file is what the grammar and the tables say now."""
    published = resources.files("halfsplit.machine").joinpath(schema.PUBLISHED).read_text("utf-8")
    assert published == schema.text()


@pytest.mark.parametrize("reader", [as_texts, as_an_editor_reads])
@pytest.mark.parametrize("name", NAMES)
def test_schema_takes_every_good_file(name: str, reader: Any) -> None:
    """Every machine of the library is valid, read either way."""
    assert [error.message for error in VALIDATOR.iter_errors(reader(name))] == []


def planted() -> dict[str, Any]:
    """Wrong files, by what is wrong."""
    good = as_texts("vented-dryer")
    found: dict[str, Any] = {}

    def plant(what: str, *path: str, value: Any) -> None:
        bad = copy.deepcopy(good)
        inner = bad
        for step in path[:-1]:
            inner = inner[step]
        if value is None:
            del inner[path[-1]]
        else:
            inner[path[-1]] = value
        found[what] = bad

    plant("unknown section", "partz", value={})
    plant("no wires", "wires", value=None)
    plant("no format", "format", value=None)
    plant("another format", "format", value="halfsplit machine 9")
    plant("unknown part type", "parts", "heater", "type", value="heatr")
    plant("value of another type", "parts", "drum lamp", "chart", value={"a-b": ["x"]})
    plant("value left out", "parts", "drum lamp", "watts", value=None)
    plant("bay left out", "parts", "drum lamp", "in", value=None)
    plant("ohms in words", "parts", "automatic resistor", "ohms", value="a lot")
    plant("price without currency", "parts", "belt", "price", value="22")
    plant("minutes without unit", "bays", "top", "open", value="3")
    plant("unknown key of a bay", "bays", "top", "opens", value="3 min")
    plant("chart that is a text", "parts", "timer", "chart", value="line-motor")
    plant("ends that are three", "parts", "timer", "motor", value=["a", "b", "c"])
    plant("wire that is a list", "wires", value=[["BK", "a.1", "b.1"]])
    plant("unknown supply", "supply", "system", value="400 V")
    plant("unknown value of the supply", "supply", "cabel", value="10 AWG 12 m")
    plant("end of another supply", "supply", "meets", value={"L": "terminal block.L1"})
    plant("control of one position", "controls", "door", value=["shut"])
    plant("unknown key of a symptom", "symptoms", "drum turns", value={"runs": "motor"})
    plant("unknown key of a reading", "seen", value=[{"meter": "ohms", "red": "a.1", "blak": "b.1", "value": "OL"}])
    return found


@pytest.mark.parametrize("what", planted())
def test_schema_refuses_planted_error(what: str) -> None:
    """What is wrong in shape is refused, and the loader refuses it too."""
    bad = planted()[what]
    assert list(VALIDATOR.iter_errors(bad))
    assert loading.examine_text(yaml.safe_dump(bad, allow_unicode=True, width=10_000), "bad")[0] is None
