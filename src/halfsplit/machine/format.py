"""The grammar of a machine file, as models: which keys there are, what each holds, what it is for.

The JSON Schema and the reference page are made from these. Knows the shape of a file, not its meaning: whether
a named part, terminal or position exists is found out by ``expand``.
"""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import ConfigDict, Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema

from halfsplit.machine.fields import (
    SCALAR,
    Caution,
    Cautions,
    Count,
    Minutes,
    Money,
    Name,
    Names,
    Section,
    Setting,
    Text,
    YesNo,
    unfit,
)

__all__ = [
    "ENTRY_MODELS",
    "FORMAT",
    "SYMPTOM_KINDS",
    "BayEntry",
    "ControlEntry",
    "GasEntry",
    "MachineFile",
    "PartEntry",
    "SeenEntry",
    "SupplyEntry",
    "SymptomEntry",
    "WaterEntry",
]

FORMAT = "halfsplit machine 1"
MOMENTARY = "momentary"
MOMENTARY_POSITIONS = ("untouched", "held", "pressed")


class SupplyEntry(Section):
    """The house side. Further keys are the values of the system: breaker, cable, cord, volts."""

    model_config = ConfigDict(extra="allow")

    system: Text
    """The name of a supply system, as in the table of supply systems."""
    meets: dict[Name, Text] = Field(default_factory=dict)
    """Where the ends of the cord (or of the cable, if hard wired) land: `L1: terminal block.L1`."""
    bay: Text | None = Field(default=None, alias="in")
    """The bay in which plug and receptacle lie, as behind a machine that is built in: what is looked at or read there
    wants it open, and the machine is isolated at the breaker. Where it is left out the plug is pulled with nothing
    opened."""

    @property
    def values(self) -> dict[str, Any]:
        """The keys that the system's own table has to know."""
        return dict(self.model_extra or {})


class ControlEntry(Section):
    """What a hand sets: a list of positions, the word `momentary`, or a mapping."""

    positions: tuple[Name, ...] = Field(default=(), min_length=0)
    """The positions, the one in which the machine is left first."""
    momentary: bool = False
    """Only held by a finger: its positions are untouched, held, pressed."""
    through: Name | None = None
    """The mechanical part that carries the hand's turn to the contacts; where it lies in a bay, that is opened to turn
    it, and the machine is dead meanwhile."""
    where: Text | None = None
    """Where the control is."""
    hands: Name | None = None
    """The position in which it stands while hands are at a part whose contacts it works: whoever touches the switch in
    the frame of a door has the door `open`. A dead reading there that wants it elsewhere says that the switch is
    pressed in; a live one is not advised."""

    @model_validator(mode="before")
    @classmethod
    def _spread(cls, found: Any) -> Any:
        if isinstance(found, list):
            return {"positions": found}
        if found == MOMENTARY:
            return {"positions": list(MOMENTARY_POSITIONS), "momentary": True}
        if isinstance(found, dict) and found.get("positions") == MOMENTARY:
            return {**found, "positions": list(MOMENTARY_POSITIONS), "momentary": True}
        if isinstance(found, dict) and "momentary" in found:
            raise unfit("'momentary' is no key.", "Write `positions: momentary`.")
        if isinstance(found, str):
            raise unfit(f"'{found[:40]}' is no list of positions.", "Write [off, on], or momentary.")
        return found

    @model_validator(mode="after")
    def _enough(self) -> ControlEntry:
        if len(set(self.positions)) != len(self.positions):
            raise unfit("A position is named twice.", "Give each position a name of its own.")
        if len(self.positions) < 2:
            raise unfit("A control needs two positions or more.", "Write [off, on], or momentary.")
        return self

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        full = handler.resolve_ref_schema(handler(core))
        names = {"type": "array", "items": SCALAR, "minItems": 2}
        full["properties"]["positions"] = {"anyOf": [names, {"const": MOMENTARY}]}
        full["properties"].pop("momentary")
        full["required"] = ["positions"]
        return {"anyOf": [names, {"const": MOMENTARY}, full]}


