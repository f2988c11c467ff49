"""What a machine is made of, electrically: values, the closed set of elements, the devices that the machine itself
moves, and what decides whether a contact is closed. Plain frozen data.

Temperatures are in °C, all else in SI units.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Value:
    """A number with the range in which a healthy one lies, and the unknown it shares with others.

    >>> Value(20.0, 19.0, 21.0).relative_spread
    0.025
    """

    nominal: float
    low: float
    high: float
    shared: str = ""

    @property
    def relative_spread(self) -> float:
        """Standard deviation over nominal; the range is taken as two standard deviations each way."""
        return (self.high - self.low) / 4 / abs(self.nominal) if self.nominal else 0.0


def exactly(nominal: float) -> Value:
    """A value without spread.

    >>> exactly(3.0).high
    3.0
    """
    return Value(nominal, nominal, nominal)


# ---- what decides whether a contact is closed -------------------------------------------------------------


@dataclass(frozen=True)
class ByControl:
    """True while a control stands in one of the positions."""

    control: str
    positions: frozenset[str]


@dataclass(frozen=True)
class ByDevice:
    """True while a device is (or is not) in its other state: warm, energised, running, tripped, hot."""

    device: str
    other: bool


When = ByControl | ByDevice


# ---- devices: things with a state that the machine itself moves -------------------------------------------


@dataclass(frozen=True)
class Thermostat:
    """Other state (warm) at or above `trips` °C of its place; back at or below `returns`, unless held.

    `resets`: "itself", "by hand" or "never" (one-shot).
    """

    name: str
    part: str
    place: str
    trips: Value
    returns: Value
    resets: str = "itself"


@dataclass(frozen=True)
class Relay:
    """Other state (energised) when the volts across its coil reach `pulls`, back below `drops`."""

    name: str
    part: str
    coil: str
    pulls: float
    drops: float


@dataclass(frozen=True)
class Motor:
    """Other state (running) once started; `main` and `auxiliary` are elements, auxiliary "" where it starts alone.

    With an auxiliary winding it starts only when both carry current out of step (torque measure at least
    `starts`, of rated), and stops when the volts on main fall below `stops` of rated. `rated` is in volts;
    `running` and `starting` are the amps of the main winding at work and locked (0: not given).
    """

    name: str
    part: str
    main: str
    auxiliary: str
    rated: float
    starts: float = 0.25
    stops: float = 0.5
    running: float = 0.0
    starting: float = 0.0


@dataclass(frozen=True)
class Overcurrent:
    """Other state (tripped) when the amps through `element` exceed `amps`; stays so. Slow ones act last."""

    name: str
    part: str
    element: str
    amps: float
    seconds: float
    resets: str = "by hand"


@dataclass(frozen=True)
class SelfHeating:
    """Other state (hot) when the amps through `element` exceed `amps`; a starter that takes itself out."""

    name: str
    part: str
    element: str
    amps: float
    seconds: float


Device = Thermostat | Relay | Motor | Overcurrent | SelfHeating


# ---- elements: the closed set of electrical primitives ----------------------------------------------------


@dataclass(frozen=True)
class Contact:
    """Joins its ends by `ohms` while every `when` holds; no `when`: always closed (a link, a fuse, a strap)."""

    name: str
    part: str
    ends: tuple[str, str]
    ohms: Value
    when: tuple[When, ...] = ()


@dataclass(frozen=True)
class Impedance:
    """A load: `ohms` to a meter; under power `ohms * live`, or `ohms * other_live` in a device's other state.

    `live` is complex (reactance of a coil that the meter does not see), relative to ohms. `rated`: the volts that its
    part is made for; 0 where none are given.
    """

    name: str
    part: str
    ends: tuple[str, str]
    ohms: Value
    live: complex = 1.0
    device: str = ""
    other_live: complex = 1.0
    load: bool = True
    rated: float = 0.0


@dataclass(frozen=True)
class Winding:
    """A winding of a single-phase motor, coupled to its sister through the rotor; `ohms` to a meter."""

    name: str
    part: str
    ends: tuple[str, str]
    ohms: Value
    motor: str
    role: str  # "main" or "auxiliary"
    turns: float = 1.0
    load: bool = True


@dataclass(frozen=True)
class Capacitor:
    """`farads`; open to a meter's ohms once it is charged."""

    name: str
    part: str
    ends: tuple[str, str]
    farads: Value


@dataclass(frozen=True)
class Sensor:
    """A resistance that follows the temperature of its place along `curve` ((°C, ohm), ...), rising in °C."""

    name: str
    part: str
    ends: tuple[str, str]
    place: str
    curve: tuple[tuple[float, float], ...]
    relative: float = 0.03


@dataclass(frozen=True)
class Source:
    """Drives `volts` (rms, at `degrees`) from its first to its second end, behind `impedance`."""

    name: str
    part: str
    ends: tuple[str, str]
    volts: Value
    degrees: float
    impedance: complex


Element = Contact | Impedance | Winding | Capacitor | Sensor | Source
