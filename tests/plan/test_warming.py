"""A thermostat is warmed with hot air until it acts, dead, the meter clipped on: a good one, and one that is stuck.

The judges: what a contact that stands open or closed reads with the wires of one end off, by hand; and the machine
written with a warmth more, in which the place of that thermostat alone is as hot as hot air makes it.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from halfsplit.evidence import finding as f
from halfsplit.evidence.weighing import Bench
from halfsplit.machine import library, loading, model, primitives
from halfsplit.modes import listing, warming
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import Condition, condition
from halfsplit.plan import cock, leads, powering, safely, steps, taken
from halfsplit.predict.predictor import Predictor
from halfsplit.predict.readings import Probe
from halfsplit.rehearse import play, random_steps
from halfsplit.rehearse.truth import Truth, World, answer
from halfsplit.service import pacing, remembering
from halfsplit.service.wording import sentence
from halfsplit.work import minutes
from halfsplit.work.hazards import Kind, Pipe
from halfsplit.work.state import JobState
from tests.rehearse.benches import NAMES, adviser, bench
from tests.rehearse.watcher import Watcher, of_sessions

each_machine = pytest.mark.parametrize("name", NAMES)
WARMED = {
    "refrigerator": set(),
    "vented-dryer": {"control thermostat", "inlet thermostat", "high limit"},
    "water-heater": set(),
    "quick heater": {"upper thermostat", "lower thermostat"},
}
"""What is warmed. A quick heater is one whose thermostats sit on no tank full of water."""
LIMIT = "type: thermostat, opens: 121 °C ± 6, closes: 99 °C ± 8,"
LOWER = ("lower thermostat.1", "lower thermostat.2")
STUCK = ("inlet thermostat: stuck closed", "high limit: stuck closed")


def text_of(name: str) -> str:
    """The file of a machine of the library, or of the quick heater."""
    if name != "quick heater":
        return library.text(name)
    found, lines = re.subn(r"^comes to: .*\n", "", library.text("water-heater"), flags=re.MULTILINE)
    assert lines == 1
    return found


@cache
def known(name: str) -> Bench:
    """The machine of such a file."""
    return Bench(loading.load_text(text_of(name), name)) if name == "quick heater" else bench(name)


def offered(name: str) -> list[tuple[Condition, Probe]]:
    """The condition and the leads of every warming step of a machine."""
    return [made(step) for step in steps.warming_steps(known(name).machine)]


def made(step: steps.Step) -> tuple[Condition, Probe]:
    """The condition of a reading and its leads."""
    assert step.condition is not None
    assert step.probe is not None
    return step.condition, step.probe


def contact_of(machine: model.Machine, probe: Probe) -> primitives.Contact:
    """The contact between two leads."""
    (found,) = (
        one for one in machine.elements.values()
        if isinstance(one, primitives.Contact) and set(one.ends) == {probe.red, probe.black}
    )  # fmt: skip
    return found


def rows_of(asked: Bench, contact: primitives.Contact) -> list[int]:
    """The variants in which a contact cannot open, by what the table of part types says that they do."""
    found = []
    for row, variant in enumerate(asked.singles.variants):
        faults = [asked.faults[number] for number in variant.faults]
        changes = [change for one in faults for _, some in one.alternatives for change in some]
        if ("shut", contact.name) in [(change.kind, change.what) for change in changes]:
            found.append(row)
    return found


# ---- what is read -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", WARMED)
def test_a_good_contact_moves_and_one_that_is_stuck_does_not(name: str) -> None:
    """By hand, the wires of one end off: over range where it has opened, the leads and the contact where it is closed
    or cannot open; the upper thermostat's second contact closes instead. Two readings of each contact are offered."""
    asked = known(name)
    assert {at.warmed for at, _ in offered(name)} == WARMED[name]
    stuck = 0
    for at, probe in (one for one in offered(name) if one[0].lift):
        contact, read = contact_of(asked.machine, probe), asked.predictor.reading(probe, at)
        closed = asked.predictor.readings.meter.lead_ohms + contact.ohms.nominal
        assert set(at.lift) < set(contact.ends)
        assert sum(probe == other for _, other in offered(name)) == 2
        if listing.when_other(contact):
            assert read.value[0] == pytest.approx(closed, abs=0.01)
        else:
            assert read.over[0] == 1.0
            assert rows_of(asked, contact)
        for row in rows_of(asked, contact):
            stuck += 1
            assert read.value[row] == pytest.approx(closed, abs=0.01)
            assert read.over[row] == 0.0
    assert stuck == {"refrigerator": 0, "vented-dryer": 3, "water-heater": 0, "quick heater": 2}[name]


