"""Twins exchanged as the predictor tells it, against the machine really rewired: the independent judge.

The judge swaps the wires of the two parts terminal by terminal in the machine, assembles it anew, and puts the very
fault into it: a fault of a twin goes with the twin, all else stays at its place.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from halfsplit.circuit import spice
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading, model, twins
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition
from halfsplit.operate.effect import HEALTHY, Effect, edits, effect
from halfsplit.operate.settle import Operation
from halfsplit.predict import symptoms
from halfsplit.predict.candidates import pair as pair_of
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe, Readings
from tests.depth import some
from tests.library import sweep

SETTINGS = {
    "coil-cooktop": ("all high", "all low for a while"),
    "tank": ("tank cold", "top is hot"),
    "two relays": ("both", "none"),
}
"""The tank is a water heater whose elements plug in: twins with wires of their own, joints and all, in two bays. Two
relays plug in beside each other, each with a coil that moves its own contact."""


@cache
def bench(name: str) -> Bench:
    """The bench of a machine."""
    if name in library.names():
        return Bench(loading.load(name))
    if name == "two relays":
        return Bench(loading.load(str(Path(__file__).parent / "two-relays.yaml")))
    plugged = library.text("water-heater").replace("    ohms: 12.8 ohm", "    lifts out: 1 min\n    ohms: 12.8 ohm")
    return Bench(loading.load_text(plugged, name))


def pairs() -> list[tuple[str, tuple[str, str]]]:
    """Every two twins of the machines."""
    return [(name, pair) for name in SETTINGS for pair in twins.twins(bench(name).machine)]


def rewired(machine: model.Machine, a: str, b: str) -> model.Machine:
    """Written down once more, plainly: every wire and every contact of another part that ends at a twin's terminal."""
    other = {f"{x}.{t}": f"{y}.{t}" for x, y in ((a, b), (b, a)) for t in machine.parts[x].terminals}

    def moved(ends: tuple[str, str]) -> tuple[str, str]:
        return other.get(ends[0], ends[0]), other.get(ends[1], ends[1])

    elements = {
        name: element if element.part in (a, b) else replace(element, ends=moved(element.ends))
        for name, element in machine.elements.items()
    }
    return replace(machine, elements=elements, wires=tuple(replace(w, ends=moved(w.ends)) for w in machine.wires))


class Judge:
    """One machine with two parts really exchanged, and every variant's own effect in it."""

    def __init__(self, name: str, pair: tuple[str, str]) -> None:
        self.bench = bench(name)
        machine, (a, b) = self.bench.machine, pair
        self.operation = Operation(rewired(machine, a, b))
        self.readings = Readings(self.operation)
        self.other = {f"{x}.{t}": f"{y}.{t}" for x, y in ((a, b), (b, a)) for t in machine.parts[x].terminals}
        self.own = {name for part in pair for name in (part, *(m.name for m in machine.parts[part].modes))}
        self.pair = pair
        self.effects = (HEALTHY, *self._effects())

    def _effects(self) -> list[Effect]:
        made = []
        for fault in self.bench.faults:
            for _, changes in fault.alternatives:
                goes_with = fault.subject in self.pair and fault.mode in self.own
                stands = [change if goes_with else self._stays(change) for change in changes]
                made.append(HEALTHY if fault.owner_only else effect(self.operation.assembly, stands))
        return made

    def _stays(self, change: model.Change) -> model.Change:
        joint = "joint " if change.what.startswith("joint ") else ""
        what = change.what.removeprefix(joint)
        return replace(change, what=joint + self.other.get(what, what), to=self.other.get(change.to, change.to))

    def reads(self, probe: Probe, at: Condition) -> np.ndarray:
        """(S,) what the meter shows at these places."""
        there = Probe(probe.meter, self.other.get(probe.red, probe.red), self.other.get(probe.black, probe.black))
        return np.asarray(self.readings.read(there, at, self.effects).value)

    def shows(self, what: str, at: Condition) -> np.ndarray:
        """(S,) how surely the symptom is there at its place."""
        symptom = self.bench.machine.symptoms[what]
        elements = {e.name: e.part for e in self.bench.machine.elements.values()}
        of = tuple(self._there(name, elements) for name in symptom.of)
        found = np.zeros(len(self.effects))
        for herd in self.readings.herds(at, self.effects):
            found[herd.members] = symptoms.shows(self.operation, replace(symptom, of=of), herd, self.effects)
        return found

    def _there(self, name: str, elements: dict[str, str]) -> str:
        part = elements.get(name, "")
        if part not in self.pair:
            return name
        return name.replace(part, self.pair[1 - self.pair.index(part)], 1)


