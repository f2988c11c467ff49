"""What the steps cost after the one advised, worked out while the person does it: what the next state asks for."""

from __future__ import annotations

from typing import Any

import pytest

from halfsplit.plan import pricing
from halfsplit.rehearse import truth as truths
from halfsplit.service import hidden
from halfsplit.service.advising import STOP
from halfsplit.service.guiding import Guided
from tests.rehearse.benches import NAMES, adviser

STEPS = 12


@pytest.mark.parametrize("name", NAMES)
def test_the_next_step_finds_its_prices_known(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Step after step of a talk none of the trusted steps is priced once the answer is typed."""
    asked = adviser(name)
    asked.steps._met.clear()
    priced: list[object] = []
    plain = pricing.plain

    def counted(machine: Any, state: Any, step: Any) -> pricing.Plain:
        priced.extend([step] if step in asked.steps.place_of else [])
        return plain(machine, state, step)

    monkeypatch.setattr(pricing, "plain", counted)
    secret, told = hidden.draw(asked, 3)
    guided = Guided(asked, tuple(told))
    ahead = walked = 0
    while guided.advice and guided.advice.step.kind != STOP and not guided.due and walked < STEPS:
        priced.clear()
        guided.price_what_follows()
        ahead += len(priced)
        found = truths.answer(secret, guided.advice.step)
        guided, walked = guided.told(found), walked + 1
        priced.clear()
        _ = guided.advice
        assert not priced, found.label
    assert ahead > 0
    assert walked > 1
