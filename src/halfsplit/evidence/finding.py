"""A finding as it was found: a reading, a look or a symptom, with its condition; what was repaired, and put together;
what was taken back; that the job was taken up again; what cannot be done; and how long a step took.

`took` [min, above 0; None: not said] is for learning a pace; it says nothing of the machine, and two findings that
differ in it alone are equal.

Knows conditions and typed values; nothing of what any candidate would have shown.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from halfsplit.circuit.meter import HAND_FUNCTIONS
from halfsplit.modes import marks
from halfsplit.operate.condition import Condition
from halfsplit.predict.readings import Probe

FINE = marks.FINE
UNITS = {name: HAND_FUNCTIONS[name].unit for name in ("ohms", "volts", "low-impedance volts", "dc volts", "amps")}
"""The unit of a number without one, by the meter's function; that of farads and of a temperature has to be typed."""
_BARE = re.compile(r"([+-]?\d[\d.,]*) *([kKMmuµ]?)")

Spans = tuple[tuple[float, float], ...]
"""Ranges [SI] that do not overlap, each with its lower end first; one that begins at 0 takes all below."""


@dataclass(frozen=True)
class Reading:
    """What the meter showed: `value` in SI, None for over range; `beeps` for continuity; `step` of its last digit.

    Where only the range is known, as of a reading that a plan foresees, `spans` has it, and `value` is its lower end.
    """

    probe: Probe
    condition: Condition
    value: float | None = None
    beeps: bool | None = None
    step: float = 0.0
    text: str = ""
    note: str = ""
    took: float | None = field(default=None, compare=False)
    spans: Spans = ()

    @property
    def shown(self) -> str:
        """What was typed, with the unit of the meter's function where that was left out.

        >>> here = Probe("ohms", "fuse.1", "fuse.2"), Condition(())
        >>> [Reading(*here, text=typed).shown for typed in ("0.2", "10.9k", "12 ohm", "OL")]
        ['0.2 Ω', '10.9 kΩ', '12 ohm', 'OL']
        """
        unit = UNITS.get(self.probe.meter, "")
        bare = _BARE.fullmatch(self.text.strip())
        return f"{bare[1]} {bare[2]}{unit}" if bare and unit else self.text

    @property
    def label(self) -> str:
        """In words, for lists."""
        where = f"{self.probe.red} to {self.probe.black}" if self.probe.black else f"at {self.probe.red}"
        while_doing = f" ({self.condition.provoke})" if self.condition.provoke else ""
        return f"{self.probe.meter}, {where}{while_doing}: {self.shown}"


@dataclass(frozen=True)
class Look:
    """What an eye saw at a part or a terminal's joint: fine, burnt, broken, off, loose, clogged ...

    `closely`: once more, after a first look.
    """

    at: str
    sees: str
    note: str = ""
    took: float | None = field(default=None, compare=False)
    closely: bool = False

    @property
    def label(self) -> str:
        """In words, for lists."""
        return f"look {'closely ' if self.closely else ''}at {self.at}: {self.sees}"


@dataclass(frozen=True)
class Perceived:
    """A symptom that was or was not there. `condition` None: the setting was not stated.

    `by`: "owner" (told) or "repairer" (seen).
    """

    what: str
    there: bool
    condition: Condition | None = None
    by: str = "owner"
    note: str = ""
    took: float | None = field(default=None, compare=False)

    @property
    def label(self) -> str:
        """In words, for lists."""
        return f"{self.what}: {'yes' if self.there else 'no'}"


@dataclass(frozen=True)
class Tried:
    """A repair that was made, and whether the complaint was gone afterwards; None where it was put together, but the
    power stayed off. `well`: not where the complaint was gone, but not all else was as it must be."""

    repair: str
    cured: bool | None
    note: str = ""
    took: float | None = field(default=None, compare=False)
    well: bool = True

    @property
    def proved(self) -> bool:
        """Whether all was as it must be afterwards."""
        return bool(self.cured) and self.well

    @property
    def label(self) -> str:
        """In words, for lists."""
        said = "not tried" if self.cured is None else "cured" if self.cured else "not cured"
        return f"{self.repair}: {said}{'' if self.well else ', but not all is well'}"


@dataclass(frozen=True)
class Closed:
    """The machine was put together, every wire and cover on, and is in use (`power`), or its power stayed off. It tells
    how the machine stands; of what is wrong with it nothing."""

    power: bool
    note: str = ""
    took: float | None = field(default=None, compare=False)

    @property
    def label(self) -> str:
        """In words, for lists."""
        return f"put together, power {'on' if self.power else 'off'}"


Found = Reading | Look | Perceived
"""What a step shows."""


@dataclass(frozen=True)
class TakenBack:
    """A finding that was taken back; or, not `told`, a step that was shown and set aside before anything was found. It
    tells nothing of the machine's faults; of how the machine stands, that its step may have been done or begun: what
    was opened for it may be open, but for the bays `shut`, which the person could not open. No file says these: of what
    is read from one all may be open."""

    found: Found
    told: bool = True
    shut: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """In words, for lists."""
        return f"taken back: {self.found.label}" if self.told else f"set aside: {self.found.label.rpartition(':')[0]}"

    @property
    def took(self) -> None:
        """A step that may not have been done teaches no pace."""
        return None


@dataclass(frozen=True)
class Resumed:
    """The job was taken up again, after hours or by somebody else. It tells nothing of the machine's faults; of how the
    machine stands, that nothing counts as proved any more. It is in no file: what was read from one ends with it."""

    @property
    def label(self) -> str:
        """In words, for lists."""
        return "the job was taken up again"

    @property
    def took(self) -> None:
        """It is no work."""
        return None


@dataclass(frozen=True)
class Cannot:
    """What cannot be done on this job, by its word (`service/refusing.choices`): a bay that will not open, a function
    that the meter lacks, help. It tells nothing of the machine's faults, and holds for the whole job, wherever it
    stands. It is in files only: a job under way holds what it refuses by that."""

    what: str

    @property
    def label(self) -> str:
        """In words, for lists."""
        return f"cannot: {self.what}"

    @property
    def took(self) -> None:
        """It is no work."""
        return None


Telling = Found | Tried
"""What tells of the machine's faults."""
Finding = Telling | Closed | TakenBack | Resumed | Cannot