def with_hot_air(machine: model.Machine, part: str) -> model.Machine:
    """The machine with one warmth more, that of rest but for a place of this part's own, which is very hot."""
    rest = machine.warmths[0]
    places = {place: {**known, "blown at": known[rest]} for place, known in machine.places.items()}
    devices = dict(machine.devices)
    for name, device in machine.devices.items():
        if isinstance(device, primitives.Thermostat) and device.part == part:
            devices[name] = replace(device, place="in the air")
            places["in the air"] = {**places[device.place], "blown at": 400.0}
    return replace(machine, places=places, devices=devices)


@pytest.mark.parametrize(("name", "part"), [(name, part) for name, parts in WARMED.items() for part in sorted(parts)])
def test_it_is_the_machine_whose_thermostat_alone_stands_hot(name: str, part: str) -> None:
    """Every variant, and with the leads elsewhere as well: along a wire, and across a heater."""
    asked = known(name)
    hot = Bench(with_hot_air(asked.machine, part))
    assert [one.name for one in hot.faults] == [one.name for one in asked.faults]
    load = next(e.part for e in asked.machine.elements.values() if getattr(e, "load", False))
    across = leads.reachable(asked.machine, asked.machine.parts[load])[:2]
    for at, probe in (one for one in offered(name) if one[0].warmed == part):
        stands = conditions.at_warmth(replace(at, provoke=""), "blown at")
        for where in (probe, Probe("ohms", *asked.machine.wires[0].ends), Probe("ohms", *across)):
            mine, judged = asked.predictor.reading(where, at), hot.predictor.reading(where, stands)
            assert np.array_equal(mine.over, judged.over)
            seen = judged.over < 0.5
            assert mine.value[seen] == pytest.approx(judged.value[seen], rel=1e-6, abs=1e-6)


def test_warming_changes_nothing_that_is_read_without_it() -> None:
    """Cold before, and cold again after one that was warmed was asked for; a thermostat that is warmed says nothing of
    its neighbour's contact; what is shaken stays as it was."""
    asked = bench("vented-dryer")
    predictor = Predictor(asked.operation, asked.singles)
    plain = condition(asked.machine, isolated=True)
    across, beside = Probe("ohms", "high limit.1", "high limit.2"), Probe("ohms", "cut-off.1", "cut-off.2")
    warm, shaken = replace(plain, provoke="warm high limit"), replace(plain, provoke="shake high limit")
    before = predictor.reading(across, plain).value
    assert np.isinf(predictor.reading(across, warm).value[0])
    fresh = Predictor(Bench(asked.machine).operation, asked.singles)
    for at in (plain, shaken):
        assert np.array_equal(predictor.reading(across, at).value, before)
        assert fresh.reading(across, at).value == pytest.approx(before)
    assert predictor.reading(beside, warm).value[0] == pytest.approx(predictor.reading(beside, plain).value[0])


def test_how_a_machine_stands_while_it_is_warmed_and_after() -> None:
    """It counts for what is read, and is over afterwards, as a shake is; under power hot air is blown at nothing."""
    machine = bench("vented-dryer").machine
    plain = condition(machine, isolated=True)
    warm, shaken = replace(plain, provoke="warm high limit"), replace(plain, provoke="shake high limit")
    assert (warm.still, shaken.still) == (warm, plain)
    assert (warm.lasting, shaken.lasting) == (plain, plain)
    assert (warm.warmed, shaken.warmed, warm.in_hot_air, shaken.in_hot_air) == ("high limit", "", True, False)
    assert conditions.not_set(machine, warm) == plain
    step = next(iter(steps.warming_steps(machine)))
    assert taken.after(machine, JobState(), step).condition == plain
    asked = bench("vented-dryer")
    running = conditions.usual(machine)
    volts = Probe("volts", "heater.common", "terminal block.N")
    blown = asked.predictor.reading(volts, replace(running, provoke="warm high limit"))
    assert blown.value == pytest.approx(asked.predictor.reading(volts, running).value)