def _same(one: np.ndarray, other: np.ndarray) -> bool:
    over = np.isinf(one) & np.isinf(other)
    return bool(np.allclose(np.where(over, 0, one), np.where(over, 0, other), rtol=1e-6, atol=1e-6))


@pytest.mark.parametrize(("name", "pair"), pairs())
def test_every_terminal_reads_as_on_the_machine_rewired(name: str, pair: tuple[str, str]) -> None:
    """Under every single fault, volts of the terminals against the earth and ohms against the frame are the same."""
    judge, known = Judge(name, pair), bench(name)
    machine = known.machine
    own = some([t for t in machine.terminals if not t.partition(".")[2].startswith("~")], 9)
    for setting in SETTINGS[name]:
        live = conditions.condition(machine, machine.settings[setting], exchange=pair)
        dead = replace(live, isolated=True)
        for at, meter, black in ((live, "volts", machine.supply.earth), (dead, "ohms", machine.supply.meets[0])):
            for terminal in (t for t in own if t != black):
                probe = Probe(meter, terminal, black)
                told = known.predictor.reading(probe, at).value
                assert _same(told, judge.reads(probe, at.own)), f"{terminal}, {setting}, {meter}"


@pytest.mark.parametrize(("name", "pair"), pairs())
def test_every_symptom_shows_as_on_the_machine_rewired(name: str, pair: tuple[str, str]) -> None:
    """Under every single fault, in the settings in which it is met."""
    judge, known = Judge(name, pair), bench(name)
    machine = known.machine
    usual = dict(conditions.usual(machine).setting)
    for what, symptom in machine.symptoms.items():
        at = conditions.condition(machine, usual | dict(symptom.setting), exchange=pair)
        told = known.predictor.symptom(what, at, by_owner=False)
        there = judge.shows(what, at.own)
        wrong = 0.002 if what == "breaker trips" else 0.015  # its handle has moved: hardly anybody is mistaken
        assert np.allclose(told, wrong + (1 - 2 * wrong) * there, atol=1e-9), what


@pytest.mark.parametrize(("name", "pair"), pairs())
def test_the_judge_can_say_no(name: str, pair: tuple[str, str]) -> None:
    """The machine with each part in its own place shows something else under some fault of a twin: no empty judge."""
    judge, known = Judge(name, pair), bench(name)
    machine = known.machine
    usual = conditions.usual(machine)
    apart = [
        what for what in machine.symptoms
        if not np.allclose(known.predictor.symptom(what, usual, False), 0.015 + 0.97 * judge.shows(what, usual))
    ]  # fmt: skip
    assert apart


def test_values_within_tolerance_go_with_the_part() -> None:
    """How far a reading moves with each twin's own ohms is how far the rewired machine's moves."""
    name, pair = "coil-cooktop", ("left front burner", "right rear burner")
    judge, known = Judge(name, pair), bench(name)
    at = conditions.condition(known.machine, isolated=True, exchange=pair)
    probe = Probe("ohms", "left front receptacle.1", "left front receptacle.2")
    told = known.predictor.reading(probe, at).jacobian
    there = judge.readings.read(probe, at.own, judge.effects).jacobian
    assert np.allclose(told, there, atol=1e-6)
    moved = known.predictor.readings.unknowns.names[int(np.abs(told[0]).argmax())]
    assert moved == "right rear burner.$ohms"


