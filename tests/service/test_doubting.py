"""A reading that does not fit is told of at once, with what a good machine shows, so that a slip is seen."""

from __future__ import annotations

import pytest

from halfsplit.evidence import finding as f
from halfsplit.operate.condition import condition
from halfsplit.predict.readings import Probe
from halfsplit.service import doubting
from tests.rehearse.benches import bench

TANK = bench("water-heater")
COLD = f.Perceived("water gets hot", False)
ELEMENT = Probe("ohms", "lower element.1", "lower element.2")
OFF = condition(TANK.machine, isolated=True, lift=["lower element.1"])


def reading(value: float | None, text: str) -> f.Reading:
    """Of the lower element by itself."""
    return f.Reading(ELEMENT, OFF, value, step=0.1, text=text)


@pytest.mark.parametrize(("value", "text"), [(270.0, "270"), (95.0, "95")])
def test_a_slip_is_told_with_the_range_of_a_good_machine(value: float, text: str) -> None:
    """Of the reading that was typed last; it is asked to be read again, and said how it is taken back."""
    before, new = TANK.weigh([COLD]), (reading(value, text),)
    (said,) = doubting.sentences(before, TANK.weigh([COLD, *new]), new)
    told = "fits nothing that the file knows (12.3 to 13.8 Ω on a good machine): read it again?"
    assert said == f"{text} Ω {told} Type undo to take it anew."


@pytest.mark.parametrize(("value", "text"), [(12.9, "12.9"), (None, "OL")])
def test_what_a_known_cause_shows_is_not_doubted(value: float | None, text: str) -> None:
    """A good element and a burnt one."""
    before, new = TANK.weigh([COLD]), (reading(value, text),)
    assert list(doubting.sentences(before, TANK.weigh([COLD, *new]), new)) == []


def test_what_was_typed_before_the_last_says_so() -> None:
    """Undo takes the last back first."""
    before, new = TANK.weigh([COLD]), (reading(95.0, "95"), f.Look("lower element", "fine"))
    (said,) = doubting.sentences(before, TANK.weigh([COLD, *new]), new)
    assert said.endswith("Type undo until it is gone, to take it anew.")


def test_every_reading_of_a_fault_that_the_file_knows_fits() -> None:
    """Of each candidate, what it would show to the digit."""
    shown = TANK.predictor.reading(ELEMENT, OFF)
    for value, over in zip(shown.value[::25].tolist(), shown.over[::25].tolist(), strict=True):
        found = reading(None, "OL") if over > 0.5 else reading(value, str(value))
        assert not doubting.fits_nothing(TANK.predictor, found)


def test_a_reading_is_told_with_its_unit() -> None:
    """As it was typed otherwise."""
    assert reading(0.2, "0.2").label.endswith(": 0.2 Ω")
    assert reading(0.2, "0,2 ohm").label.endswith(": 0,2 ohm")


def test_what_contradicts_what_was_found_before_is_asked_for_again() -> None:
    """Ohms through all four burners' pilots, which light: over range is what some fault would show, but none that
    explains the rest. Likeliest then is what the file does not say; told once, not at each reading after it."""
    cooktop = bench("coil-cooktop")
    told: list[f.Finding] = [f.Perceived("right rear glows", False), f.Perceived("right rear pilot lights", True)]
    told += [f.Perceived(f"{one} glows", True) for one in ("left front", "right front", "left rear")]
    one_on = condition(cooktop.machine, {"right rear": "high"}, isolated=True)
    across = Probe("ohms", "receptacle.prong L1", "receptacle.prong L2")
    told.append(f.Reading(across, one_on, 27.1, step=0.1, text="27.1"))
    on = condition(cooktop.machine, dict.fromkeys(("left front", "right rear", "right front"), "high"), isolated=True)
    odd = f.Reading(Probe("ohms", "receptacle.prong L1", "receptacle.prong N"), on, text="OL")
    next_ = f.Reading(Probe("ohms", "receptacle.prong L2", "receptacle.prong PE"), on, text="OL")
    before, after = cooktop.weigh(told), cooktop.weigh([*told, odd])
    assert (doubting.is_unsaid(before), doubting.is_unsaid(after)) == (False, True)
    (said,) = doubting.sentences(before, after, (odd,))
    assert said.startswith("OL does not fit what was found before (")
    assert list(doubting.sentences(after, cooktop.weigh([*told, odd, next_]), (next_,))) == []


def test_a_breaker_that_tripped_is_not_to_trip_again() -> None:
    """It fits worst beside water that gets hot, and a short may stand behind it: nobody is told to try it once more.
    A reading that fits worst is to be taken again."""
    hot = f.Perceived("water gets hot", True, by="repairer")
    tripped = TANK.weigh([f.Perceived("breaker trips", True), hot], with_pairs=False)
    assert tripped.worst_fit() == f.Perceived("breaker trips", True)
    assert doubting.to_take_again(tripped) is None
    for new in ((hot,), tripped.findings):
        assert not [one for one in doubting.sentences(TANK.weigh([]), tripped, new) if doubting.LOOK in one]
    slip = TANK.weigh([COLD, reading(95.0, "95")])
    assert doubting.to_take_again(slip) == slip.worst_fit() is not None