def test_what_is_remembered_of_a_cold_machine_is_not_taken_for_a_warm_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Kept on disk under one key of the machine, cold and warm in turn: each run reads as one that keeps nothing."""
    monkeypatch.setenv("HALFSPLIT_CACHE", str(tmp_path))
    machine = bench("water-heater").machine
    plain = condition(machine, isolated=True)
    warm, probe = replace(plain, provoke="warm lower thermostat"), Probe("ohms", *LOWER)
    for at in (plain, warm, plain, warm):
        asked = remembering.bench(machine, "water heater")
        read, fresh = asked.predictor.reading(probe, at), bench("water-heater").predictor.reading(probe, at)
        assert np.array_equal(read.over, fresh.over)
        assert read.over[0] == (at is warm)
        remembering.keep(asked, "water heater")
    assert list(tmp_path.iterdir())


# ---- where it is offered ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "instead", "of"),
    [
        ("vented-dryer", "opens: 140 °C ± 6, closes: 99 °C", "opens: 121 °C ± 6, closes: 99 °C"),
        ("vented-dryer", "opens: 121 °C ± 16, closes: 99 °C", "opens: 121 °C ± 6, closes: 99 °C"),
        ("vented-dryer", "type: thermal fuse, opens: 121 °C ± 6,", LIMIT),
        ("vented-dryer", "heater box: {cold: 122 °C, hot: 130", "heater box: {cold: 20 °C, hot: 95"),
        ("vented-dryer", "lint dust; keep sparks away", "lint dust"),
        ("quick heater", "parts: [lower thermostat, upper element,", "parts: [upper element,"),
        ("quick heater", "comes to: {top hot: 5 min, hot tank: 12 min}\nparts:\n", "parts:\n"),
    ],
    ids=[
        "too hot", "within its tolerance too hot", "one-shot", "warm already", "where sparks are feared", "in water",
        "on a tank",
    ],
)  # fmt: skip
def test_hot_air_is_blown_only_where_it_surely_does_it(name: str, instead: str, of: str) -> None:
    """One word of the file changed, and that part is warmed no more."""
    text = text_of(name)
    assert text.count(of) == 1
    part = "high limit" if name == "vented-dryer" else "lower thermostat"
    before, after = (
        {made(step)[0].warmed for step in steps.warming_steps(loading.load_text(one, name))}
        for one in (text, text.replace(of, instead))
    )  # fmt: skip
    assert part in before
    assert part not in after


@each_machine
def test_a_thermostat_that_acts_is_good_beyond_what_hot_air_falls_short_of(name: str) -> None:
    """Every way is of a thermostat that hot air surely makes act, at no place that is so warm, and none is hand-set."""
    machine = bench(name).machine
    assert set(warming.ways(machine)) >= {at.provoke for at, _ in offered(name)}
    for contact, device in warming.contacts(machine):
        assert device.trips.high < warming.HOT_AIR
        assert device.resets == "itself"
        assert contact.part == device.part


def test_the_two_thermostats_of_the_dryer_are_told_apart() -> None:
    """Stuck closed they were as a healthy machine in every step."""
    asked = adviser("vented-dryer")
    names = [{asked.bench.faults[n].name for n in variant.faults} for variant in asked.bench.singles.variants]
    groups = [set[str]().union(*(names[row] for row in rows)) for rows in play.inseparable(asked)]
    for one in STUCK:
        assert {one} in groups


# ---- what it tells ----------------------------------------------------------------------------------------


def weighed(*shown: tuple[str, float | None]) -> dict[tuple[str, ...], float]:
    """What is believed once thermostats of the dryer were warmed and showed this."""
    asked, machine = bench("vented-dryer"), bench("vented-dryer").machine
    found: list[f.Finding] = [f.Perceived("keeps heating when hot", True)]
    for part, value in shown:
        at = condition(machine, isolated=True, provoke=f"warm {part}")
        text = "OL" if value is None else f"{value}"
        found.append(f.Reading(Probe("ohms", f"{part}.1", f"{part}.2"), at, value, None, 0.1, text))
    return {one.faults: one.probability for one in asked.weigh(found, with_pairs=False).ranked(1e-9)}


def test_one_that_opens_is_good_and_one_that_does_not_is_stuck() -> None:
    """A slip stays possible: hot air that did not reach it, as a setting that was not made."""
    stuck = ("control thermostat: stuck closed",)
    before = weighed()[stuck]
    assert weighed(("control thermostat", None)).get(stuck, 0.0) < 0.02 * before
    assert 0.9 < weighed(("control thermostat", 0.2))[stuck] < 1.0


@pytest.mark.parametrize("called", [*STUCK, ""])
def test_the_hidden_machine_answers_by_its_own_network(called: str) -> None:
    """Warmed, the one that is stuck shows its contact and the others open; the healthy machine shows over range."""
    machine = bench("vented-dryer").machine
    fault = listing.by_name(machine)[called] if called else None
    truth = Truth(machine, fault, fault.alternatives[0][1] if fault else (), np.random.default_rng(3), World())
    for step in steps.warming_steps(machine):
        found, at = answer(truth, step), made(step)[0]
        assert isinstance(found, f.Reading)
        assert (found.value is not None) == (fault is not None and at.warmed == fault.subject)
        assert found.value is None or found.value < 1.0


def test_a_hand_that_slips_warms_or_sets_but_not_both() -> None:
    """A wire that was to come off stays on while it is warmed; or nothing is warmed at all."""
    machine = known("quick heater").machine
    step = next(
        s for s in steps.warming_steps(machine) if made(s)[1].black == "upper thermostat.first" and made(s)[0].lift
    )
    truth = Truth(machine, None, (), np.random.default_rng(5), World(slips=1.0))
    found = [answer(truth, step) for _ in range(40)]
    shown = {one.value and one.value > 20 for one in found if isinstance(one, f.Reading)}
    assert shown == {True, False}


# ---- in the job -------------------------------------------------------------------------------------------


def test_it_is_said_in_words() -> None:
    """What moves, how long, what else hot air would open; of a contact that closes, that it must close."""
    asked = {name: known(name) for name in ("vented-dryer", "quick heater")}
    said = {
        (name, step.condition.warmed, step.probe.black): sentence(asked[name].predictor, JobState(), step, ())
        for name in asked for step in steps.warming_steps(asked[name].machine)
        if step.condition and step.probe and not step.condition.lift
    }  # fmt: skip
    limit = said["vented-dryer", "high limit", "high limit.2"]
    assert limit.endswith(
        "Meter at ohms: red on high limit.1, black on high limit.2. Clip them on. Clear away lint and dust. Warm high "
        "limit with hot air, slowly, and watch the meter; mind your fingers, and let it cool after. Keep the air off "
        "thermal fuse and cut-off: what opens there stays open. Its contact must open within two minutes: note what it "
        "shows while it is hot. Before anything else is read let it cool until it is closed again."
    )
    assert "must open" in said["quick heater", "upper thermostat", "upper thermostat.first"]
    assert "must close" in said["quick heater", "upper thermostat", "upper thermostat.next"]
    assert "Keep the air off limit" in said["quick heater", "upper thermostat", "upper thermostat.next"]
    assert "Keep the air off" not in said["quick heater", "lower thermostat", "lower thermostat.2"]


def test_its_minutes_are_those_of_heating_and_no_pace_scales_them() -> None:
    """As much as to heat a part, and counted as waiting where a shop's pace is learnt."""
    machine = bench("vented-dryer").machine
    plain, warm = (condition(machine, isolated=True, provoke=way) for way in ("", "warm high limit"))
    price = [minutes.cost(machine, JobState(), 0.6, (), at).minutes for at in (plain, warm)]
    assert price[1] - price[0] == pytest.approx(minutes.HEAT)
    probe = Probe("ohms", "high limit.1", "high limit.2")
    told = [f.Reading(probe, at, 0.2, None, 0.1, "0.2", took=40.0) for at in (plain, warm)]
    first, second = (next(pacing.records(machine, [one])) for one in told)
    assert second.waiting - first.waiting == pytest.approx(minutes.HEAT)


