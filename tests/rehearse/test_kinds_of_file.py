"""What is wrong with a file is told in words of its own kind: findings, orders, paces, machines."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from halfsplit.errors import BadInput
from halfsplit.evidence import findings_file
from halfsplit.machine import loading, tree
from halfsplit.rehearse import order
from halfsplit.work import pace_file

DRYER = loading.load("vented-dryer")
READ: dict[str, Callable[[str], object]] = {
    "a findings file": lambda text: findings_file.read(text, "x", DRYER),
    "an order file": lambda text: order.read(text, "x", DRYER),
    "a pace file": lambda text: pace_file.read(text, "x"),
    "a machine file": lambda text: tree.compose(text, "x"),
}
BEGINS = {
    "a findings file": "Begin each finding with - reading:, - look:, - symptom:, - repair:, - closed:, - cannot:.",
    "an order file": "Begin each step with - reading:, - look: or - symptom:.",
    "a pace file": "Begin it with `format: halfsplit pace 1`.",
    "a machine file": "Begin it with a line `format:`.",
}


def told(kind: str, text: str) -> str:
    """All that is told of a text as a file of this kind."""
    with pytest.raises(BadInput) as caught:
        READ[kind](text)
    return str(caught.value)


@pytest.mark.parametrize("kind", READ)
def test_a_file_is_called_what_it_is(kind: str) -> None:
    """One of nothing but a comment, one too long, too deep, with a tag, or of two documents."""
    assert told(kind, "# nothing yet\n") == f"x:1:1: The file is empty. {BEGINS[kind]}"
    others = set(READ) - {kind}
    for text in ("#" * (tree.LONGEST + 1), "- " * 20 + "x", "- !tag x", "- x\n---\n- y"):
        said = told(kind, text).lower()
        assert not any(f"{other} " in said for other in others), said
    assert told(kind, "- !tag x").endswith(f"'!tag' is a YAML tag. Leave it out: {kind} is plain text.")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("- repair: {made: replace heater, cured: no}", "A repair is no step to find out by. Leave it out."),
        ("- closed: {power: on}", "To put the machine together is no step to find out by. Leave it out."),
        ("- look: {at: belt, taken back: yes}", "What was taken back, or set aside, is no step to find out by."),
    ],
)
def test_what_is_no_step_is_called_what_it_is(text: str, says: str) -> None:
    """Not all of it is a repair."""
    assert says in told("an order file", text)
