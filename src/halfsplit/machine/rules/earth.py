"""Rules about protective earth and the size of the supply's conductors. Sources stand with each."""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import amounts, supplies, wiring
from halfsplit.machine.expand.machine import Sheet
from halfsplit.machine.rules.facts import Flaw, earth_terminals, own_wires, rest_nets

__all__ = ["earth_colour_on_live", "earth_wire_colour", "frame_not_earthed", "no_frame", "thin_supply"]

_EARTH = ("GN", "YE")
_GREEN_HERTZ = 60.0  # where the mains has 60 Hz, plain green is earth too (NEC 250.119, from memory)

# Amps: smallest cross-section in mm². NEC 240.4(D): 14 AWG 15 A, 12 AWG 20 A, 10 AWG 30 A; above, NEC table
# 310.16 at 60 °C (8 AWG 40 A, 6 AWG 55 A), from memory; flexible cords NEC 240.5(B), from memory: 18 AWG to 20 A.
_CABLE = ((15, 14), (20, 12), (30, 10), (40, 8), (55, 6))
_CORD = ((20, 18), (30, 10), (40, 8), (55, 6))
_METRIC_CABLE = ((10, 1.0), (16, 1.5), (20, 2.5), (32, 4.0), (40, 6.0))  # IEC 60364-5-52, from memory
_METRIC_CORD = ((16, 0.75), (20, 1.5), (32, 4.0), (40, 6.0))


def earth_colour_on_live(sheet: Sheet) -> Iterator[Flaw]:
    """A wire has the colours that belong to protective earth alone, and is none (IEC 60445)."""
    earth = earth_terminals(sheet.machine)
    for wire, path in own_wires(sheet):
        if wire.colours == _EARTH and not all(end in earth for end in wire.ends):
            message = "GNYE is the colour of protective earth, and this wire is none."
            yield Flaw(path, message, "Look at its colour, and at both of its ends.")


def earth_wire_colour(sheet: Sheet) -> Iterator[Flaw]:
    """A wire of protective earth, or one that goes to the frame, has another colour than it must."""
    earth = earth_terminals(sheet.machine)
    good = {_EARTH, ("GN",)} if sheet.machine.supply.hertz == _GREEN_HERTZ else {_EARTH}
    for wire, path in own_wires(sheet):
        if any(end in earth for end in wire.ends) and wire.colours not in good:
            message = f"This wire goes to protective earth and is {''.join(wire.colours)}."
            yield Flaw(path, message, "It is GNYE, or one of its ends is wrong.")


def frame_not_earthed(sheet: Sheet) -> Iterator[Flaw]:
    """Nothing joins the frame with the earth of the house: a fault to frame would stay unnoticed and deadly."""
    machine = sheet.machine
    if machine.frame and not rest_nets(machine).same(machine.frame, machine.supply.earth):
        message = f"'{sheet.file.frame}' is not joined with protective earth."
        yield Flaw(("frame",), message, "Let PE of the supply meet it, or fit the strap where the cord has no earth.")


def no_frame(sheet: Sheet) -> Iterator[Flaw]:
    """A part of type frame was written down and `frame:` forgotten, so that no fault to frame is known."""
    frames = [name for name, part in sheet.machine.parts.items() if part.symbol == "frame"]
    if frames and not sheet.machine.frame:
        yield Flaw(
            ("parts", frames[0]), "The file does not say which part is the frame.", f"Write `frame: {frames[0]}`."
        )


def thin_supply(sheet: Sheet) -> Iterator[Flaw]:
    """Cable or cord is thinner than the breaker allows: a gauge or the breaker's amps are wrong."""
    given = sheet.file.supply.values
    metric = sheet.machine.supply.hertz != _GREEN_HERTZ
    amps = _amps(sheet)
    for name, table in _tables(metric).items():
        text = given.get(name)
        if amps is None or not isinstance(text, str):
            continue
        run = wiring.read_run(text)
        least = next((size for limit, size in table if amps <= limit), None)
        if least is None or run.area < (float(least) if metric else wiring.awg_area(int(least))) * 0.99:
            wanted = f"{least} mm2" if metric else f"{least} AWG"
            remedy = f"{amps:g} A need at least {wanted}." if least else "Look at the breaker's amps."
            yield Flaw(("supply", name), f"A {name} of {run.gauge} is too thin for {amps:g} A.", remedy)


def _tables(metric: bool) -> dict[str, tuple[tuple[float, float], ...]]:
    return {"cable": _METRIC_CABLE, "cord": _METRIC_CORD} if metric else {"cable": _CABLE, "cord": _CORD}


def _amps(sheet: Sheet) -> float | None:
    """The breaker's amps, as the file or its supply system says."""
    spec = supplies.table()[sheet.file.supply.system].values.get("breaker")
    text = sheet.file.supply.values.get("breaker", spec.default if spec else None)
    return amounts.value(text, "A").nominal if isinstance(text, str) else None