class PartEntry(Section):
    """A part. Further keys are the values of its type."""

    model_config = ConfigDict(extra="allow")

    type: Text
    """The name of a part type."""
    bay: Text = Field(alias="in")
    """The bay it lies in; `outside` needs no opening."""
    title: Text | None = None
    """What a person calls it, where the name does not say."""
    price: Money | None = None
    """What a new one costs."""
    replace: Minutes | None = None
    """How long replacing it takes, with its bay open."""
    cools_in: Minutes | None = None
    """How long after a run until it may be touched: `0 min` where it does not get hot (an element in water)."""
    lifts_out: Minutes | None = None
    """It plugs in: how long lifting it out by hand takes, or plugging it in again. Two of them that are alike in type
    and values can then be exchanged, to see whether a fault goes with the part; `0 min`: it does not plug in."""
    fails: Text | dict[Text, Text] | None = None
    """How often it fails against other parts: a weight, or a weight for each mode."""
    fasteners: Text | None = None
    """What holds it, and what else comes off, where it is replaced, as at a bay: `belt off the idler and 2 x PH2`."""
    caution: Caution | None = None
    """What to mind when working on it, with a signal word as a bay's cautions; no moment, a part is not opened."""
    spare: Names = ()
    """Terminals that are left without a wire on purpose."""

    @property
    def values(self) -> dict[str, Any]:
        """The keys that the part's type has to know."""
        return dict(self.model_extra or {})

    @model_validator(mode="after")
    def _not_opened(self) -> PartEntry:
        if self.caution and self.caution.moment:
            raise unfit(f"A part has no {self.caution.moment}.", "Leave out `when ...:`, or write it at its bay.")
        return self


class SymptomEntry(Section):
    """What a person perceives: one kind of symptom with what it is about."""

    running: Names = ()
    """Motors: true while they run."""
    hums: Names = ()
    """Motors: true while they are fed and stand still."""
    lit: Names = ()
    """Lamps."""
    sounds: Names = ()
    """Buzzers."""
    energised: Names = ()
    """Loads that are felt or heard when they are fed."""
    heat_from: Names = ()
    """Loads that give heat: needs `at least`."""
    air_from: Names = ()
    """Motors that drive the air; name the ducts under `through`."""
    tingles: Names = ()
    """Metal that gives a shock."""
    trips: Names = ()
    """Overcurrent switches that act."""
    chatters: Names = ()
    """Relays that open and close again and again."""
    noisy: Names = ()
    """Mechanical parts that are heard when worn."""
    leaks: Names = ()
    """Parts that let water out. Looked for without power, unless `set`, `carried by` or `takes` says when it shows.
    Water on the floor is called `water on the floor`, one symptom for all that brings it there: by that name it stops
    the work until the breaker is off. A smell of gas is none of these; it comes with `gas`."""
    hand_turns: Names = ()
    """Motors that a hand turns round on the dead machine, by the parts named under `through`: true where they go round
    with it, and neither stand fast nor are left behind. The repairer's alone: no owner is asked to reach in, and in a
    proof run the machine turns them itself."""
    at_least: Text | None = None
    """From how much on it is perceived: W for heat; a share of the rated volts for what is lit, sounds or is energised
    (left out: 0.71, of what is energised 0.55)."""
    carried_by: Names = ()
    """Motors that must run for it to be perceived."""
    through: Names = ()
    """Mechanical parts that must be whole for it to be perceived."""
    set: Setting = Field(default_factory=dict)
    """Controls that must stand otherwise than in the complaint for it to be perceived."""
    takes: Minutes | None = None
    """How long the machine has to run, in that setting and once as warm as it says, until the answer is seen: `40 min`
    for a load that is dry in time. Where it is left out it is seen in passing. What takes longer than an hour nobody
    stays for: the owner alone tells it, of days in which the machine has set its own timer."""
    shows_as_left: YesNo = False
    """With `takes`: a machine that its owner left in use has run so long already, so that it is seen at once (a freezer
    that is cold); after anything was switched off it takes its time."""
    bay: Text | None = Field(default=None, alias="in")
    """The bay that has to be open for it to be perceived: opened and told like any other, and no owner is asked for
    what shows there. Where it is left out it is perceived from outside."""
    ask: Text | None = None
    """How to ask a person for it."""

    @model_validator(mode="after")
    def _one_kind(self) -> SymptomEntry:
        if len(self.kinds) != 1:
            known = ", ".join(sorted(SYMPTOM_KINDS))
            raise unfit(f"A symptom has one kind, this has {len(self.kinds)}.", f"Write one of: {known}.")
        return self

    @property
    def kinds(self) -> list[str]:
        """The keys of the kinds that are written."""
        return [key for key in SYMPTOM_KINDS if getattr(self, key.replace(" ", "_"))]


