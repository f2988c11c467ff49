"""How one part fails: the modes of its type with the part's names.

Knows one part's type, values and terminals. `self` is the part (of a joint or a wire it stays `self`, and the
room of the failure modes puts the joint or wire in its place); `frame` is the machine's metal, and a change that
needs it is left out where a machine has none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from halfsplit.machine.expand import templates
from halfsplit.machine.expand.values import Values
from halfsplit.machine.model import Change, Mode
from halfsplit.machine.part_types import ChangeSpec, ChartSpec, ModeSpec, PartType

__all__ = ["KINDS", "Failing", "modes_of", "whole_weight"]

KINDS: dict[str, str] = {
    "opened": "", "shut": "", "added ohms": "ohm", "scaled": "number", "bridged": "ohm", "shifted": "K",
    "halted": "", "failed": "", "stands": "", "swapped": "", "sagged": "number",
}  # fmt: skip
"""Kind of change: the kind of its amount."""

_EACH = "*"


@dataclass(frozen=True)
class Failing:
    """What the modes of a part are made from."""

    part: str
    spec: PartType
    values: Values
    terminals: tuple[str, ...]
    frame: str

    def chart(self) -> list[str]:
        """The keys of the part's chart."""
        for element in self.spec.elements.values():
            if isinstance(element, ChartSpec):
                chart = self.values[element.chart[1:]]
                return list(chart) if isinstance(chart, dict) else []
        return []


def modes_of(failing: Failing, weights: Mapping[str, float]) -> tuple[Mode, ...]:
    """The modes that this part can have; `weights` are those that the file gives by mode.

    Where the file gives some, shares become weights: the others keep their share of the type's whole.
    """
    shares = {name: mode.share for name, mode in _instances(failing)}
    whole = sum(shares.values()) or 1.0
    scale = failing.spec.fails / whole if weights else 1.0
    modes = []
    for name, spec in _instances(failing):
        rate = weights.get(name, shares[name] * scale)
        alternatives = _alternatives(name, spec, failing)
        if alternatives and rate > 0:
            modes.append(_mode(name, spec, rate, alternatives))
    return tuple(modes)


def whole_weight(failing: Failing, given: float | None, weights: Mapping[str, float]) -> float:
    """The weight of the part against others."""
    if weights:
        return sum(mode.rate for mode in modes_of(failing, weights))
    return failing.spec.fails if given is None else given


Alternatives = tuple[tuple[float, tuple[Change, ...]], ...]


def _mode(name: str, spec: ModeSpec, rate: float, alternatives: Alternatives) -> Mode:
    return Mode(
        name=name,
        rate=rate,
        alternatives=alternatives,
        acting=spec.acting,
        looks=spec.looks,
        repair=spec.repair,
        by=spec.by,
        about=spec.about,
        earlier_hand=spec.by_hand,
        provoked=spec.provoked_by,
    )


def _instances(failing: Failing) -> Iterator[tuple[str, ModeSpec]]:
    """Each mode with its name; one with a star once for each line of the chart."""
    for name, spec in failing.spec.modes.items():
        if not all(_is_so(value, wanted, failing) for value, wanted in spec.only_when.items()):
            continue
        if _EACH in name:
            for key in failing.chart():
                yield name.replace(_EACH, key), _with_key(spec, key)
        else:
            yield name, spec


def _is_so(value: str, wanted: str, failing: Failing) -> bool:
    found = failing.values[value]
    return found == templates.flag(wanted, {}) if isinstance(found, bool) else found == wanted


def _with_key(spec: ModeSpec, key: str) -> ModeSpec:
    def put(changes: tuple[ChangeSpec, ...]) -> tuple[ChangeSpec, ...]:
        return tuple({k: key if v == _EACH else v for k, v in change.items()} for change in changes)

    return spec.model_copy(update={"does": put(spec.does), "alternatives": tuple(map(put, spec.alternatives))})


def _alternatives(name: str, spec: ModeSpec, failing: Failing) -> Alternatives:
    sets = [changes for does in (spec.does, *spec.alternatives) for changes in _vary(does, failing)]
    sets = [changes for changes in sets if changes]
    return tuple((1 / len(sets), changes) for changes in sets)


def _vary(does: tuple[ChangeSpec, ...], failing: Failing) -> Iterator[tuple[Change, ...]]:
    """One set of changes for each of the amounts that are listed; lists vary together."""
    longest = max((len(c["amount"]) for c in does if isinstance(c.get("amount"), tuple)), default=1)
    for index in range(longest):
        made = [_change(change, index, failing) for change in does]
        yield tuple(change for change in made if change is not None)


def _change(spec: ChangeSpec, index: int, failing: Failing) -> Change | None:
    kind = next(key for key in spec if key in KINDS)
    what, to = _target(kind, _text(spec[kind]), failing), spec.get("to")
    amount = spec.get("amount")
    if isinstance(amount, tuple):
        amount = amount[index % len(amount)]
    number = templates.number(amount, KINDS[kind], failing.values) if amount is not None else 0.0
    other = _target("bridged", _text(to), failing) if to is not None and kind != "stands" else _text(to or "")
    if what is None or other is None:
        return None
    return Change(kind, what, number, other)


def _text(found: str | tuple[str, ...]) -> str:
    assert isinstance(found, str)
    return found


def _target(kind: str, name: str, failing: Failing) -> str | None:
    """The full name of what changes; None where it is not there."""
    if name.startswith("$"):
        found = failing.values[name[1:]]
        return found if isinstance(found, str) else None
    if name == "frame":
        return failing.frame or None
    if name == "self":
        return failing.part or "self"
    if kind == "stands":
        return name
    return f"{failing.part}.{name}"
