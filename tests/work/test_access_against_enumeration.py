"""What opening costs and how a machine is closed, on random bays and the library's, judged by trying every set of bays.

The judge opens covers one behind another by what each lies behind, and adds up minutes by itself.
"""

from __future__ import annotations

import functools
import itertools
from collections import Counter
from collections.abc import Iterable, Set
from dataclasses import replace

import numpy as np
import pytest

from halfsplit.machine import library, loading, model
from halfsplit.operate.condition import condition
from halfsplit.plan import steps
from halfsplit.work import minutes, places, together
from halfsplit.work.state import OUTSIDE, JobState, to_open

MACHINES = {name: loading.load(name) for name in library.names()}
DRYER = MACHINES["vented-dryer"]
DRAWN = range(60)


# ---- the judge ---------------------------------------------------------------------------------------------


@functools.cache
def ways_to_stand(name: str, seed: int | None = None) -> tuple[frozenset[str], ...]:
    """Every set of bays that can stand open together: each was opened when the one it lies behind was."""
    bays = machine_of(name, seed).bays
    sets = (set(tried) for size in range(len(bays) + 1) for tried in itertools.combinations(bays, size))
    return tuple(frozenset(tried) for tried in sets if all(bays[name].behind in {OUTSIDE, *tried} for name in tried))


def price(machine: model.Machine, bays: Iterable[str]) -> float:
    """Minutes to open these and to close them again."""
    return sum(machine.bays[name].open_minutes + machine.bays[name].close_minutes for name in bays)


def least(machine: model.Machine, stands: Iterable[Set[str]], opened: Set[str], wanted: Set[str]) -> tuple[float, int]:
    """The fewest minutes for which all that is wanted comes open, and the fewest covers at that."""
    return min((price(machine, one - opened), len(one - opened)) for one in stands if wanted | opened <= one)


# ---- machines ----------------------------------------------------------------------------------------------


def machine_of(name: str, seed: int | None) -> model.Machine:
    """A machine of the library; with a seed, with seven drawn bays instead of its own: each outside or behind another,
    its minutes, its fasteners of up to two kinds, some of them for two people."""
    if seed is None:
        return MACHINES[name]
    random = np.random.default_rng(seed)
    names = [f"bay {number}" for number in range(7)]
    bays = {}
    for number, bay in enumerate(names):
        behind = str(random.choice([OUTSIDE, *names[:number]]))
        held = " and ".join(f"{random.integers(1, 9)} x {kind}" for kind in ("T20", "PH2")[: random.integers(0, 3)])
        opening, closing = random.integers(0, 9, 2).tolist()
        bays[bay] = model.Bay(bay, behind, opening, closing, held, people=int(random.choice([1, 1, 1, 2])))
    return replace(MACHINES[name], bays=bays)


def check(machine: model.Machine, stands: tuple[frozenset[str], ...], state: JobState, wanted: tuple[str, ...]) -> None:
    """The openings are a cheapest set and the smallest of those, in an order in which they can be done, and charged
    just that, and where the supply lands the minutes to prove dead there too; one place after another costs the same as
    all at once."""
    found = to_open(machine, state, wanted)
    taken = minutes.cost(machine, state, 0.0, wanted, None)
    best, covers = least(machine, stands, state.open_bays, {bay for bay in wanted if bay in machine.bays})
    assert len(found) == covers
    proving = machine.handwork.prove * sum(places.supply_lands(machine, bay) for bay in found)
    assert taken.opening + taken.closing == taken.minutes - proving == pytest.approx(best)
    for place, bay in enumerate(found):
        assert machine.bays[bay].behind in {OUTSIDE, *state.open_bays, *found[:place]}
    one_by_one = 0.0
    for bay in wanted:
        one_by_one += minutes.cost(machine, state, 0.0, (bay,), None).minutes
        state = replace(state, open_bays=state.open_bays | set(to_open(machine, state, (bay,))))
    assert one_by_one == pytest.approx(best + proving)


# ---- opening -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", DRAWN)
def test_the_cheapest_openings(seed: int) -> None:
    """No set of bays that reaches the places is cheaper, whatever is open already."""
    machine, stands = machine_of("vented-dryer", seed), ways_to_stand("vented-dryer", seed)
    random = np.random.default_rng(seed)
    for _ in range(10):
        wanted = tuple(random.choice([OUTSIDE, *machine.bays], 4).tolist())
        state = JobState(stands[random.integers(len(stands))], condition(machine, isolated=True))
        check(machine, stands, state, wanted)


