"""How long warmth is waited for: the heat that it takes, no way round shorter than the straight one, and bad files."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from halfsplit.errors import BadInput
from halfsplit.machine import loading
from halfsplit.machine.library import names
from halfsplit.machine.primitives import Thermostat
from halfsplit.operate.condition import condition
from halfsplit.work import minutes, waits
from halfsplit.work.state import JobState

HEATER = loading.load("water-heater")
WATER = 4.186e3
"""J/(kg K) of water at 15 to 60 °C; from memory of any table of steam and water, 4.18 to 4.19."""
LITRES, UPPER = 150.0, 50.0
"""What the library's file says of its tank."""


@pytest.mark.parametrize(("warmth", "litres"), [("top hot", UPPER), ("hot tank", LITRES)])
def test_a_tank_warms_by_what_its_element_gives(warmth: str, litres: float) -> None:
    """m c (T - 15 °C) at the watts of 240 V through the element, to where the thermostats open: within a tenth."""
    watts = 240.0**2 / 12.8
    disc = HEATER.devices["upper thermostat.disc"]
    assert isinstance(disc, Thermostat)
    taken = litres * WATER * (disc.trips.nominal - HEATER.places["top of tank"]["cold tank"]) / watts / 60.0
    assert waits.waiting(HEATER, "cold tank", warmth, False) == pytest.approx(taken, rel=0.1)


@pytest.mark.parametrize("name", names())
@pytest.mark.parametrize("isolated", [False, True])
def test_no_way_round_is_shorter(name: str, isolated: bool) -> None:
    """From one warmth to another by a third takes no less; nothing is waited for where the machine is as wanted."""
    machine = loading.load(name)
    for one, two, three in product(machine.warmths, repeat=3):
        straight = waits.waiting(machine, one, two, isolated)
        assert (straight == 0.0) == (one == two)
        round_ = waits.waiting(machine, one, three, isolated) + waits.waiting(machine, three, two, isolated)
        assert straight <= round_


def test_as_its_owner_left_it_a_tank_may_be_as_warm_as_any() -> None:
    """To hot the mean of 80, 55 and nothing; a cold one is what most complaints are of, and is not waited for."""
    as_left = [waits.waiting(HEATER, "", warmth, False) for warmth in HEATER.warmths]
    assert as_left == pytest.approx([0.0, (25.0 + 0.0 + 20.0) / 3, (80.0 + 55.0 + 0.0) / 3])


def test_a_dead_reading_of_a_warm_tank_wants_power_first() -> None:
    """From one dead reading to the next at another warmth: on, the wait, and off again. Cooled it is by standing."""
    dead = [condition(HEATER, {"warmth": warmth}, isolated=True) for warmth in ("cold tank", "top hot")]
    hands = HEATER.handwork
    warmer = minutes.cost(HEATER, JobState(condition=dead[0]), 0.0, (), dead[1])
    assert (warmer.waiting, warmer.power) == (25.0, hands.energise + hands.isolate)
    colder = minutes.cost(HEATER, JobState(condition=dead[1]), 0.0, (), dead[0])
    assert (colder.waiting, colder.power) == (20.0, 0.0)


def test_a_warmth_that_no_place_has_is_refused(tmp_path: Path) -> None:
    """With where, what and the nearest name; and minutes without a unit."""
    text = (Path(loading.__file__).parents[1] / "machines" / "water-heater.yaml").read_text(encoding="utf-8")
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(text.replace("top hot: 25 min, hot tank: 80 min", "top hott: 25 min, hot tank: 80"))
    with pytest.raises(BadInput) as refused:
        loading.load(wrong)
    said = str(refused.value)
    assert "hot tank" in said
    assert "min" in said
    wrong.write_text(text.replace("top hot: 25 min", "top hott: 25 min"))
    with pytest.raises(BadInput, match=r"no warmth 'top hott'.*top hot"):
        loading.load(wrong)