SYMPTOM_KINDS: dict[str, str] = {
    key: key.split()[0]
    for key in (
        "running", "hums", "lit", "sounds", "energised", "heat from",
        "air from", "tingles", "trips", "chatters", "noisy", "leaks", "hand turns",
    )
}  # fmt: skip
"""Key in the file: kind in the model."""


class BayEntry(Section):
    """A place that has to be opened first."""

    behind: Text
    """The bay in front of it, or `outside`."""
    open: Minutes
    """How long opening takes."""
    close: Minutes
    """How long closing takes."""
    fasteners: Text | None = None
    """What holds it shut: `2 x PH2`."""
    cautions: Cautions = ()
    """What to mind, each `WORD: what to mind`, by ANSI Z535.4: DANGER, it will result in death or serious injury;
    WARNING, it could; CAUTION, it could result in minor or moderate injury (so where no word is written); NOTICE,
    nobody is hurt. After the word `when opening:` or `when closing:` says when to tell it, else it is told at both:
    `WARNING: when closing: put the guard back`."""
    people: Count = 1
    """How many people it takes."""
    unplugs: Names = ()
    """Parts whose connector has to be pulled to open it."""
    frees: Names = ()
    """Parts that come off what they hold when it is opened: the belt off the switch that watches it. A reading for
    which that switch matters says that it is held. A control of two positions too, where what sets it comes off (the
    front with the door): it then stands in the second, and a reading that wants the first says that its switch is
    pressed in. A symptom that goes `through` such a part is seen only with it in its place: no air comes out at the end
    of a duct that is off."""
    runs: YesNo = True
    """Whether the machine can run while it is open (`no`: a drum without its front)."""
    holds_water: YesNo = False
    """Whether water stands behind it (`yes`: a pipe that is opened at a union): it is closed before the machine is
    filled, and looked at for drips."""
    leaves: Name | None = None
    """The warmth, one of those that `temperatures` names, at which the machine stands once it is open: `warm` where
    ice has to be thawed first. All behind it is read at that warmth only. What a cold switch does is then told by what
    is read before it is opened; who chills it by hand states the warmth with the reading."""


class SeenEntry(Section):
    """A reading that was seen on a healthy machine."""

    meter: Text
    """The meter's range: ohms, volts, amps."""
    red: Text
    """The terminal of the red lead; for amps, whose wires the clamp goes around."""
    black: Text | None = None
    """The terminal of the black lead; a clamp, for amps, has none."""
    set: Setting = Field(default_factory=dict)
    """Where the controls stood; what is left out stood at rest."""
    isolated: YesNo = False
    """Was the machine off the supply?"""
    lift: Names = ()
    """Terminals whose wires were lifted."""
    value: Text
    """What it showed: `21.5 ohm`, or OL for over range."""


