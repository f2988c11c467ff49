"""When each device wants to change state, given what the network does to it; vectorised over faults.

Knows thresholds and delays; solves nothing. The shortest delay acts first (a contact before a relay before a
motor before a bimetal): simultaneous changes would invent oscillation.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from halfsplit.circuit import assembly, motor
from halfsplit.circuit.network import Array
from halfsplit.machine import model, primitives
from halfsplit.modes.warming import HOT_AIR

RELAY_SECONDS = 0.02
MOTOR_STARTS_SECONDS = 0.5
MOTOR_STOPS_SECONDS = 0.3
SLOW_SECONDS = 2.0
"""What takes longer than this is noticed by a person before it acts: a stalled motor hums."""

Wants = Callable[[bool, Array, Array], Array]


@dataclass(frozen=True)
class Moved:
    """An electrically moved device: `wants(other, v (F, n), i (F, m)) -> (F,) bool`, seconds to on and to off."""

    name: str
    wants: Wants
    seconds_on: float
    seconds_off: float


def moved_devices(built: assembly.Assembly) -> tuple[Moved, ...]:
    """The devices that the network moves, in the order of the file (thermostats are moved by warmth)."""
    made = (_moved(built, device) for device in built.machine.devices.values())
    return tuple(device for device in made if device is not None)


def _moved(built: assembly.Assembly, device: primitives.Device) -> Moved | None:
    match device:
        case primitives.Relay():
            return _relay(built, device)
        case primitives.Motor():
            wants = _two_winding_motor(built, device) if device.auxiliary else _plain_motor(built, device)
            return Moved(device.name, wants, MOTOR_STARTS_SECONDS, MOTOR_STOPS_SECONDS)
        case primitives.Overcurrent() | primitives.SelfHeating():
            return _by_current(built, device)
    return None


def _across(built: assembly.Assembly, element: str) -> Callable[[Array], Array]:
    k = built.branches[element]
    a, b = int(built.tail[k]), int(built.head[k])

    def volts(v: Array) -> Array:
        return np.asarray(np.abs(v[:, a] - v[:, b]))

    return volts


def _relay(built: assembly.Assembly, device: primitives.Relay) -> Moved:
    volts = _across(built, device.coil)
    k = built.branches[device.coil]

    def wants(other: bool, v: Array, i: Array) -> Array:
        fed = np.abs(i[:, k]) > 1e-9  # an open coil pulls nothing, whatever lies across it
        return fed & (volts(v) >= (device.drops if other else device.pulls))

    return Moved(device.name, wants, RELAY_SECONDS, RELAY_SECONDS)


def _plain_motor(built: assembly.Assembly, device: primitives.Motor) -> Wants:
    volts, k = _across(built, device.main), built.branches[device.main]

    def wants(other: bool, v: Array, i: Array) -> Array:
        return (np.abs(i[:, k]) > 1e-6) & (volts(v) >= device.stops * device.rated)

    return wants


def _two_winding_motor(built: assembly.Assembly, device: primitives.Motor) -> Wants:
    volts = _across(built, device.main)
    m, a = built.branches[device.main], built.branches[device.auxiliary]
    rated_torque = _rated_torque(built, device)

    def wants(other: bool, v: Array, i: Array) -> Array:
        if other:
            return (np.abs(i[:, m]) > 1e-6) & (volts(v) >= device.stops * device.rated)
        return np.asarray(np.abs(np.imag(i[:, a] * np.conj(i[:, m]))) >= device.starts * rated_torque)

    return wants


def _rated_torque(built: assembly.Assembly, device: primitives.Motor) -> float:
    """|I main| |I auxiliary| sin of the angle between, both at rated volts and standstill."""
    main, auxiliary = built.machine.elements[device.main], built.machine.elements[device.auxiliary]
    assert isinstance(main, primitives.Winding)
    assert isinstance(auxiliary, primitives.Winding)
    data = motor.fitted(main.ohms.nominal, auxiliary.ohms.nominal, auxiliary.turns, device.rated, device.starting)
    z = motor.matrix(data, 1.0)
    i_main, i_auxiliary = device.rated / z[0, 0], device.rated / z[1, 1]
    return float(abs(np.imag(i_auxiliary * np.conj(i_main))))


def _by_current(built: assembly.Assembly, device: primitives.Overcurrent | primitives.SelfHeating) -> Moved:
    k = built.branches[device.element]

    def wants(other: bool, v: Array, i: Array) -> Array:
        if other:
            return np.ones(len(i), bool)  # a tripped one stays; a starter stays hot
        return np.abs(i[:, k]) > device.amps

    return Moved(device.name, wants, device.seconds, device.seconds)


def by_warmth(
    machine: model.Machine, warmth: str, other: frozenset[str], shifts: Mapping[str, float], warmed: str = ""
) -> frozenset[str]:
    """The devices in their other state after the places have this warmth, thermostats shifted by kelvin; hot air is
    blown at the part `warmed`, wherever it is."""
    now = set(other)
    for device in machine.devices.values():
        if isinstance(device, primitives.Thermostat):
            celsius = HOT_AIR if device.part == warmed else machine.places[device.place].get(warmth)
            if celsius is not None:
                _move_thermostat(device, celsius - shifts.get(device.name, 0.0), now)
    return frozenset(now)


def _move_thermostat(device: primitives.Thermostat, celsius: float, now: set[str]) -> None:
    if celsius >= device.trips.nominal:
        now.add(device.name)
    elif celsius <= device.returns.nominal and device.resets == "itself":
        now.discard(device.name)


def kept_without_power(machine: model.Machine, other: frozenset[str]) -> frozenset[str]:
    """The devices that stay in their other state once isolated: warm thermostats, and what trips and stays so."""
    kept = {
        d.name
        for d in machine.devices.values()
        if isinstance(d, primitives.Thermostat) or (isinstance(d, primitives.Overcurrent) and d.resets != "itself")
    }
    return other & kept


def hums(built: assembly.Assembly, device: primitives.Motor, v: Array, i: Array) -> Array:
    """(F,) True where a motor at rest is fed enough to be heard."""
    k = built.branches[device.main]
    return (np.abs(i[:, k]) > 1e-3) & (_across(built, device.main)(v) >= 0.3 * device.rated)
