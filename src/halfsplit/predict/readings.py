"""What a meter would show between two terminals in a condition, under every variant, with its spread.

Knows settled herds, the meter, and the shared unknowns; not what was found. Readings are weighed as
x = asinh(value / scale), so that ohms from a milliohm to a megohm and volts from 0 to 240 share one measure.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from halfsplit.circuit import assembly, fast, sensitivity
from halfsplit.circuit import network as nw
from halfsplit.circuit.meter import Meter
from halfsplit.circuit.network import Array
from halfsplit.errors import WrongUse
from halfsplit.machine import model, primitives
from halfsplit.operate import networks
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.operate.effect import Effect
from halfsplit.operate.settle import Operation, Settled
from halfsplit.predict import holding, unknowns
from halfsplit.predict.moments import Index
from halfsplit.quantity import normal

SCALES = {"ohms": 0.3, "continuity": 0.3, "volts": 2.0, "low-impedance volts": 2.0, "amps": 0.1, "capacitance": 1e-7,
          "temperature": 5.0, "dc volts": 2.0}  # fmt: skip
"""Where a reading passes from absolute to relative weight: below it values count as nearly zero."""
TWO_PLACES = "Name the two places that it is read between."
"""The remedy where both leads are on one."""
DEAD_METERS = frozenset({"ohms", "continuity", "capacitance"})
"""Functions that are used on an isolated machine only."""
OWN_FLOOR = {"ohms": 0.08, "continuity": 0.08, "volts": 0.3, "low-impedance volts": 0.3, "amps": 0.05}
"""Deviation near zero: how two probes happen to touch, what wires and a clamp pick up; common practice, no source."""
MODEL_SPREAD = 0.01
"""Relative deviation of what the file leaves out (a heater's rise with temperature, cable lengths)."""
GHOST_SPREAD = 0.6
"""Deviation, in units of x, of what an open wire picks up."""
OVER_SPREAD = 0.3
"""Deviation of ln(ohms) within which over range is uncertain."""
Made: TypeAlias = tuple[Array, Array, Array]
HERDS_KEPT = 64
"""Conditions whose herds are kept; those of an isolated machine take no room."""


@dataclass(frozen=True)
class Probe:
    """A meter's function and where its leads go; amps clamps the wires at `red`, and `black` is ""."""

    meter: str
    red: str
    black: str = ""


@dataclass(frozen=True)
class Reading:
    """Per variant: value in SI (inf: over range), mean, Jacobian (S, T) and own noise in units of x, P(over)."""

    scale: float
    value: Array
    mean: Array
    jacobian: Array
    noise: Array
    over: Array

    @property
    def deviation(self) -> Array:
        """(S,) one standard deviation in units of x, shared unknowns included."""
        return np.asarray(np.sqrt((self.jacobian**2).sum(axis=1) + self.noise**2))

    def followed_by(self, more: Reading) -> Reading:
        """The same for further variants."""
        join = np.concatenate
        return Reading(
            self.scale,
            join([self.value, more.value]),
            join([self.mean, more.mean]),
            join([self.jacobian, more.jacobian]),
            join([self.noise, more.noise]),
            join([self.over, more.over]),
        )

    def taking(self, rows: Index) -> Reading:
        """The same for the variants of these rows, in that order."""
        each = (self.value, self.mean, self.jacobian, self.noise, self.over)
        return Reading(self.scale, *(array[rows] for array in each))


class Readings:
    """Predicts readings of one machine with one meter; keeps the herds of the conditions it has settled."""

    def __init__(self, operation: Operation, meter: Meter | None = None, herds_kept: int = HERDS_KEPT) -> None:
        """`herds_kept`: conditions whose herds are kept."""
        self.operation, self.herds_kept = operation, herds_kept
        self.built = operation.assembly
        self.meter = meter or Meter()
        self.unknowns = unknowns.unknowns(self.built)
        self._herds: OrderedDict[tuple[Condition, int], tuple[Sequence[Effect], list[Settled]]] = OrderedDict()

    def herds(self, condition: Condition, effects: Sequence[Effect]) -> list[Settled]:
        """The settled herds of a condition; kept while the same sequence of effects is asked for.

        The sequence is kept beside them: once let go, another could stand at its place in memory.
        """
        condition = condition.still
        key = (condition, id(effects))
        if key not in self._herds:
            self._herds[key] = effects, self.settled(condition, effects)
            while len(self._herds) > self.herds_kept:
                self._herds.popitem(last=False)
        self._herds.move_to_end(key)
        return self._herds[key][1]

    def settled(self, condition: Condition, effects: Sequence[Effect]) -> list[Settled]:
        """Settles a condition; where such work is remembered, it is looked up first."""
        return self.operation.settle(condition, effects)

    def read(self, probe: Probe, condition: Condition, effects: Sequence[Effect]) -> Reading:
        """What the meter shows under each effect."""
        return self.read_many([probe], condition, effects)[0]

    def read_many(self, probes: Sequence[Probe], condition: Condition, effects: Sequence[Effect]) -> list[Reading]:
        """The same for several places of the leads, the meter's function being the same for all: in one go."""
        size = (len(effects), len(probes))
        value, jacobian = np.zeros(size), np.zeros((*size, self.unknowns.count))
        floats = np.zeros(size, bool)
        for members, made in self._by_herd(probes, self.herds(condition, effects), effects):
            value[members], jacobian[members], floats[members] = made
        meter = probes[0].meter
        return [self._as_reading(meter, value[:, p], jacobian[:, p], floats[:, p]) for p in range(len(probes))]

    # ---- herd by herd: values (M, P) in SI, Jacobians (M, P, T), and where a lead floats (M, P) --------------

    def _by_herd(
        self, probes: Sequence[Probe], herds: Sequence[Settled], effects: Sequence[Effect]
    ) -> Iterator[tuple[Array, Made]]:
        """The members of herds with what is read under each."""
        if probes[0].meter in ("ohms", "continuity"):
            yield from self._ohms(probes, herds, effects)
        else:
            yield from ((herd.members, self._herd(probes, herd, effects)) for herd in herds)

    def _herd(self, probes: Sequence[Probe], herd: Settled, effects: Sequence[Effect]) -> Made:
        match probes[0].meter:
            case "amps":
                return self._amps(probes, herd, effects)
            case "temperature":
                return self._certain([self._celsius(probe, herd) for probe in probes], herd)
            case "capacitance":
                return self._capacitance(probes, herd, effects)
        return self._volts(probes, herd, effects)

    def _nodes(self, probes: Sequence[Probe]) -> Array:
        return np.array([[self.built.nodes[probe.red], self.built.nodes[probe.black]] for probe in probes])

    def ready(self, kind: networks.Kind, herd: Settled) -> networks.Ready:
        """The network of a herd, ready to be solved under its members' effects."""
        return self.operation.networks.ready(kind, herd.state, len(herd.members))

    def _ohms(
        self, probes: Sequence[Probe], herds: Sequence[Settled], effects: Sequence[Effect]
    ) -> Iterator[tuple[Array, Made]]:
        """Herds that borrow the same inverse are read in one go."""
        sharing: dict[int, list[tuple[networks.Ready, Settled]]] = {}
        for herd in herds:
            ready = self.ready("meter", herd)
            sharing.setdefault(id(ready.factored), []).append((ready, herd))
        for some in sharing.values():
            found = [(*ready.distinct([effects[m] for m in herd.members.tolist()]), ready) for ready, herd in some]
            starts = np.cumsum([0, *(len(made) for made, _, _ in found)])
            members = np.concatenate([herd.members for _, herd in some])
            which = np.concatenate([start + part for start, (_, part, _) in zip(starts, found, strict=False)])
            impedance = np.repeat([ready.network.impedance.real for *_, ready in found], np.diff(starts), axis=0)
            edits = [edit for made, _, _ in found for edit in made]
            yield members, self._ohms_of(some[0][0].factored, edits, impedance, which, self._nodes(probes))

    def _ohms_of(
        self, factored: fast.Factored, edits: Sequence[nw.Edits], impedance: Array, which: Array, pairs: Array
    ) -> Made:
        """Of edits (F) of one inverse, with the ohms (F, branches) of their networks; `which` (M,) each member has."""
        slopes = sensitivity.of_ohms(factored, edits, pairs)
        jacobian = np.asarray((slopes * impedance[:, None, :]) @ self.unknowns.relative.T)
        jacobian[:, :, self.unknowns.numbers["leads"]] = self.meter.lead_spread
        ohms = factored.resistances(edits, pairs) + self.meter.lead_ohms
        jacobian[:, :, self.unknowns.numbers["gain ohms"]] = self._gain("ohms", ohms)
        return ohms[which], jacobian[which], np.zeros((len(which), len(pairs)), bool)

    def _volts(self, probes: Sequence[Probe], herd: Settled, effects: Sequence[Effect]) -> Made:
        if not herd.volts.any():
            return self._dead(herd, probes)
        pairs = self._nodes(probes)
        ready = self.ready("power", herd)
        made, which = ready.distinct([effects[m] for m in herd.members.tolist()])
        across = np.zeros((len(made), len(probes)), complex)
        across[which] = herd.volts[:, pairs[:, 0]] - herd.volts[:, pairs[:, 1]]
        load = self._load(probes[0].meter, ready.factored.impedances(made, pairs))
        value = np.abs(across * load)
        slope = np.conj(across) / np.maximum(np.abs(across), 1e-9)
        moved = self._moved(ready, sensitivity.of_volts(ready.factored, made, pairs))
        jacobian = (slope[:, :, None] * moved).real * np.abs(load)[:, :, None]
        jacobian[:, :, self.unknowns.numbers["gain volts"]] = self._gain("volts", value)
        floats = self._floating(herd, pairs) & (self.meter.functions[probes[0].meter].input_ohms > 1e6)
        return value[which], jacobian[which], floats

    def _moved(self, ready: networks.Ready, slopes: sensitivity.Slopes) -> Array:
        """How far (F, P, T) the volts of the pairs move with each part's and each leg's standard deviation."""
        by_part = (slopes.impedance * ready.network.impedance) @ self.unknowns.relative.T
        by_line = (slopes.emf * ready.network.emf) @ self.unknowns.volts.T
        return np.asarray(by_part + by_line)

    def _dead(self, herd: Settled, probes: Sequence[Probe]) -> Made:
        return self._certain([np.zeros(len(herd.members))] * len(probes), herd)

    def _certain(self, values: Sequence[Array], herd: Settled) -> Made:
        """Values, each (M,), that no shared unknown moves."""
        size = (len(herd.members), len(values))
        return np.stack(values, axis=1), np.zeros((*size, self.unknowns.count)), np.zeros(size, bool)

    def _load(self, meter: str, source: Array) -> Array:
        """How far the meter's input ohms pull the open volts of sources of this impedance down."""
        input_ohms = self.meter.functions[meter].input_ohms
        return np.asarray(input_ohms / (input_ohms + source))

    def _floating(self, herd: Settled, pairs: Array) -> Array:
        """Where (M, P) a lead touches something that nothing ties down: it takes the loom's potential, 0."""
        near = 1e-5 * self.built.rated
        return np.asarray((np.abs(herd.volts[:, pairs]) < near).any(axis=2))

    def _amps(self, probes: Sequence[Probe], herd: Settled, effects: Sequence[Effect]) -> Made:
        """Amps through a joint move as the volts across it, which has no spread of its own."""
        if not herd.volts.any():
            return self._dead(herd, probes)
        k = np.array([self.built.branches[assembly.joint_at(probe.red)] for probe in probes])
        a, b = self.built.tail[k], self.built.head[k]
        ready = self.ready("power", herd)
        made, which = ready.distinct([effects[m] for m in herd.members.tolist()])
        amps, across = np.zeros((2, len(made), len(probes)), complex)
        amps[which], across[which] = herd.amps[:, k], herd.volts[:, a] - herd.volts[:, b]
        value = np.abs(amps)
        per_volt = np.where(across != 0, value / np.where(across != 0, across, 1.0), 0.0)
        moved = self._moved(ready, sensitivity.of_volts(ready.factored, made, np.stack([a, b], axis=1)))
        jacobian = (per_volt[:, :, None] * moved).real
        jacobian[:, :, self.unknowns.numbers["gain amps"]] = self._gain("amps", value)
        return value[which], jacobian[which], np.zeros((len(which), len(probes)), bool)

    def _celsius(self, probe: Probe, herd: Settled) -> Array:
        """The warmth (M,) of the place that a part at the probe feels."""
        machine = self.operation.machine
        if (wrong := holding.refusal(machine, probe.meter, probe.red)) is not None:
            raise WrongUse(*wrong)
        place = holding.place_felt(machine, model.part_of(probe.red))
        warmth = dict(herd.positions).get(WARMTH, machine.warmths[0])
        return np.full(len(herd.members), machine.places[place].get(warmth, 20.0))

    def _capacitance(self, probes: Sequence[Probe], herd: Settled, effects: Sequence[Effect]) -> Made:
        """Farads move with the tolerances of the capacitors between the leads."""
        own = [effects[member] for member in herd.members.tolist()]
        value = np.stack([self.farads(probe, own) for probe in probes], axis=1)
        deviation = np.array([self._deviation(probe) for probe in probes])
        return value, value[:, :, None] * deviation, np.zeros(value.shape, bool)

    def farads(self, probe: Probe, effects: Sequence[Effect]) -> Array:
        """Farads (M,) of the capacitors that lie between the leads, alone, under each effect; open none, shorted
        more than any meter shows."""
        caps = self._between(probe)
        found = np.full(len(effects), sum(cap.farads.nominal for cap in caps))
        for row, effect in enumerate(effects):
            for op in effect.operations:
                if any(self.built.branches[cap.name] == op.k for cap in caps):
                    found[row] *= _capacity(op.kind, op.amount)
        return found

    def _between(self, probe: Probe) -> list[primitives.Capacitor]:
        elements = self.operation.machine.elements.values()
        ends = {probe.red, probe.black}
        return [e for e in elements if isinstance(e, primitives.Capacitor) and set(e.ends) == ends]

    def _deviation(self, probe: Probe) -> Array:
        """(T,) relative change of what is between the leads per standard deviation of each unknown."""
        caps = self._between(probe)
        weights = np.array([cap.farads.nominal for cap in caps])
        each = self.unknowns.relative[:, [self.built.branches[cap.name] for cap in caps]]
        return np.asarray(each @ (weights / max(weights.sum(), 1e-30)))

    def _gain(self, function: str, value: Array) -> Array:
        percent = self.meter.functions[function].ranges[0].percent
        return np.asarray(np.where(np.isfinite(value), value, 0.0) * percent / 200)

    # ---- to units of x ------------------------------------------------------------------------------------

    def _as_reading(self, meter: str, value: Array, jacobian: Array, floats: Array) -> Reading:
        scale = SCALES[meter]
        top = self.meter.over(meter)
        over = normal.share_below(np.log(np.maximum(value, 1e-30) / top) / OVER_SPREAD)
        capped = np.minimum(value, top)
        per_unit = 1 / np.sqrt(capped**2 + scale**2)
        inside = value < 3 * top
        jacobian = np.where(inside[:, None], jacobian * per_unit[:, None], 0.0)
        noise = np.hypot(self._own_deviation(meter, capped) * per_unit, np.where(floats, GHOST_SPREAD, 0.0))
        shown = np.where(value > top, np.inf, value)
        return Reading(scale, shown, np.arcsinh(capped / scale), jacobian.astype(np.float32), noise, over)

    def _own_deviation(self, meter: str, value: Array) -> Array:
        once, which = np.unique(value, return_inverse=True)
        digits = np.array([self.meter.spread_parts(meter, v)[1] for v in once.tolist()])[which]
        wobble = OWN_FLOOR.get(meter, 0.0)
        return np.sqrt(digits**2 + wobble**2 + (MODEL_SPREAD * value) ** 2)


def _capacity(kind: str, amount: float) -> float:
    """What a change of a capacitor's branch makes of its farads; its impedance scales the other way."""
    if kind == "scale":
        return 1 / max(amount, 1e-9)
    return {"open": 0.0, "shut": 1e9}.get(kind, 1.0)
