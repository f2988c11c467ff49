"""A finding in one line to be copied from paper: read again it is the finding that it stands for."""

from __future__ import annotations

from functools import cache

import pytest

from halfsplit.evidence import copying, findings_file
from halfsplit.evidence import finding as f
from halfsplit.machine import loading, model
from halfsplit.operate import condition as conditions
from halfsplit.predict.readings import Probe
from tests.depth import some
from tests.service.test_following import each_machine, paths, plan

COOKTOP = "coil-cooktop"


@cache
def machine(name: str) -> model.Machine:
    """A machine of the library."""
    return loading.load(name)


def filled(line: str, found: f.Finding) -> str:
    """A line with what was found written into its room."""
    ((_, fields),) = findings_file.written(found).items()
    return line.replace(copying.ROOM, str(fields.get("value", fields.get("sees"))))


@each_machine
def test_what_is_copied_box_after_box_is_what_was_found(name: str) -> None:
    """On every path of a plan: conditions, places and values, with nothing that a line leaves out got wrong; and with
    every second box not copied."""
    for box, _ in some([*paths(plan(name))], 6):
        for kept in (box.findings, box.findings[::2]):
            lines = [
                filled(copying.line(machine(name), found, box.findings[: box.findings.index(found)]), found)
                for found in kept
            ]
            again = findings_file.read("\n".join(lines), "copied.yaml", machine(name))
            assert [findings_file.written(one) for one in again] == [findings_file.written(one) for one in kept]


def test_controls_that_were_never_moved_are_left_out_and_those_set_back_are_named() -> None:
    """A knob that stood elsewhere before is named at rest, whether or not that finding is copied; wires too."""
    probe, blades = Probe("ohms", "left front burner.1", "left front burner.2"), ("left front burner.1",)
    low = conditions.condition(machine(COOKTOP), {"left front": "low"}, isolated=True)
    off = conditions.condition(machine(COOKTOP), {}, isolated=True, lift=blades)
    first, then = f.Reading(probe, low, None, text="OL"), f.Reading(probe, off, None, text="OL")
    assert "set" not in copying.line(machine(COOKTOP), f.Reading(probe, off, None, text="OL"), ())
    after = copying.line(machine(COOKTOP), then, (first,))
    assert "set: {left front: off}" in after
    assert "lift: [left front burner.1]" in after
    again = copying.line(machine(COOKTOP), first, (first, then))
    assert "lift: []" in again
    assert "set: {left front: low}" in again


@pytest.mark.parametrize("name", ["sealed system: sealed-system work", "replace fuse", "a, b", "-x", ""])
def test_names_are_quoted_where_yaml_wants_it(name: str) -> None:
    """What would not be one text within braces."""
    line = copying.line(machine(COOKTOP), f.Tried(name, False), ())
    (again,) = findings_file.read(line, "copied.yaml", machine(COOKTOP))
    assert isinstance(again, f.Tried)
    assert again.repair == name
