"""The table of supply systems, read and checked once. Knows the grammar of tables/supplies.yaml, no machine."""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from halfsplit.errors import BadInput
from halfsplit.machine import amounts, tree
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.fields import Section, read
from halfsplit.machine.format import BayEntry, ControlEntry

__all__ = ["SupplySystem", "SupplyValue", "table"]


class SupplyValue(Section):
    """A value that a machine file may give under `supply`."""

    kind: Literal["V", "A", "wire"] = Field(alias="is")
    default: str
    about: str = ""


class SupplySystem(Section):
    """What stands between the utility and the machine."""

    about: str
    hertz: Annotated[float, read(amounts.number)]
    hard_wired: Annotated[bool, read(amounts.truth)]
    ends: tuple[str, ...]
    values: dict[str, SupplyValue]
    controls: dict[str, ControlEntry]
    isolates: dict[str, str]
    feeds: tuple[str, ...]
    earth: str
    bays: dict[str, BayEntry] = Field(default_factory=dict)
    parts: dict[str, dict[str, str]]
    fixed_wires: tuple[str, ...] = ()
    wires: tuple[str, ...]


class _Table(Section):
    systems: dict[str, SupplySystem]


@lru_cache(maxsize=1)
def table() -> dict[str, SupplySystem]:
    """The supply systems by name; ``BadInput`` where the table itself is wrong.

    >>> table()["230 V, plug"].hertz
    50.0
    """
    text = resources.files("halfsplit.machine").joinpath("tables/supplies.yaml").read_text("utf-8")
    root = tree.compose(text, "supplies.yaml")
    try:
        return _Table.model_validate({"systems": tree.plain(root)}).systems
    except ValidationError as error:
        complaints = Complaints(tree.Node(root.spot, {"systems": root}))
        complaints.of_grammar(error, _Table)
        raise BadInput(complaints.problems) from None
