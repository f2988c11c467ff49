"""The elements of one part: the templates of its type with the part's values.

Knows one part; the elements and devices are named `part.element`, the ends `part.terminal`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from halfsplit.machine import amounts
from halfsplit.machine.expand import templates
from halfsplit.machine.expand.values import Values
from halfsplit.machine.part_types import (
    CapacitorSpec,
    ChartSpec,
    ContactSpec,
    ImpedanceSpec,
    PartType,
    SensorSpec,
    SourceSpec,
    WindingSpec,
)
from halfsplit.machine.primitives import (
    ByControl,
    ByDevice,
    Capacitor,
    Contact,
    Element,
    Impedance,
    Sensor,
    Source,
    Value,
    When,
    Winding,
)

__all__ = ["FITTED", "chart_ends", "elements_of", "terminals_of"]

FITTED = "fitted"


def terminals_of(spec: PartType, values: Values) -> tuple[str, ...]:
    """The terminals of a part: as its type has them, or those of its chart and of its other elements."""
    if spec.terminals != "from chart":
        return spec.terminals
    found: dict[str, None] = {}
    for element in spec.elements.values():
        if isinstance(element, ChartSpec):
            for key in _chart(element, values):
                found.update(dict.fromkeys(chart_ends(key)))
        else:
            found.update(dict.fromkeys(templates.pair(element.ends, values)))
    return tuple(found)


def _chart(spec: ChartSpec, values: Values) -> Mapping[str, tuple[str, ...]]:
    chart = values[spec.chart[1:]]
    assert isinstance(chart, dict)
    return chart


def chart_ends(key: str) -> tuple[str, str]:
    """The two terminals of a line of a chart.

    >>> chart_ends("line 2-heat")
    ('line 2', 'heat')
    """
    first, second = key.split("-")
    return first.strip(), second.strip()


def elements_of(part: str, spec: PartType, values: Values) -> Iterator[Element]:
    """The elements of a part; raises ``WrongUse`` where its values cannot be."""
    for name, element in spec.elements.items():
        if isinstance(element, ChartSpec):
            yield from _contacts(part, element, spec, values)
        else:
            yield _MAKERS[type(element)](part, f"{part}.{name}", element, spec, values)


def _ends(part: str, template: tuple[str, str] | str, values: Values) -> tuple[str, str]:
    first, second = (end if "." in end else f"{part}.{end}" for end in templates.pair(template, values))
    return first, second


def _contacts(part: str, chart: ChartSpec, spec: PartType, values: Values) -> Iterator[Contact]:
    control, ohms = templates.name(chart.control, values), templates.amount(chart.ohms, "ohm", values)
    more = conditions(part, chart.when, spec, values)
    for key, positions in _chart(chart, values).items():
        first, second = chart_ends(key)
        when = (ByControl(control, frozenset(positions)), *more)
        yield Contact(f"{part}.{key}", part, (f"{part}.{first}", f"{part}.{second}"), ohms, when)


def conditions(
    part: str, when: tuple[dict[str, tuple[str, ...]], ...], spec: PartType, values: Values
) -> tuple[When, ...]:
    """What closes a contact: each key is a device of the part, the value `control`, or a control of the machine."""
    found: list[When] = []
    for condition in when:
        for key, template in condition.items():
            wanted = templates.names(template, values)
            if key in spec.devices:
                found.append(ByDevice(f"{part}.{key}", amounts.truth(wanted[0])))
            else:
                control = templates.name(f"${key}", values) if key in spec.values else key
                found.append(ByControl(control, frozenset(wanted)))
    return tuple(found)


def _contact(part: str, name: str, element: ContactSpec, spec: PartType, values: Values) -> Contact:
    when = conditions(part, element.when, spec, values)
    if element.fitted is not None:
        when = (ByControl(templates.name("$control", values), frozenset({FITTED})), *when)
    return Contact(name, part, _ends(part, element.ends, values), templates.amount(element.ohms, "ohm", values), when)


def _impedance(part: str, name: str, element: ImpedanceSpec, spec: PartType, values: Values) -> Impedance:
    ohms = templates.amount(element.ohms, "ohm", values)
    other = element.other_live if element.other_live is not None else element.live
    return Impedance(
        name,
        part,
        _ends(part, element.ends, values),
        ohms,
        live=templates.live(element.live, ohms.nominal, values),
        device=f"{part}.{element.device}" if element.device else "",
        other_live=templates.live(other, ohms.nominal, values),
        load=element.load,
        rated=_rated(spec, values),
    )


def _rated(spec: PartType, values: Values) -> float:
    """The volts that a part is made for, by its file or its type; 0 where neither says."""
    given = (values[name] for name, value in spec.values.items() if value.kind == "V" and name.endswith("volts"))
    return next((volts.nominal for volts in given if isinstance(volts, Value)), 0.0)


def _winding(part: str, name: str, element: WindingSpec, spec: PartType, values: Values) -> Winding:
    ohms, turns = templates.amount(element.ohms, "ohm", values), templates.number(element.turns, "number", values)
    ends = _ends(part, element.ends, values)
    return Winding(name, part, ends, ohms, f"{part}.{element.motor}", element.role, turns, element.load)


def _capacitor(part: str, name: str, element: CapacitorSpec, spec: PartType, values: Values) -> Capacitor:
    return Capacitor(name, part, _ends(part, element.ends, values), templates.amount(element.farads, "F", values))


def _sensor(part: str, name: str, element: SensorSpec, spec: PartType, values: Values) -> Sensor:
    curve = values[element.curve[1:]]
    assert isinstance(curve, tuple)
    relative = templates.number(element.relative, "number", values)
    place = templates.name(element.place, values)
    return Sensor(name, part, _ends(part, element.ends, values), place, curve, relative)  # type: ignore[arg-type]


def _source(part: str, name: str, element: SourceSpec, spec: PartType, values: Values) -> Source:
    resistance, reactance = (amounts.number(text) for text in element.impedance)
    volts, degrees = templates.amount(element.volts, "V", values), templates.number(element.degrees, "number", values)
    return Source(name, part, _ends(part, element.ends, values), volts, degrees, complex(resistance, reactance))


_MAKERS: dict[type, Callable[[str, str, Any, PartType, Values], Element]] = {
    ContactSpec: _contact,
    ImpedanceSpec: _impedance,
    WindingSpec: _winding,
    CapacitorSpec: _capacitor,
    SensorSpec: _sensor,
    SourceSpec: _source,
}
