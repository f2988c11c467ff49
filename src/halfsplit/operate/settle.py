"""Settles a machine in a condition, under every fault at once.

Faults that behave alike go together as a *herd*: same stage, same positions, same devices in their other state.
Each round solves the herd's network for all its members, lets each fire the one device with the shortest delay,
and parts the herd by what fired. A state met again within a stage is chatter: reported, not looped on.

Knows the circuit, the contacts and the devices; nothing of readings, symptoms or probabilities.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from halfsplit.circuit import assembly
from halfsplit.circuit.network import Array
from halfsplit.machine import model, primitives
from halfsplit.operate import condition as conditions
from halfsplit.operate import contacts, devices, networks
from halfsplit.operate.effect import Effect

RUNS_KEPT = 16
"""Sets of effects whose usual run is kept: the single faults, and what a job weighs beside them."""


@dataclass(frozen=True)
class Stage:
    """Controls moved to `positions`; then, where `warmth` is given, the places take that warmth."""

    positions: Mapping[str, str]
    warmth: str = ""


@dataclass(frozen=True)
class Settled:
    """One herd when all is still: its members (indices of effects), state, and what was noticed on the way.

    volts (members, nodes) and amps (members, branches) are phasors; for an isolated machine they are zero.
    """

    members: Array
    state: assembly.State
    other: frozenset[str]
    positions: Mapping[str, str]
    hummed: frozenset[str]
    chatters: frozenset[str]
    volts: Array
    amps: Array


@dataclass(frozen=True)
class _Herd:
    stage: int
    positions: Mapping[str, str]
    other: frozenset[str]
    members: Array
    visited: frozenset[frozenset[str]] = frozenset()
    hummed: frozenset[str] = frozenset()
    chatters: frozenset[str] = frozenset()


class Operation:
    """One machine at work; keeps the factored networks of the states it has met."""

    def __init__(self, machine: model.Machine) -> None:
        self.machine = machine
        self.assembly = assembly.Assembly(machine)
        self.moved = devices.moved_devices(self.assembly)
        self.motors = [d for d in machine.devices.values() if isinstance(d, primitives.Motor)]
        self.networks = networks.Networks(self.assembly)
        self._runs: OrderedDict[int, tuple[tuple[Effect, ...], list[Settled]]] = OrderedDict()

    # ---- settling -----------------------------------------------------------------------------------------

    def last_run(self, effects: tuple[Effect, ...]) -> list[Settled]:
        """The usual run of the machine under these effects; kept for the last few that were asked for."""
        if id(effects) not in self._runs:
            self.ran(effects, self.settle(conditions.usual(self.machine), effects))
        self._runs.move_to_end(id(effects))
        return self._runs[id(effects)][1]

    def ran(self, effects: tuple[Effect, ...], herds: list[Settled]) -> None:
        """Takes these herds as the usual run under these effects: where it is known already. They stand beside it:
        once let go, others could stand at their place in memory."""
        self._runs[id(effects)] = effects, herds
        while len(self._runs) > RUNS_KEPT:
            self._runs.popitem(last=False)

    def settle(self, condition: conditions.Condition, effects: Sequence[Effect]) -> list[Settled]:
        """The herds that the effects part into, together holding every index of `effects` once."""
        return list(_Run(self, condition, tuple(effects)).settled())


class _Run:
    """One call of `settle`: the stages of a condition, and the herds still on their way."""

    def __init__(self, operation: Operation, condition: conditions.Condition, effects: tuple[Effect, ...]) -> None:
        self.operation, self.condition, self.effects = operation, condition, effects
        self.machine = operation.machine
        self.lifted = frozenset(condition.lift)
        self.stages = stages(self.machine, condition)

    def settled(self) -> Iterator[Settled]:
        waiting = [herd for group, other in self._before() for herd in self._enter(0, group, other, {})]
        while waiting:
            herd = waiting.pop()
            if self.condition.isolated:
                yield self._still(herd)
                continue
            volts, amps = self._solve(herd)
            for flip, rows in _parted(self._first_flip(herd, volts, amps)):
                yield from self._step(herd, flip, rows, volts, amps, waiting)

    def _before(self) -> list[tuple[Array, frozenset[str]]]:
        """What tripped and stayed so when the machine was last run as it usually is, before it was isolated."""
        if not self.condition.isolated:
            return [(np.arange(len(self.effects)), frozenset())]
        run = self.operation.last_run(self.effects)
        return [(h.members, devices.kept_without_power(self.machine, h.other)) for h in run]

    def _step(
        self, herd: _Herd, flip: int, rows: Array, volts: Array, amps: Array, waiting: list[_Herd]
    ) -> Iterator[Settled]:
        herd = replace(herd, members=herd.members[rows])
        volts, amps = volts[rows], amps[rows]
        seconds = self._seconds(herd, flip)
        for heard, part in self._by_hum(herd, volts, amps, seconds):
            here = replace(herd, members=herd.members[part], hummed=herd.hummed | heard)
            yield from self._after(here, flip, volts[part], amps[part], waiting)

    def _after(self, herd: _Herd, flip: int, volts: Array, amps: Array, waiting: list[_Herd]) -> Iterator[Settled]:
        if flip >= 0:
            name = self.operation.moved[flip].name
            other = herd.other ^ {name}
            if other not in herd.visited:
                waiting.append(replace(herd, other=other, visited=herd.visited | {herd.other}))
                return
            herd = replace(herd, chatters=herd.chatters | {name})
        if herd.stage + 1 < len(self.stages):
            waiting += self._enter(herd.stage + 1, herd.members, herd.other, herd.positions, herd)
        else:
            yield self._still(herd, volts, amps)

    def _enter(
        self,
        stage: int,
        members: Array,
        other: frozenset[str],
        positions: Mapping[str, str],
        before: _Herd | None = None,
    ) -> Iterator[_Herd]:
        """The herds into which members part by where their contacts stand and what the warmth does to them."""
        now = {**positions, **self.stages[stage].positions}
        if self.stages[stage].warmth:
            now[conditions.WARMTH] = self.stages[stage].warmth
        groups: dict[tuple[tuple[tuple[str, str], ...], frozenset[str]], list[int]] = {}
        for member in members.tolist():
            effect = self.effects[member]
            stand = contacts.as_the_contacts_stand(self.machine, now, effect.stands, effect.failed)
            state = self._warmed(stage, other, effect)
            groups.setdefault((tuple(stand.items()), state), []).append(member)
        heard = (before.hummed, before.chatters) if before else (frozenset(), frozenset())
        for (stand_items, state), group in groups.items():
            yield _Herd(stage, dict(stand_items), state, np.array(group), frozenset(), *heard)

    def _warmed(self, stage: int, other: frozenset[str], effect: Effect) -> frozenset[str]:
        """What the warmth of a stage does, and on a machine that is isolated hot air."""
        warmth, warmed = self.stages[stage].warmth, self.condition.warmed if self.condition.isolated else ""
        return devices.by_warmth(self.machine, warmth, other, effect.shifts, warmed) if warmth or warmed else other

    def _state(self, herd: _Herd) -> assembly.State:
        closed = contacts.closed_contacts(self.machine, herd.positions, herd.other)
        warmth = next((s.warmth for s in reversed(self.stages[: herd.stage + 1]) if s.warmth), "")
        return assembly.State(closed, self._felt(herd.other), self.lifted, self._sensed(warmth))

    def _felt(self, other: frozenset[str]) -> frozenset[str]:
        """Only devices that change an impedance belong in a network's state; contacts carry the rest."""
        return other & self._impedance_devices()

    def _impedance_devices(self) -> frozenset[str]:
        motors = {m.name for m in self.operation.motors if m.auxiliary}
        named = {e.device for e in self.machine.elements.values() if isinstance(e, primitives.Impedance) and e.device}
        return frozenset(motors | named)

    def _sensed(self, warmth: str) -> str:
        senses = any(isinstance(e, primitives.Sensor) for e in self.machine.elements.values())
        return warmth if senses else ""

    def _solve(self, herd: _Herd) -> tuple[Array, Array]:
        ready = self.operation.networks.ready("power", self._state(herd), len(herd.members))
        return ready.solve([self.effects[m] for m in herd.members.tolist()])

    def _first_flip(self, herd: _Herd, volts: Array, amps: Array) -> Array:
        """(members,) index of the moved device that fires first, -1 where all is still."""
        best = np.full(len(herd.members), -1)
        soonest = np.full(len(herd.members), np.inf)
        for index, device in enumerate(self.operation.moved):
            other = device.name in herd.other
            changes = device.wants(other, volts, amps) != other
            if not other:
                changes &= ~self._halted(herd, device.name)
            seconds = device.seconds_off if other else device.seconds_on
            sooner = changes & (seconds < soonest)
            best[sooner], soonest[sooner] = index, seconds
        return best

    def _halted(self, herd: _Herd, name: str) -> Array:
        return np.array([name in self.effects[m].halted for m in herd.members.tolist()], bool)

    def _seconds(self, herd: _Herd, flip: int) -> float:
        if flip < 0:
            return np.inf
        device = self.operation.moved[flip]
        return device.seconds_off if device.name in herd.other else device.seconds_on

    def _by_hum(self, herd: _Herd, volts: Array, amps: Array, seconds: float) -> Iterator[tuple[frozenset[str], Array]]:
        """Members by the motors that a person hears humming now."""
        everyone = np.arange(len(herd.members))
        resting = [m for m in self.operation.motors if m.name not in herd.other]
        if seconds < devices.SLOW_SECONDS or not resting:
            yield frozenset(), everyone
            return
        heard = np.array([devices.hums(self.operation.assembly, m, volts, amps) for m in resting])
        for pattern in {tuple(column) for column in heard.T.tolist()}:
            names = frozenset(m.name for m, h in zip(resting, pattern, strict=True) if h)
            yield names, np.flatnonzero((np.array(pattern) == heard.T).all(1))

    def _still(self, herd: _Herd, volts: Array | None = None, amps: Array | None = None) -> Settled:
        state = self._state(herd)
        if volts is None or amps is None:
            built = self.operation.assembly
            nothing = np.zeros(1, complex)  # shared, however many members
            volts = np.broadcast_to(nothing, (len(herd.members), len(built.nodes)))
            amps = np.broadcast_to(nothing, (len(herd.members), len(built.tail)))
        return Settled(herd.members, state, herd.other, herd.positions, herd.hummed, herd.chatters, volts, amps)


