"""The devices of one part: what in it has a state of its own. Knows one part's type and values."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from halfsplit.machine.expand import templates
from halfsplit.machine.expand.values import Values
from halfsplit.machine.part_types import (
    MotorSpec,
    OvercurrentSpec,
    PartType,
    RelaySpec,
    SelfHeatingSpec,
    ThermostatSpec,
    WindingSpec,
)
from halfsplit.machine.primitives import Device, Motor, Overcurrent, Relay, SelfHeating, Thermostat

__all__ = ["devices_of"]


def devices_of(part: str, spec: PartType, values: Values) -> Iterator[Device]:
    """The devices of a part, in the order of its type."""
    for name, device in spec.devices.items():
        yield _MAKERS[type(device)](part, name, device, spec, values)


def _thermostat(part: str, name: str, device: ThermostatSpec, spec: PartType, values: Values) -> Thermostat:
    trips, returns = (templates.amount(text, "°C", values) for text in (device.trips, device.returns))
    return Thermostat(f"{part}.{name}", part, templates.name(device.place, values), trips, returns, device.resets)


def _relay(part: str, name: str, device: RelaySpec, spec: PartType, values: Values) -> Relay:
    pulls, drops = (templates.number(text, "V", values) for text in (device.pulls, device.drops))
    return Relay(f"{part}.{name}", part, f"{part}.{device.coil}", pulls, drops)


def _motor(part: str, name: str, device: MotorSpec, spec: PartType, values: Values) -> Motor:
    return Motor(
        f"{part}.{name}",
        part,
        main=f"{part}.{device.main}",
        auxiliary=f"{part}.{device.auxiliary}" if device.auxiliary else "",
        rated=templates.number(device.rated, "V", values),
        starts=templates.number(device.starts, "number", values),
        stops=templates.number(device.stops, "number", values),
        running=_amps(name, "running", device, spec, values),
        starting=_amps(name, "starting", device, spec, values),
    )


def _amps(name: str, which: str, device: MotorSpec, spec: PartType, values: Values) -> float:
    """Amps of a motor: given with the motor, or with one of its windings; 0 if nowhere."""
    windings = [e for e in spec.elements.values() if isinstance(e, WindingSpec) and e.motor == name]
    for holder in (device, *windings):
        template = getattr(holder, which)
        if template is not None:
            return templates.number(template, "A", values)
    return 0.0


def _overcurrent(part: str, name: str, device: OvercurrentSpec, spec: PartType, values: Values) -> Overcurrent:
    amps, seconds = templates.number(device.amps, "A", values), templates.number(device.seconds, "number", values)
    return Overcurrent(f"{part}.{name}", part, f"{part}.{device.element}", amps, seconds, device.resets)


def _self_heating(part: str, name: str, device: SelfHeatingSpec, spec: PartType, values: Values) -> SelfHeating:
    amps, seconds = templates.number(device.amps, "A", values), templates.number(device.seconds, "number", values)
    return SelfHeating(f"{part}.{name}", part, f"{part}.{device.element}", amps, seconds)


_MAKERS: dict[type, Callable[[str, str, Any, PartType, Values], Device]] = {
    ThermostatSpec: _thermostat,
    RelaySpec: _relay,
    MotorSpec: _motor,
    OvercurrentSpec: _overcurrent,
    SelfHeatingSpec: _self_heating,
}