@pytest.mark.parametrize(("name", "pair"), pairs())
def test_two_faults_at_once_read_as_on_the_machine_rewired(name: str, pair: tuple[str, str]) -> None:
    """A fault of a twin together with one that stays, and with one of the other twin."""
    judge, known = Judge(name, pair), bench(name)
    machine, singles = known.machine, known.singles
    row = {v.faults[0]: s for s, v in reversed(list(enumerate(singles.variants))) if v.faults}
    own = [[i for i, fault in enumerate(known.faults) if fault.subject == twin] for twin in pair]
    stays = [i for i, fault in enumerate(known.faults) if fault.subject not in pair and not fault.owner_only][::9]
    two = [(row[own[0][0]], row[i]) for i in (*stays, *own[1])] + [(row[own[1][1]], row[i]) for i in stays]
    also = singles.also(pair_of(singles.variants[a], singles.variants[b]) for a, b in two)
    predictor = Predictor(known.predictor.operation, also, base=known.predictor)
    effects = [judge.effects[a].with_(judge.effects[b]) for a, b in two]
    at = conditions.condition(machine, machine.settings[SETTINGS[name][0]], exchange=pair)
    for terminal in (f"{twin}.{end}" for twin in pair for end in machine.parts[twin].terminals):
        probe = Probe("volts", terminal, machine.supply.earth)
        there = Probe("volts", judge.other[terminal], machine.supply.earth)
        told = predictor.reading(probe, at).value[len(singles.variants) :]
        assert _same(told, judge.readings.read(there, at.own, effects).value), terminal


def test_lifted_wires_stay_at_the_place() -> None:
    """With a place's wires off, the part that stands there reads alone."""
    (pair,) = twins.twins(bench("tank").machine)
    judge, known = Judge("tank", pair), bench("tank")
    at = conditions.condition(known.machine, isolated=True, lift=["upper element.1"], exchange=pair)
    told = known.predictor.reading(Probe("ohms", "upper element.1", "upper element.2"), at).value
    there = replace(at.own, lift=("lower element.1",))
    assert _same(told, judge.reads(Probe("ohms", "upper element.1", "upper element.2"), there))


@pytest.mark.parametrize("pair", twins.twins(loading.load("coil-cooktop")))
def test_volts_agree_with_the_circuit_simulator(pair: tuple[str, str], ngspice: str) -> None:
    """The rewired machine's networks solved by ngspice, all nodes, against what is told of the exchange.

    Every fault of the twins, and every eighth of the others.
    """
    known = bench("coil-cooktop")
    judged, machine = sweep.Library(rewired(known.machine, *pair)), known.machine
    at = conditions.condition(machine, machine.settings["all high"], exchange=pair)
    told = {m: herd.volts[row] for herd in known.predictor.herds(at) for row, m in enumerate(herd.members.tolist())}
    nodes = known.predictor.operation.assembly.nodes
    here = [nodes[_exchanged(name, pair)] for name in judged.names]
    cases = []
    for herd in judged.operation.settle(at.own, judged.effects):
        network = judged.built.under_power(herd.state)
        for member in herd.members.tolist():
            if member % 8 and not judged.fault(member).startswith(pair):
                continue
            made = edits(judged.effects[member].operations, network)
            deck = spice.deck(network, made, judged.names, machine.supply.hertz, "rewired")
            cases.append(sweep.Case(judged.fault(member), deck, told[member][here]))
    owner_only = {fault.name for fault in known.faults if fault.owner_only}
    cases = [case for case in cases if case.what not in owner_only]
    assert len(cases) > 50
    errors = judged.errors(cases)
    assert errors.max() < 1e-6, cases[int(errors.argmax())].what


def _exchanged(name: str, pair: tuple[str, str]) -> str:
    part, _, own = name.partition(".")
    return f"{pair[1 - pair.index(part)]}.{own}" if part in pair else name
