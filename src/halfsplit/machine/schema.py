"""The JSON Schema of a machine file, made from the grammar, the part types and the supply systems.

For editors, which complete and check with it. It knows shapes and the names of the tables; whether the names
within a file fit together is the loader's to say. Published as schemas/machine-1.json, which a test keeps true.
"""

from __future__ import annotations

import json
from typing import Any

from halfsplit.machine import amounts, part_types, supplies
from halfsplit.machine.descriptions import descriptions
from halfsplit.machine.fields import SCALAR, Section
from halfsplit.machine.format import ENTRY_MODELS, FORMAT, MachineFile, PartEntry
from halfsplit.machine.merging import ENTRIES, NONE
from halfsplit.machine.part_types import PartType, ValueSpec

__all__ = ["PUBLISHED", "schema", "text"]

PUBLISHED = "schemas/machine-1.json"
"""Where the schema lies, within this folder."""

_QUANTITY = {"type": "string", "pattern": r"^[-+.0-9]"}
_LIST = {"anyOf": [SCALAR, {"type": "array", "items": SCALAR}]}
_TWO = {"type": "array", "items": SCALAR, "minItems": 2, "maxItems": 2}
_SHAPES: dict[str, dict[str, Any]] = {
    "number": {"anyOf": [{"type": "number"}, _QUANTITY]},
    "yes or no": {"anyOf": [{"enum": ["yes", "no"]}, {"type": "boolean"}]},
    "positions": _LIST,
    "chart": {"type": "object", "minProperties": 1, "additionalProperties": _LIST},
    "ends": _TWO,
    "terminals": _TWO,
    "curve": {"type": "object", "minProperties": 2, "additionalProperties": _QUANTITY},
}


def schema() -> dict[str, Any]:
    """The schema as JSON data (draft 2020-12).

    >>> schema()["properties"]["format"]
    {'const': 'halfsplit machine 1', 'description': 'Always `halfsplit machine 1`.'}
    """
    found: dict[str, Any] = _without_titles(MachineFile.model_json_schema())
    found["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    found["title"] = "Halfsplit machine file, format 1"
    _describe(found)
    found["properties"]["format"] = {"const": FORMAT, "description": found["properties"]["format"]["description"]}
    _let_like(found)
    _name_types(found["$defs"]["PartEntry"])
    _name_systems(found["$defs"]["SupplyEntry"])
    return found


def text() -> str:
    """The schema as it is published."""
    return json.dumps(schema(), indent=1, ensure_ascii=False) + "\n"


def _without_titles(node: Any) -> Any:
    """Without the titles and defaults that say nothing a reader does not see."""
    if isinstance(node, list):
        return [_without_titles(item) for item in node]
    if not isinstance(node, dict):
        return node
    plain = {k: v for k, v in node.items() if not (k == "title" and isinstance(v, str)) and k != "default"}
    return {key: _without_titles(value) for key, value in plain.items()}


def _describe(found: dict[str, Any]) -> None:
    """Puts what each key is for beside it; the properties of a control stand within its alternatives."""
    defs = found["$defs"]
    models: tuple[type[Section], ...] = (MachineFile, *ENTRY_MODELS)
    for model in models:
        node = found if model is MachineFile else defs[model.__name__]
        shape = node if "properties" in node else node["anyOf"][-1]
        for key, text in descriptions(model).items():
            if key in shape["properties"]:
                shape["properties"][key] = {**shape["properties"][key], "description": text}


def _let_like(found: dict[str, Any]) -> None:
    """A file that is like another leaves out what does not differ, and may remove entries."""
    needed = [key for key in found["required"] if key not in ("format", "machine")]
    found["required"] = ["format", "machine"]
    found["if"] = {"not": {"required": ["like"]}}
    found["then"] = {"required": needed}
    for section in ENTRIES:
        entries = found["properties"][section]
        entries["additionalProperties"] = {"anyOf": [{"const": NONE}, entries["additionalProperties"]]}


def _name_types(part: dict[str, Any]) -> None:
    """Which values a part has, by its type."""
    types = part_types.table()
    part["properties"]["type"] = {"enum": [name for name, spec in types.items() if not spec.house]}
    part["additionalProperties"] = True
    common = [field.alias or name for name, field in PartEntry.model_fields.items()]
    part["allOf"] = [
        {"if": {"properties": {"type": {"const": name}}}, "then": _values(spec, common)}
        for name, spec in types.items()
        if not spec.house
    ]


def _values(spec: PartType, common: list[str]) -> dict[str, Any]:
    return {
        "properties": {name: _shape(value) for name, value in spec.values.items()},
        "required": [name for name, value in spec.values.items() if value.default is None],
        "propertyNames": {"enum": [*common, *spec.values]},
    }


def _shape(value: ValueSpec) -> dict[str, Any]:
    shape = _QUANTITY if value.kind in amounts.KINDS else _SHAPES.get(value.kind, SCALAR)
    about = value.about or part_types.VALUE_KINDS[value.kind]
    default = "" if value.default is None else f" {value.default} where it is left out."
    return {**shape, "description": f"{about[:1].upper()}{about[1:]}.{default}"}


def _name_systems(supply: dict[str, Any]) -> None:
    """Which values and ends a supply has, by its system."""
    systems = supplies.table()
    supply["properties"]["system"] = {"enum": list(systems)}
    supply["allOf"] = [
        {
            "if": {"properties": {"system": {"const": name}}},
            "then": {
                "properties": {"meets": {"propertyNames": {"enum": list(system.ends)}, "required": list(system.ends)}},
                "propertyNames": {"enum": ["system", "meets", *(() if system.hard_wired else ("in",)), *system.values]},
            },
        }
        for name, system in systems.items()
    ]