class GasEntry(Section):
    """The gas of a machine that burns it. A person is then asked for a smell of gas, which ends the work."""

    cock: Text
    """Where the gas is shut off: `on the wall behind the machine`."""
    bays: Names = ()
    """The bays in which gas pipe, burner or gas valve lies: hands work there with the cock shut."""
    parts: Names
    """The parts that gas flows through: the pipe comes apart when one of them is repaired."""


class WaterEntry(Section):
    """The water that stands in a machine. Before one of the parts comes out it is drained; after it, filled, and looked
    at for drips before the covers and the power. A `tank` among the parts stands under the pressure of the house's
    water; a machine without one fills through a valve of its own."""

    cock: Text
    """Where the water is shut off: `on the cold pipe above the tank`."""
    tap: Text | None = None
    """Where air comes out when a tank is filled: `a hot tap`; told of a machine with a `tank` only."""
    drain: Text
    """Through which it is drained, a hose on it: `drain valve`, a part of the machine or not."""
    parts: Names
    """The parts that water stands against: they are not warmed with hot air either."""


class MachineFile(Section):
    """One machine."""

    ORDER: ClassVar[tuple[str, ...]]

    format: Text
    """Always `halfsplit machine 1`."""
    machine: Text
    """What the machine is."""
    kind: Text
    """Of which kind it is: tumble dryer."""
    about: Text | None = None
    """More about it."""
    provenance: Text | None = None
    """Where what is written here comes from."""
    currency: Text | None = None
    """The currency of prices: USD where it is left out."""
    like: Text | None = None
    """The name of a machine that this one is like: write only what differs."""
    without: tuple[Text, ...] = ()
    """With `like`: wires of that machine that this one has not, each as `TERMINAL  TERMINAL`."""
    supply: SupplyEntry
    """The house side."""
    frame: Text | None = None
    """The part that is the machine's metal; left out where there is none."""
    gas: GasEntry | None = None
    """Where gas is shut off and flows; left out where the machine burns none."""
    water: WaterEntry | None = None
    """Where water is shut off and stands; left out where the machine holds none."""
    controls: dict[Name, ControlEntry] = Field(default_factory=dict)
    """What a hand sets."""
    temperatures: dict[Name, dict[Name, Text]] = Field(default_factory=dict)
    """How warm each place is: `drum outlet: {cold: 20 °C, hot: 65 °C}`; the first is the rest."""
    comes_to: dict[Name, Minutes] = Field(default_factory=dict)
    """How long it takes to each warmth that `temperatures` names: to a warmer one from the first, closed and at work
    (`hot tank: 80 min`); to the first from any other. What is not named takes 6 minutes to warm and 10 to cool."""
    parts: dict[Name, PartEntry]
    """The components."""
    wires: tuple[Text, ...]
    """Each `COLOUR  TERMINAL  TERMINAL`, or `COLOUR  GAUGE LENGTH  TERMINAL  TERMINAL`, two blanks between."""
    symptoms: dict[Name, SymptomEntry] = Field(default_factory=dict)
    """What a person perceives."""
    bays: dict[Name, BayEntry] = Field(default_factory=dict)
    """How it comes apart."""
    settings: dict[Name, Setting] = Field(default_factory=dict)
    """Settings that have a name."""
    seen: tuple[SeenEntry, ...] = ()
    """Readings of a healthy machine: the check tests them."""

    @model_validator(mode="after")
    def _right_format(self) -> MachineFile:
        if self.format != FORMAT:
            raise unfit(f"The format '{self.format[:40]}' is not known.", f"Write `format: {FORMAT}`.")
        return self


MachineFile.ORDER = tuple(field.alias or name for name, field in MachineFile.model_fields.items())

ENTRY_MODELS: tuple[type[Section], ...] = (
    ControlEntry,
    SupplyEntry,
    PartEntry,
    SymptomEntry,
    BayEntry,
    SeenEntry,
    GasEntry,
    WaterEntry,
)
"""The models of what a machine file is made of, in the order in which they are best read."""