@each_machine
def test_it_is_done_dead_and_nothing_in_the_sessions_is_unsafe(name: str) -> None:
    """To the automaton it is what provoking is: after the proof, with the meter clipped on; random sessions meet it."""
    asked = adviser(name)
    sessions, machine = random_steps.Sessions(asked), asked.bench.machine
    for step in steps.warming_steps(machine):
        then = taken.after(machine, JobState(), step)
        kinds = [doing.kind for doing in safely.prepared(machine, safely.begin(machine), JobState(), then, step).doings]
        assert kinds[-1] is Kind.PROVOKE
        assert Kind.ENERGISE not in kinds
        assert kinds.index(Kind.PROVE_DEAD) < kinds.index(Kind.CLIP)
        assert powering.possible(machine, step)
    assert not of_sessions(sessions, seed=4, count=60)[0]
    met = [
        step for number in range(60) for _, step, _ in sessions.session(np.random.default_rng([4, number]))
        if isinstance(step, steps.Step) and step.condition and step.condition.warmed
    ]  # fmt: skip
    assert bool(met) == bool(WARMED[name])


def test_hot_air_beside_gas_pipe_wants_the_gas_off() -> None:
    """A burner in the bay of a thermostat: the automaton knows it, and the watcher sees it where that is forgotten."""
    plain = bench("vented-dryer").machine
    gas = model.Gas("the cock behind it", ("drum housing",), ("heater",))
    machine = replace(plain, gas=gas)
    step = next(iter(steps.warming_steps(plain)))
    assert not list(steps.warming_steps(machine))
    assert cock.pipe(machine, step) is Pipe.BESIDE
    then = taken.after(machine, JobState(), step)
    for knows in (machine, plain):
        done = safely.prepared(knows, safely.begin(knows), JobState(), then, step).doings
        found = Watcher(machine, False).reads(step, done)
        under_gas = [one for one in found if one.startswith("hands beside gas pipe under gas: provoke")]
        assert bool(under_gas) == (knows is plain)
