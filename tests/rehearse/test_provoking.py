"""What comes and goes is provoked: shaken, heated or turned with the machine dead and the meter clipped on, or loaded
by the running machine."""

from __future__ import annotations

import numpy as np
import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import finding as f
from halfsplit.machine import model, part_types
from halfsplit.machine.handwork import Handwork
from halfsplit.modes import listing
from halfsplit.modes.fault import LOAD_SUPPLY
from halfsplit.operate.condition import condition
from halfsplit.plan import safely, steps, taken, under_load
from halfsplit.predict.candidates import PROVOKED
from halfsplit.predict.readings import Probe
from halfsplit.rehearse.truth import Truth
from halfsplit.service.wording import sentence
from halfsplit.work import minutes
from halfsplit.work.hazards import Kind
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, bench

each_machine = pytest.mark.parametrize("name", NAMES)
LOOSE = "joint motor.line: loose"
DEAD_SPOT = "motor: start contact open where it stopped"
WEAK_POLE = "breaker: pole L1 gives way under load"


def test_every_mode_that_comes_and_goes_says_what_brings_it_out() -> None:
    """In the table of part types none is left that nothing is known of."""
    for name, kind in part_types.table().items():
        for mode, spec in kind.modes.items():
            assert (spec.acting < 1) == bool(spec.provoked_by), (name, mode)


@each_machine
def test_each_fault_that_comes_and_goes_is_brought_out_by_some_step(name: str) -> None:
    """Shaking the part, its wires, or all in its bay; heating the part; loading the supply: steps are there for it. But
    for hot air in water or where sparks are feared: what only that would bring out, nothing does."""
    machine = bench(name).machine
    house = {part.name for part in machine.parts.values() if part.house}
    dead, live = steps.provoking_steps(bench(name).machine), under_load.steps_of(bench(name).predictor)
    offered = {step.condition.provoke for step in (*dead, *live) if step.condition}
    assert LOAD_SUPPLY in offered
    no_air = set(machine.water.parts if machine.water else ())
    no_air |= {p.name for p in machine.parts.values() if "sparks" in str(machine.bays.get(p.bay))}
    only_air = {
        f"{part.name}: {mode.name}"
        for part in machine.parts.values() for mode in part.modes if mode.provoked == ("heat",) and part.name in no_air
    }  # fmt: skip
    for fault in bench(name).faults:
        assert (fault.acting < 1 and fault.name not in only_air) == bool(fault.provoked), fault.name
        subject = fault.subject.removeprefix("joint ").removeprefix("wire ")
        ends = {model.part_of(end) for end in subject.split(" to ")}
        assert not fault.provoked or ends & house or set(fault.provoked) & offered, fault.name
        assert LOAD_SUPPLY in fault.provoked or fault.subject not in house or not fault.provoked, fault.name


@each_machine
def test_nothing_is_shaken_heated_or_turned_under_power(name: str) -> None:
    """Every provoking step is ohms on an isolated machine: PROVOKE behind a cover to the automaton, OHMS outside."""
    machine = bench(name).machine
    found = list(steps.provoking_steps(machine))
    for step in found:
        assert step.condition is not None
        assert step.condition.isolated
        assert safely.kind_of(step, True) is Kind.PROVOKE
    for step in found[:: max(len(found) // 12, 1)]:
        before = JobState()
        done = safely.prepared(machine, safely.begin(machine), before, taken.after(machine, before, step), step)
        kinds = [doing.kind for doing in done.doings]
        inside = bool(steps.bays_needed(machine, step))
        assert kinds[-1] is (Kind.PROVOKE if inside else Kind.OHMS)
        assert Kind.ENERGISE not in kinds
        assert not inside or kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.CLIP) < len(kinds) - 1


def _weighed_odds(provoke: str) -> float:
    """How far one steady reading along a wire of the motor lowers the odds of its loose joint against the motor."""
    told: list[f.Finding] = [f.Perceived("drum turns", False)]
    asked = bench("vented-dryer")
    at = condition(asked.machine, isolated=True, provoke=provoke)
    read = f.Reading(Probe("ohms", "belt switch.2", "motor.line"), at, 0.2, None, 0.1, "0.2")
    odds = []
    for findings in (told, [*told, read]):
        weighed = asked.weigh(findings, with_pairs=False)
        loose = next(c.probability for c in weighed.ranked() if c.faults == (LOOSE,))
        odds.append(loose / weighed.by_repair[("replace motor",)])
    return odds[1] / odds[0]


def test_a_steady_reading_while_shaken_clears_more_than_a_plain_one() -> None:
    """And only where what is shaken would bring the fault out."""
    plain, elsewhere, here = (_weighed_odds(way) for way in ("", "shake drum lamp", "shake motor"))
    assert here < 0.5 * plain
    assert elsewhere == pytest.approx(plain, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "way"),
    [
        (LOOSE, "shake motor"),
        (DEAD_SPOT, "turn motor"),
        (WEAK_POLE, LOAD_SUPPLY),
        ("joint terminal block.L1: loose", LOAD_SUPPLY),
    ],
)
def test_a_hidden_fault_acts_as_often_as_it_is_said_to(name: str, way: str) -> None:
    """Provoked in its own way PROVOKED of the set-ups, within four standard deviations; else its own chance."""
    machine = bench("vented-dryer").machine
    fault = listing.by_name(machine)[name]
    acts = {"": 0, way: 0}
    for seed in range(150):
        truth = Truth(machine, fault, fault.alternatives[0][1], np.random.default_rng(seed), acting=fault.acting)
        for one in acts:
            at = condition(machine, isolated=way != LOAD_SUPPLY, provoke=one)
            acts[one] += truth._effects(at) is truth.found
    for one, chance in (("", fault.acting), (way, PROVOKED)):
        assert abs(acts[one] / 150 - chance) < 4 * np.sqrt(chance * (1 - chance) / 150)


