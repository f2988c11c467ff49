"""The table of part types, read and checked once: what a type is made of, in templates.

Knows the grammar of tables/part_types.yaml and nothing of any machine. `$name` in a template stands for a value
of the part; ``expand`` fills it in.
"""

from __future__ import annotations

from functools import lru_cache
from importlib import resources
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, ValidationError, model_validator

from halfsplit.errors import BadInput
from halfsplit.machine import amounts, tree
from halfsplit.machine.complaints import Complaints
from halfsplit.machine.fields import Section, read

__all__ = ["VALUE_KINDS", "ElementSpec", "ModeSpec", "PartType", "ValueSpec", "table"]

VALUE_KINDS: dict[str, str] = {
    "V": "volts",
    "A": "amps",
    "W": "watts",
    "ohm": "ohms",
    "F": "farads",
    "°C": "a temperature",
    "K": "a difference of temperature",
    "s": "a time",
    "Hz": "a frequency",
    "number": "a number without a unit",
    "yes or no": "yes or no",
    "text": "a text",
    "place": "a place under `temperatures`",
    "control": "a control",
    "positions": "positions of the part's control",
    "chart": "contact A-B: the positions in which it is closed",
    "ends": "two terminals of the part",
    "terminals": "two terminals of other parts",
    "element": "an element of another part, as part.element",
    "curve": "temperature: ohms, at two temperatures or more",
}
"""What a value of a part may be: the word after `is`, and what it means."""

Number = Annotated[float, read(amounts.number)]
Truth = Annotated[bool, read(amounts.truth)]
Minutes = Annotated[float, read(amounts.number)]


def _listed(found: Any) -> Any:
    return [found] if isinstance(found, str) else found


Words = Annotated[tuple[str, ...], BeforeValidator(_listed)]
Provoking = Literal["shaking", "heat", "turning", "load"]
Pair = tuple[str, str]
Condition = dict[str, Words]


class ValueSpec(Section):
    """A value that a machine file gives, or leaves out where there is a default."""

    kind: Literal[tuple(VALUE_KINDS)] = Field(alias="is")  # type: ignore[valid-type]
    default: str | tuple[str, ...] | None = None
    about: str = ""
    plausible: Pair | None = None
    """The lowest and highest that a sane machine has: beyond it, a unit or a digit was mistyped."""


class ContactSpec(Section):
    """A contact; `fitted` makes it a strap that a hand puts in or leaves off."""

    kind: Literal["contact"] = Field(alias="is")
    ends: Pair | str
    ohms: str
    when: tuple[Condition, ...] = ()
    fitted: str | None = None


class ChartSpec(Section):
    """One contact for each line of the part's chart."""

    kind: Literal["contacts from chart"] = Field(alias="is")
    chart: str
    control: str
    ohms: str
    when: tuple[Condition, ...] = ()


class ImpedanceSpec(Section):
    """A load."""

    kind: Literal["impedance"] = Field(alias="is")
    ends: Pair | str
    ohms: str
    live: str | dict[str, str] = "1"
    device: str | None = None
    other_live: str | dict[str, str] | None = None
    load: Truth = True


class WindingSpec(Section):
    """A winding of a motor that has two."""

    kind: Literal["winding"] = Field(alias="is")
    ends: Pair | str
    ohms: str
    motor: str
    role: Literal["main", "auxiliary"]
    turns: str = "1"
    running: str | None = None
    starting: str | None = None
    load: Truth = True


class CapacitorSpec(Section):
    """A capacitor."""

    kind: Literal["capacitor"] = Field(alias="is")
    ends: Pair | str
    farads: str


class SensorSpec(Section):
    """A resistance that follows the temperature of its place."""

    kind: Literal["sensor"] = Field(alias="is")
    ends: Pair | str
    place: str
    curve: str
    relative: str = "0.03"


class SourceSpec(Section):
    """A voltage of the house."""

    kind: Literal["source"] = Field(alias="is")
    ends: Pair | str
    volts: str
    degrees: str = "0"
    impedance: Pair


ElementSpec = Annotated[
    ContactSpec | ChartSpec | ImpedanceSpec | WindingSpec | CapacitorSpec | SensorSpec | SourceSpec,
    Discriminator("kind"),
]