@pytest.mark.parametrize("name", MACHINES)
def test_the_cheapest_way_to_terminals(name: str) -> None:
    """On the library's machines: for terminals anywhere, through the bays of their parts."""
    machine, stands, random = MACHINES[name], ways_to_stand(name), np.random.default_rng(1)
    terminals = sorted(model.wired_terminals(machine))
    for _ in range(100):
        chosen = random.choice(terminals, random.integers(1, 5)).tolist()
        wanted = tuple(machine.parts[model.part_of(terminal)].bay for terminal in chosen)
        state = JobState(stands[random.integers(len(stands))], condition(machine, isolated=True))
        check(machine, stands, state, wanted)


@pytest.mark.parametrize("name", MACHINES)
def test_what_steps_open_reaches_their_terminals(name: str) -> None:
    """Every dead reading that is offered on the library's machines opens the bays of both its terminals, for the fewest
    minutes in which they come open."""
    machine, stands = MACHINES[name], ways_to_stand(name)
    for step in (one for one in steps.dead_steps(machine) if one.probe):
        parts = {model.part_of(place) for place in step.places} & set(machine.parts)
        reached = {machine.parts[part].bay for part in parts} - {OUTSIDE}
        assert parts
        wanted = steps.bays_needed(machine, step)
        assert reached <= set(wanted)
        taken = minutes.cost(machine, JobState(condition=step.condition), 0.0, wanted, None)
        assert taken.opening + taken.closing == least(machine, stands, frozenset(), set(wanted))[0]


def test_what_is_open_is_free_and_closing_is_priced_once() -> None:
    """Two places behind one front cost it once; with the front open only the rest is paid; outside costs nothing."""
    dead = condition(DRYER, isolated=True)
    shut, opened = JobState(condition=dead), JobState(frozenset({"top", "drum space"}), dead)
    assert minutes.cost(DRYER, shut, 0.0, ("drum space", "drum housing"), None).minutes == 3 + 3 + 5 + 7 + 7 + 9
    assert minutes.cost(DRYER, opened, 0.0, ("drum housing",), None).minutes == 16
    assert minutes.cost(DRYER, shut, 0.0, (OUTSIDE,), None).minutes == 0


# ---- closing -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", DRAWN)
def test_putting_together_closes_nothing_over_an_open_bay(seed: int) -> None:
    """A bay is closed only after every bay behind it; each is closed once, every fastener is counted, every minute of
    closing charged, and two people are asked for where one bay needs them."""
    machine, random = machine_of("vented-dryer", seed), np.random.default_rng(seed)
    wanted = random.choice(list(machine.bays), random.integers(1, 5)).tolist()
    opened = to_open(machine, JobState(), tuple(wanted))
    made = together.closing(machine, together.undone(machine, wanted))
    closed = [task.at for task in made.tasks if task.kind == "cover"]
    assert sorted(closed) == sorted(opened)
    for place, bay in enumerate(closed):
        assert not any(machine.bays[later].behind == bay for later in closed[place + 1 :])
    held = Counter[str]()
    for bay in opened:
        for one in filter(None, machine.bays[bay].fasteners.split(" and ")):
            count, kind = one.split(" x ")
            held[kind] += int(count)
    assert {one.kind: one.count for one in made.fasteners} == held
    assert made.minutes == sum(machine.bays[bay].close_minutes for bay in opened)
    assert made.people == max(machine.bays[bay].people for bay in opened)


def test_putting_together_a_dryer() -> None:
    """The last opened comes first; fasteners of two covers add up; minutes are those of closing; two people where one
    bay needs them."""
    heavy = replace(DRYER.bays["drum space"], people=2, unplugs=("door switch",))
    machine = replace(DRYER, bays={**DRYER.bays, "drum space": heavy})
    made = together.closing(machine, together.undone(machine, ["console", "top", "drum space", "drum housing"]))
    shown = [task.at for task in made.tasks if task.kind in ("cover", "connector")]
    assert shown == ["drum housing", "door switch", "drum space", "top", "console"]
    assert [str(fastener) for fastener in made.fasteners] == ["10 x 1/4 in hex", "6 x PH2"]
    assert (made.minutes, made.people) == (9 + 7 + 3 + 5, 2)