@each_machine
def test_only_what_turns_is_turned(name: str) -> None:
    """By the table of part types; the meter is clipped on across the part that is turned, on a dead machine."""
    machine = bench(name).machine
    turned = {part.name for part in machine.parts.values() if part_types.table()[part.type].turns}
    offered = [s for s in steps.provoking_steps(machine) if s.condition and s.condition.provoke.startswith("turn ")]
    for step in offered:
        assert step.condition is not None
        what = step.condition.provoke.removeprefix("turn ")
        assert what in turned
        assert {model.part_of(place) for place in step.places} == {what}
    assert bool(offered) == (name == "vented-dryer")


def test_a_type_that_does_not_turn_has_no_mode_that_turning_brings_out() -> None:
    """The table itself is refused, and says what to write."""
    mode = "{share: 1, does: [], acting: 0.4, provoked by: turning}"
    text = f"thing:\n  about: A thing.\n  symbol: box\n  terminals: []\n  modes:\n    odd: {mode}\n"
    with pytest.raises(BadInput) as refused:
        part_types.read_table(text, "types.yaml")
    assert "turns: yes" in refused.value.problems[0].message
    assert part_types.read_table(text + "  turns: yes\n", "types.yaml")["thing"].turns


def test_a_mode_may_answer_to_more_than_one_way_of_those_there_are() -> None:
    """One word or a list; another word is refused with its place."""
    text = "thing:\n  about: A thing.\n  symbol: box\n  terminals: []\n  modes:\n    odd: {{share: 1, does: [], {}}}\n"
    for said, ways in (("load", ("load",)), ("[shaking, load]", ("shaking", "load"))):
        made = part_types.read_table(text.format(f"acting: 0.4, provoked by: {said}"), "types.yaml")
        assert made["thing"].modes["odd"].provoked_by == ways
    with pytest.raises(BadInput) as refused:
        part_types.read_table(text.format("acting: 0.4, provoked by: [shaking, loading]"), "types.yaml")
    assert refused.value.problems[0].line == 6


def test_turning_brings_a_dead_spot_out_that_one_plain_reading_hardly_clears() -> None:
    """The start contact, read steady: plain it halves the odds at most, turned it leaves a quarter; OL names it."""
    told: list[f.Finding] = [f.Perceived("motor hums", True)]
    probe, asked = Probe("ohms", "motor.line", "motor.start"), bench("vented-dryer")

    def odds(*more: f.Finding) -> float:
        weighed = asked.weigh([*told, *more], with_pairs=False)
        found = {one.faults: one.probability for one in weighed.ranked(1e-9)}
        return found[(DEAD_SPOT,)] / found[("motor: seized",)]

    off = ("motor.line", "motor.start")
    plain, turned, elsewhere = (
        f.Reading(probe, condition(asked.machine, isolated=True, lift=off, provoke=way), 1.4, None, 0.1, "1.4")
        for way in ("", "turn motor", "heat motor")
    )
    assert odds(turned) < 0.4 * odds(plain) < odds()
    assert odds(elsewhere) == pytest.approx(odds(plain), rel=1e-6)
    assert "Turn motor slowly by hand" in sentence(asked.predictor, JobState(), _as_step(turned), ())


def _as_step(found: f.Reading) -> steps.Step:
    return steps.Step("reading", found.condition, found.probe, places=(found.probe.red, found.probe.black))


def test_minutes_of_provoking_are_counted_once() -> None:
    """A reading while shaking costs the shaking more than the plain reading, and heating more than shaking."""
    machine = bench("vented-dryer").machine
    costs = [
        minutes.cost(machine, JobState(), 0.6, (), condition(machine, isolated=True, provoke=way)).minutes
        for way in ("", "shake motor", "heat motor", LOAD_SUPPLY)
    ]
    assert costs[3] - costs[0] == pytest.approx(minutes.LOAD)
    assert costs[1] - costs[0] == pytest.approx(Handwork().shake)
    assert costs[2] - costs[0] == pytest.approx(minutes.HEAT)