class ThermostatSpec(Section):
    """Moves with the temperature of its place."""

    kind: Literal["thermostat"] = Field(alias="is")
    place: str
    trips: str
    returns: str
    resets: Literal["itself", "by hand", "never"] = "itself"


class RelaySpec(Section):
    """Moves with the volts across its coil."""

    kind: Literal["relay"] = Field(alias="is")
    coil: str
    pulls: str
    drops: str


class MotorSpec(Section):
    """Runs."""

    kind: Literal["motor"] = Field(alias="is")
    main: str
    auxiliary: str = ""
    rated: str
    starts: str = "0.25"
    stops: str = "0.5"
    running: str | None = None
    starting: str | None = None


class OvercurrentSpec(Section):
    """Trips."""

    kind: Literal["overcurrent"] = Field(alias="is")
    element: str
    amps: str
    seconds: str
    resets: Literal["itself", "by hand", "never"] = "by hand"


class SelfHeatingSpec(Section):
    """Takes itself out by its own heat."""

    kind: Literal["self heating"] = Field(alias="is")
    element: str
    amps: str
    seconds: str


DeviceSpec = Annotated[
    ThermostatSpec | RelaySpec | MotorSpec | OvercurrentSpec | SelfHeatingSpec, Discriminator("kind")
]

ChangeSpec = dict[str, str | tuple[str, ...]]
"""`{opened: link}`, `{bridged: "2", to: frame, amount: [1 ohm, 2 kohm]}`."""


class ModeSpec(Section):
    """One way in which the part fails."""

    share: Number
    does: tuple[ChangeSpec, ...]
    alternatives: tuple[tuple[ChangeSpec, ...], ...] = Field(default=(), alias="or")
    acting: Number = 1.0
    provoked_by: Annotated[tuple[Provoking, ...], BeforeValidator(_listed)] = ()
    looks: str = "fine"
    repair: str = "replace"
    by: str = "repairer"
    about: str = ""
    only_when: dict[str, str] = Field(default_factory=dict)
    by_hand: Truth = False


class PartType(Section):
    """A type of part: its terminals, values, primitives, and how it fails."""

    about: str
    symbol: str
    terminals: Literal["from chart"] | tuple[str, ...]
    values: dict[str, ValueSpec] = Field(default_factory=dict)
    devices: dict[str, DeviceSpec] = Field(default_factory=dict)
    elements: dict[str, ElementSpec] = Field(default_factory=dict)
    modes: dict[str, ModeSpec] = Field(default_factory=dict)
    fails: Number = 1.0
    minutes: Minutes = 10.0
    price: str = "0 USD"
    cools_in: Minutes = 0.0
    """Minutes after a run until it may be touched; 0 where it does not get hot."""
    lifts_out: Minutes = 0.0
    """Minutes to lift it out by hand, with no tool, or to plug it in again; 0 where it does not plug in."""
    house: Truth = False
    mechanical: Truth = False
    turns: Truth = False
    """Whether a hand can turn it on a dead machine; only what turns may have a mode that turning brings out."""

    @model_validator(mode="after")
    def _only_what_turns_is_turned(self) -> PartType:
        for name, mode in self.modes.items():
            if "turning" in mode.provoked_by and not self.turns:
                raise ValueError(f"mode {name!r} is provoked by turning, and no hand turns the part: say `turns: yes`")
        return self


class _Table(Section):
    types: dict[str, PartType]


@lru_cache(maxsize=1)
def table() -> dict[str, PartType]:
    """The part types by name, in the order of the table; ``BadInput`` where the table itself is wrong.

    >>> table()["heater"].terminals
    ('1', '2', '~middle')
    """
    text = resources.files("halfsplit.machine").joinpath("tables/part_types.yaml").read_text("utf-8")
    return read_table(text, "part_types.yaml")


def read_table(text: str, file: str) -> dict[str, PartType]:
    """A table of part types from its text."""
    root = tree.compose(text, file)
    wrapped = tree.Node(root.spot, {"types": root})
    try:
        return _Table.model_validate({"types": tree.plain(root)}).types
    except ValidationError as error:
        complaints = Complaints(wrapped)
        complaints.of_grammar(error, _Table)
        raise BadInput(complaints.problems) from None
