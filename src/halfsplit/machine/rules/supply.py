"""Rules about the house side as a whole: what spoils them spoils all that is computed."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.loads import supply_volts
from halfsplit.machine.rules.facts import Flaw
from halfsplit.machine.supplies import table

__all__ = ["supply_volts_absurd"]

_LOWEST, _HIGHEST = 50.0, 440.0
"""Between any two conductors [V]. Up to 50 V AC is extra-low voltage (IEC 61140), which no house gives by its wiring;
400 V and a tenth is the most of the public systems that reach homes, 230/400 V (IEC 60038, table 1; the standard itself
calls low voltage all up to 1000 V, which are works' networks above this). From memory."""


def supply_volts_absurd(sheet: Sheet) -> Iterator[Flaw]:
    """The supply gives volts that no house has: a digit or unit is wrong, or a leg's are those across both."""
    highest = supply_volts(sheet.machine)
    if not _LOWEST < highest <= _HIGHEST:
        values = table()[sheet.machine.supply.system].values
        message = f"Between two of its conductors the supply would give {highest:.0f} V, which no house has."
        about = f" ({values['volts'].about})" if values["volts"].about else ""
        remedy = f"Look at the digits and the unit, and write it as in `{values['volts'].default}`{about}."
        yield Flaw(("supply", "volts"), message, remedy)
