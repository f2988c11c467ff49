"""Minutes of what hands do at any machine, and what an hour of them costs, as plain data. Knows no machine."""

from __future__ import annotations

from dataclasses import dataclass

MOST_HOURLY = 10_000.0
"""No hour costs more."""


@dataclass(frozen=True)
class Handwork:
    """Minutes of what hands do at any machine, and no file gives. Common practice, no source.

    A paced machine (work/pace) has others. `hourly`: what an hour of the repairer costs, in the machine's currency.
    """

    reading: float = 0.6
    look: float = 0.3
    look_closely: float = 2.0
    """To look at something once more: with a lamp, from all sides, pulling at wires and moving what moves."""
    perceive: float = 1.0
    isolate: float = 1.5
    """To unplug or switch off, and prove dead."""
    prove: float = 1.0
    """To prove dead once more, with the meter proved before and after."""
    discharge: float = 0.6
    """To put a resistor across a capacitor, and to read DC volts there once it has been held on: for how long is the
    capacitor's (`work/places.seconds`)."""
    cock: float = 0.5
    """To shut a gas cock, or to open it: this program's own choice; common practice, no source."""
    energise: float = 2.0
    """To prove the meter, clip the leads on and bring the power back."""
    set: float = 0.15
    lift: float = 0.5
    """To pull a terminal's wires off, or to put them on again."""
    spade: float = 0.5
    """What is to be expected of old spades whenever wires are pulled off: one terminal in twenty breaks, and takes ten
    minutes to renew."""
    shake: float = 0.6
    """To shake a part, a wire or a harness, or to turn a part once round, while watching the meter."""
    show: float = 2.0
    """To show an owner how to set a control."""
    rewire: float = 5.0
    """To put two wires right that were swapped."""
    unbridge: float = 3.0
    """To take off a jumper."""
    hourly: float = 90.0
