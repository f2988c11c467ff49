"""The fields of JSON documents: what is said of each (tools/json_fields.yaml), and what documents hold in them.

Knows documents as plain data; not the commands that print them, nor the page.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

PLACE = Path(__file__).resolve().parent / "json_fields.yaml"
NULL, LIST, OBJECT, NUMBER, TEXT, YES_OR_NO = "null", "list", "object", "number", "text", "yes or no"
ITEM = "[]"
"""Behind the name of a field: what its list holds, or what stands under its keys."""
FORGOTTEN = "is left out now and then, and does not say when"
ALWAYS_NULL = "Always null"
SAYS_NULL, SAYS_LEFT_OUT = re.compile(r"\bnull\b"), re.compile(r"\b[Ll]eft out\b")


@dataclass(frozen=True)
class Field:
    """A field in words: `unit` of a number, `of` the table of its objects, `by` what its keys are, if they are names;
    `also`: a kind of value that no example brings out."""

    says: str
    unit: str = ""
    of: str = ""
    by: str = ""
    also: str = ""


@dataclass(frozen=True)
class Table:
    """An object: its fields, those of the table that it is `like`, and, by the text of the field that `splits` it,
    those of a table of its own."""

    name: str
    about: str
    fields: Mapping[str, Field]
    like: str = ""
    splits: str = ""


class Tables:
    """All tables: of whole documents by their names, and of objects."""

    def __init__(self, given: Mapping[str, Mapping[str, Any]]) -> None:
        self.documents = {name: _table(name, one) for name, one in given["documents"].items()}
        self.objects = {name: _table(name, one) for name, one in given["objects"].items()}

    @property
    def all(self) -> Iterator[Table]:
        """Documents, then objects."""
        yield from self.documents.values()
        yield from self.objects.values()

    def split(self, table: Table, text: object) -> Table | None:
        """The table of its own for objects with this text."""
        return self.objects.get(f"{table.name} {text}") if table.splits else None


def _table(name: str, given: Mapping[str, Any]) -> Table:
    fields = {key: Field(one) if isinstance(one, str) else Field(**one) for key, one in given["fields"].items()}
    return Table(name, given["about"], fields, given.get("like", ""), given.get("splits", ""))


def read() -> Tables:
    """The tables of the file."""
    return Tables(yaml.safe_load(PLACE.read_text("utf-8")))


class Held:
    """What documents hold, table by table: the kinds of value of each field, and how often it is there.

    >>> tables = Tables({"documents": {"d": {"about": "", "fields": {"a": "Text; null where none."}}}, "objects": {}})
    >>> held = Held(tables)
    >>> held.take(tables.documents["d"], {"a": "x"})
    >>> held.take(tables.documents["d"], {"b": 1})
    >>> held.problems()
    ['d: field b has no words', 'd.a: is left out now and then, and does not say when', 'd.a: says null, and never is']
    """

    def __init__(self, tables: Tables) -> None:
        self.tables = tables
        self.kinds: dict[tuple[str, str], set[str]] = defaultdict(set)
        self.there: dict[tuple[str, str], int] = defaultdict(int)
        self.objects: dict[str, int] = defaultdict(int)
        self.shared: dict[tuple[str, str], list[str]] = defaultdict(list)
        """By a table and the one that it is like: which fields of that it has."""
        self.wrong: dict[str, None] = {}

    def take(self, table: Table, data: Mapping[str, Any]) -> None:
        """One object with all that is in it."""
        apart = self.tables.split(table, data.get(table.splits))
        own = [one for one in (table, apart) if one]
        for one in own:
            self.objects[one.name] += 1
        for key, value in data.items():
            found = next((one for one in own if key in one.fields), None)
            found = found or next((one for one in map(self._like, own) if one and key in one.fields), None)
            if found is None:
                self.wrong[f"{own[-1].name}: field {key} has no words"] = None
            else:
                self._field(own[-1], found, key, value)

    def _like(self, table: Table) -> Table | None:
        return self.tables.objects[table.like] if table.like else None

    def _field(self, holder: Table, table: Table, key: str, value: Any) -> None:
        shared = self.shared[holder.name, table.name]
        if holder.like == table.name:
            shared += [key] if key not in shared else []
        else:
            self.there[table.name, key] += 1
        field, name = table.fields[key], (table.name, key)
        self.kinds[name].add(kind(value))
        inside = value if isinstance(value, list) else list(value.values()) if field.by and value else None
        if inside is not None:
            for one in inside:
                self._value(field, (table.name, f"{key}{ITEM}"), one)
        else:
            self._value(field, name, value)

    def _value(self, field: Field, name: tuple[str, str], value: Any) -> None:
        self.kinds[name].add(kind(value))
        if isinstance(value, dict) and field.of in self.tables.objects:
            self.take(self.tables.objects[field.of], value)
        elif isinstance(value, dict | list):
            self.wrong[f"{'.'.join(name)}: does not say of which table its objects are"] = None

    def of(self, table: Table, key: str) -> set[str]:
        """The kinds of value of a field."""
        also = table.fields[key].also
        return self.kinds[table.name, key] | ({also} if also else set())

    def left_out(self, table: Table, key: str) -> bool:
        """Whether a field is not in all objects of its table."""
        return self.there[table.name, key] < self.objects[table.name]

    def problems(self) -> list[str]:
        """All that does not agree between words and documents."""
        found = [text for table in self.tables.all for key in table.fields for text in self._disagrees(table, key)]
        return [*self.wrong, *found]

    def _disagrees(self, table: Table, key: str) -> Iterator[str]:
        field, name = table.fields[key], f"{table.name}.{key}"
        kinds, inside = self.of(table, key), self.kinds[table.name, f"{key}{ITEM}"]
        if not self.kinds[table.name, key]:
            yield f"{name}: is in no document"
            return
        if field.also in self.kinds[table.name, key]:
            yield f"{name}: an example brings out that it is {field.also} also"
        if (LIST in kinds or field.by) and not inside:
            yield f"{name}: is empty wherever it is"
        if (NUMBER in kinds | inside) != bool(field.unit):
            yield f"{name}: a number has a unit, and nothing else has"
        if self.left_out(table, key) != bool(SAYS_LEFT_OUT.search(field.says)):
            yield f"{name}: {FORGOTTEN if self.left_out(table, key) else 'says left out, and never is'}"
        if (NULL in kinds | inside) != bool(SAYS_NULL.search(field.says)):
            yield f"{name}: {'is null, and does not say when' if NULL in kinds | inside else 'says null, and never is'}"
        if (kinds == {NULL}) != field.says.startswith(ALWAYS_NULL):
            yield f"{name}: is {'' if kinds == {NULL} else 'not '}null wherever it is, and says otherwise"


def kind(value: object) -> str:
    """What a value of a JSON document is.

    >>> [kind(one) for one in (None, True, 1, 1.5, "a", [], {})]
    ['null', 'yes or no', 'number', 'number', 'text', 'list', 'object']
    """
    if value is None:
        return NULL
    kinds: dict[type, str] = {
        bool: YES_OR_NO, int: NUMBER, float: NUMBER, str: TEXT, list: LIST, dict: OBJECT
    }  # fmt: skip
    return kinds[type(value)]