def _parted(flips: Array) -> Iterator[tuple[int, Array]]:
    for flip in np.unique(flips).tolist():
        yield flip, np.flatnonzero(flips == flip)


def stages(machine: model.Machine, condition: conditions.Condition) -> list[Stage]:
    """How a hand brings the machine from rest into a condition.

    Under power: controls set; momentary ones held; those that are pressed let go again; then it warms. An isolated
    machine has nothing to go through: its controls stand as given, and the feed is off.
    """
    coldest = machine.warmths[0] if machine.warmths else ""
    setting = dict(condition.setting)
    warmth = setting.pop(conditions.WARMTH, coldest)
    momentary = {name for name, control in machine.controls.items() if control.momentary}
    kept = {name: setting[name] if setting[name] != "pressed" else "untouched" for name in momentary}
    if condition.isolated:
        return [Stage(setting | kept | dict(machine.supply.isolates), warmth)]
    pushed = {name: "held" for name in momentary if setting[name] != "untouched"}
    found = [Stage(setting | dict.fromkeys(momentary, "untouched"), coldest)]
    if pushed:
        found += [Stage(pushed)]
        found += [Stage(kept)] if any(setting[name] == "pressed" for name in pushed) else []
    if warmth != coldest:
        found += [Stage({}, warmth)]
    return found
