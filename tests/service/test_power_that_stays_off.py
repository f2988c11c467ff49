"""What a person says of power and covers, and what stands on the floor: neither asked for, given back, nor left out."""

from __future__ import annotations

import pytest

from halfsplit.errors import Refused
from halfsplit.evidence import finding as f
from halfsplit.machine import loading
from halfsplit.operate.condition import condition
from halfsplit.plan import barring, powering
from halfsplit.predict.readings import Probe
from halfsplit.service import closing, guiding, repairing
from halfsplit.service.guiding import Guided
from halfsplit.work import stopping
from halfsplit.work.refusals import CannotOpen, NoMeter, NoPower
from halfsplit.work.state import JobState
from tests.rehearse.benches import adviser

SCALDS = f.Perceived("water scalds", True)


def kinds(guided: Guided, *repairs: str) -> list[str]:
    """The tasks by which the machine is put together after these repairs."""
    due = [guided.bench.repairs[name] for name in repairs]
    made = repairing.work(guided, due).closed if due else guiding.put_together(guided, ())
    return [task.kind for task in made.tasks]


def test_no_power_is_no_warming_up_either() -> None:
    """A dead step for which the tank has to get hot first is barred with all that wants power; a cold one is not."""
    asked = adviser("water-heater")
    machine, off = asked.bench.machine, JobState(refused=frozenset({NoPower()}))
    dead = [s for s in asked.steps.usual if s.probe and s.condition and s.condition.isolated]
    warm = [s for s in dead if powering.first_warm(machine, JobState(), s)]
    assert warm
    assert all(barring.bars(machine, off, s) for s in warm)
    assert not all(barring.bars(machine, off, s) for s in dead)
    assert not any(barring.bars(machine, JobState(), s) for s in warm)


@pytest.mark.parametrize("repairs", [(), ("replace lower element",)])
def test_power_that_has_to_stay_off_stays_off_in_the_list(repairs: tuple[str, ...]) -> None:
    """The tag, and no power; nothing read for a power that does not come; nothing proved after a repair."""
    job = Guided(adviser("water-heater")).told(f.Perceived("hot water lasts", False)).without(NoPower())
    assert kinds(job, *repairs)[-1] == "tag"
    assert not {"power", "earth"} & set(kinds(job, *repairs))
    assert guiding.left_by(job, []) == stopping.STAYS_OFF
    if repairs:
        assert not repairing.work(job, [job.bench.repairs[one] for one in repairs]).proof.ran


def test_a_refused_cover_that_the_repair_opens_is_open() -> None:
    """The ohms to the frame are read behind it before the power; behind one that stays shut they cannot be."""
    job = Guided(adviser("water-heater")).told(f.Perceived("water gets hot", False))
    without = job.without(CannotOpen("upper cover"))
    assert "insulation" in kinds(job, "replace upper element")
    assert "insulation" in kinds(without, "replace upper element")
    assert "insulation" not in kinds(without, "replace lower element")


def test_a_frame_that_nobody_can_read_any_more_keeps_the_power_off() -> None:
    """Low ohms to it were read, and the meter lacks them after the repair: a tag, no proof; read, it gets power."""
    asked = adviser("water-heater")
    dead = condition(asked.bench.machine, isolated=True)
    low = f.Reading(Probe("ohms", "limit.1", "jacket.metal"), dead, 14.5, text="14.5")
    job = Guided(asked).told(f.Perceived("breaker trips", True), low)
    without = job.without(NoMeter("ohms"))
    repair = job.bench.repairs["replace lower element"]
    assert job.frame_bars
    assert kinds(job, repair.name)[-1] == "power"
    assert repairing.work(job, [repair]).proof.ran
    assert kinds(without, repair.name)[-1] == "tag"
    assert not repairing.work(without, [repair]).proof.ran


def test_water_on_the_floor_of_a_refrigerator_stops_like_any_other() -> None:
    """Told on the phone: breaker first; water inside is none of that."""
    job = Guided(adviser("refrigerator"))
    assert job.told(f.Perceived("water on the floor", True)).wet
    assert not job.told(f.Perceived("water inside", True)).wet
    for name in ("refrigerator", "water-heater"):
        asks = [(key, one.question) for key, one in loading.load(name).symptoms.items() if one.kind == "leaks"]
        assert all(("floor" in words or "under" in words) == (key == stopping.WATER) for key, words in asks)


@pytest.mark.parametrize("what", ["jacket tingles", "water scalds"])
def test_a_machine_that_nobody_may_touch_has_no_list(what: str) -> None:
    """A frame that tingles is refused with what to do; what is no danger is put together."""
    findings = [f.Perceived(what, True)]
    if what == "water scalds":
        assert closing.closing(loading.load("water-heater"), findings=findings)["tasks"]
        return
    with pytest.raises(Refused, match="touch no metal of it"):
        closing.closing(loading.load("water-heater"), findings=findings)
