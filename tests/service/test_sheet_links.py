"""A relay's coil and its contacts are one group on the sheet of a machine."""

from __future__ import annotations

from halfsplit.operate import condition
from halfsplit.service import sheet_elements, standing
from tests.operate import machines


def test_a_coil_is_in_the_group_of_its_contacts() -> None:
    """Coil and contact are drawn by the symbols of a relay and named to move together."""
    machine = machines.buzzing()
    found = sheet_elements.pieces(standing.standing(machine, condition.rest(machine)), False).elements
    by_key = {element.key: element for element in found}
    coil, contact = by_key["relay/coil"], by_key["relay/contact"]
    assert (coil.kind, contact.actuator) == ("coil", "relay")
    assert coil.linked == contact.linked == "relay.armature"
