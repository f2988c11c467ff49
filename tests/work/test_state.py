"""Bays in front of bays, and what must still be opened."""

from __future__ import annotations

import pytest

from halfsplit.machine import loading
from halfsplit.operate.condition import condition
from halfsplit.work.state import JobState, to_open, with_fronts

DRYER = loading.load("vented-dryer")


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        (("drum housing",), ("top", "drum space", "drum housing")),
        (("drum housing", "console"), ("top", "drum space", "drum housing", "console")),
        (("top", "drum space"), ("top", "drum space")),
        (("outside",), ()),
        (("no such bay",), ()),
    ],
)
def test_fronts_come_first_and_once(wanted: tuple[str, ...], found: tuple[str, ...]) -> None:
    """A bay is reached through all before it, each opened once."""
    assert with_fronts(DRYER, wanted) == found


def test_what_is_open_need_not_be_opened() -> None:
    """Only what is still shut is left to open."""
    state = JobState(open_bays=frozenset({"top", "drum space"}))
    assert to_open(DRYER, state, ("drum housing", "top")) == ("drum housing",)


def test_a_machine_as_the_owner_left_it_is_not_isolated() -> None:
    """Nothing is safe to touch before somebody has isolated it."""
    assert not JobState().isolated
    assert not JobState(condition=condition(DRYER)).isolated
    assert JobState(condition=condition(DRYER, isolated=True)).isolated
