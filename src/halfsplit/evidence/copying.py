"""A finding in one line, as short as a findings file can have it, with room for what was found: to be copied.

Knows findings and their grammar; not who prints them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence

from halfsplit.evidence import finding as f
from halfsplit.evidence import findings_file
from halfsplit.machine import model
from halfsplit.operate import condition as conditions
from halfsplit.operate.condition import WARMTH, Condition
from halfsplit.predict.readings import DEAD_METERS

ROOM = "___"
"""Stands where what was found is written."""
_SPECIAL = re.compile(r"^[\s\-?!&*|>'\"%@`]|[\[\]{},#]|: |:$|\s$")
"""What YAML would not take for plain text within braces."""


def line(machine: model.Machine, found: f.Finding, before: Sequence[f.Finding]) -> str:
    """A finding after others, with room for what was found. What would be so without a word is left out: a control that
    stands at rest, and stood there in all `before`, so that one of those may be missing.

    >>> from halfsplit.machine import loading
    >>> from halfsplit.predict.readings import Probe
    >>> heater = loading.load("water-heater")
    >>> dead = conditions.condition(heater, isolated=True)
    >>> line(heater, f.Reading(Probe("ohms", "limit.1", "limit.3"), dead, None, text="OL"), ())
    '- reading: {meter: ohms, red: limit.1, black: limit.3, value: ___}'
    >>> line(heater, f.Tried("breaker: switch fully off and on", False), ())
    '- repair: {made: "breaker: switch fully off and on", cured: no}'
    """
    ((kind, fields),) = findings_file.written(found).items()
    kept = {key: value for key, value in fields.items() if not _goes_without(key, value, found, before)}
    if "set" in kept:
        kept["set"] = dict(_set(machine, found, before))
    room = {key: ROOM for key in findings_file.FOUND if key in kept}
    given = {key: value for key, value in kept.items() if kind != "reading" or key != "set" or value}
    return f"- {kind}: {_flow(given | room)}"


def _goes_without(key: str, value: object, found: f.Finding, before: Iterable[f.Finding]) -> bool:
    if not isinstance(found, f.Reading):
        return False
    if key == "isolated":
        return found.condition.isolated == (found.probe.meter in DEAD_METERS)
    return key == "lift" and not value and not any(isinstance(x, f.Reading) and x.condition.lift for x in before)


def _set(machine: model.Machine, found: f.Finding, before: Iterable[f.Finding]) -> Iterator[tuple[str, str]]:
    """The controls that have to be named: those that do not stand at rest, or did not before; and the warmth where
    opening would leave another."""
    at, rest = _condition(found), dict(conditions.rest(machine).setting)
    if at is None:
        return
    moved = {c for x in (*before, found) for c, p in _setting(x) if p != rest.get(c)}
    places = (found.probe.red, found.probe.black, *at.lift) if isinstance(found, f.Reading) else ()
    if machine.warmth_behind(filter(None, places)):
        moved.add(WARMTH)
    yield from ((control, position) for control, position in at.setting if control in moved)


def _setting(found: f.Finding) -> tuple[tuple[str, str], ...]:
    at = _condition(found)
    return at.setting if at else ()


def _condition(found: f.Finding) -> Condition | None:
    return found.condition if isinstance(found, f.Reading | f.Perceived) else None


def _flow(value: object) -> str:
    """Plain data as YAML in one line."""
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{_flow(key)}: {_flow(one)}' for key, one in value.items())}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(_flow, value))}]"
    text = str(value)
    return json.dumps(text, ensure_ascii=False) if not text or _SPECIAL.search(text) else text
