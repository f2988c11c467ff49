"""What moves a machine's devices, as lines of a deck: volts, amps, temperature, torque and speed, each with its delay.

Knows a device of a machine file and the names of a deck's nodes; imports nothing of Halfsplit's circuit or operate.
A device's state is the node `s_<tag>`: 1 in its other state, else 0. Times are those of the file, shortened alike
so that their order stays: a breaker before a motor that stops, this before one that starts, a bimetal last.
"""

from __future__ import annotations

from collections.abc import Iterator

from halfsplit.machine import primitives
from tests.judges import rotor

SHORTER, LONGEST = 0.15, 0.35
MEAN_SECONDS = 0.015
SPEED_UP, SLOW_DOWN = 0.08, 0.045
TINY_AMPS = 2e-3


def shortened(seconds: float) -> float:
    """Seconds in the deck."""
    return min(SHORTER * seconds, LONGEST)


def thermostat(tag: str, device: primitives.Thermostat, shift: float) -> Iterator[str]:
    """A switch with hysteresis on the temperature of its place; one that does not reset by itself never returns."""
    trips = device.trips.nominal + shift
    returns = device.returns.nominal + shift if device.resets == "itself" else -1e4
    middle, half = (trips + returns) / 2, max((trips - returns) / 2, 1e-3)
    yield f".model m_{tag} sw(vt={middle!r} vh={half!r} ron=1 roff=1meg)"
    yield f"s_{tag} one s_{tag} place_{node(device.place)} 0 m_{tag}"
    yield f"r_{tag} s_{tag} 0 10k"


def overcurrent(tag: str, sense: str, amps: float, seconds: float) -> Iterator[str]:
    """A current-controlled switch on the mean square of the amps; what has tripped stays."""
    yield from mean_square(f"i_{tag}", f"i({sense})", 40 * amps)
    yield f".model w_{tag} csw(it={amps**2!r} ih={1e-3 * amps**2!r} ron=1 roff=1meg)"
    yield f"w_{tag} one want_{tag} vi_{tag} w_{tag}"
    yield f"rw_{tag} want_{tag} 0 10k"
    delay = shortened(seconds)
    yield from delayed(tag, f"v(want_{tag}) + v(s_{tag})", delay, delay)


def relay(tag: str, a: str, b: str, sense: str, device: primitives.Relay) -> Iterator[str]:
    """A voltage-controlled switch that pulls and drops, while the coil carries current."""
    yield from _fed(tag, a, b, sense, device.pulls, device.drops)
    yield from delayed(tag, f"v(want_{tag})", 0.02, 0.02)


def plain_motor(tag: str, a: str, b: str, sense: str, device: primitives.Motor, halted: bool) -> Iterator[str]:
    """Turns while it is fed enough."""
    enough = device.stops * device.rated
    yield from _fed(tag, a, b, sense, enough, enough)
    yield from delayed(tag, "0" if halted else f"v(want_{tag})", SPEED_UP, SLOW_DOWN)


def two_winding_motor(
    tag: str, ends: tuple[str, str], senses: tuple[str, str], made: rotor.Rotor, device: primitives.Motor, halted: bool
) -> Iterator[str]:
    """Pulls away by its torque, keeps turning while main is fed; the centrifugal switch acts at 3/4 of its speed."""
    enough, torque = device.stops * device.rated, device.starts * abs(made.standstill_torque(device.rated))
    yield from rotor.axes(tag, made, *senses)
    yield f"bq_{tag} 0 mean_{tag} i = v(t_{tag})"
    yield f"rq_{tag} mean_{tag} 0 1"
    yield f"cq_{tag} mean_{tag} 0 0.03"
    yield from _fed(tag, *ends, senses[0], enough, enough)
    yield f"bd_{tag} 0 way_{tag} i = v(n_{tag}) < 0.3 ? 200 * ((v(mean_{tag}) >= 0 ? 1 : -1) - v(way_{tag})) : 0"
    yield f"cd_{tag} way_{tag} 0 1"
    yield f"bw_{tag} w_{tag} 0 v = {made.omega!r} * v(n_{tag}) * v(way_{tag})"
    pulls = f"(v(n_{tag}) < 0.3 ? abs(v(mean_{tag})) >= {torque!r} : v(want_{tag}) > 0.5)"
    yield from _integrated(f"n_{tag}", "0" if halted else pulls, SPEED_UP, SLOW_DOWN, 0.95)
    yield from _state(tag, f"n_{tag}", 0.75, 0.4)


def _fed(tag: str, a: str, b: str, sense: str, on: float, off: float) -> Iterator[str]:
    """`want_tag` is 1 while the volts are enough and some current flows; without a sense none flows."""
    yield from mean_square(f"v_{tag}", f"v({a}) - v({b})", 3 * on)
    middle, half = (on**2 + off**2) / 2, max((on**2 - off**2) / 2, 1e-3 * on**2)
    yield f".model f_{tag} sw(vt={middle!r} vh={half!r} ron=1 roff=1meg)"
    yield f"sf_{tag} one fed_{tag} msv_{tag} 0 f_{tag}"
    yield f"rf_{tag} fed_{tag} 0 10k"
    if not sense:
        yield f"rw_{tag} want_{tag} 0 1"
        return
    yield from mean_square(f"a_{tag}", f"i({sense})", 1e3)
    yield f".model g_{tag} sw(vt={TINY_AMPS**2!r} vh={TINY_AMPS**2 / 10!r} ron=1 roff=1meg)"
    yield f"sg_{tag} fed_{tag} want_{tag} msa_{tag} 0 g_{tag}"
    yield f"rw_{tag} want_{tag} 0 10k"


def mean_square(tag: str, what: str, most: float) -> Iterator[str]:
    """Node `ms<tag>` is the mean square over some 15 ms, and so is the current of `v<tag>`; spikes count `most`."""
    yield f"b{tag} 0 ms{tag} i = min(({what}) * ({what}), {most**2!r})"
    yield f"c{tag} ms{tag} 0 {MEAN_SECONDS}"
    yield f"r{tag} ms{tag} g{tag} 1"
    yield f"v{tag} g{tag} 0 0"


def delayed(tag: str, wants: str, on: float, off: float) -> Iterator[str]:
    """The state follows a wish (above 0.5) after its delays."""
    yield from _integrated(f"x_{tag}", f"(({wants}) > 0.5)", on, off, 1.0)
    yield from _state(tag, f"x_{tag}", 0.95, 0.05)


def _integrated(name: str, wish: str, up: float, down: float, top: float) -> Iterator[str]:
    falls = f"(v({name}) > 0 ? {-top / down!r} : 0)"
    yield f"b{name} 0 {name} i = {wish} ? (v({name}) < {top} ? {top / up!r} : 0) : {falls}"
    yield f"c{name} {name} 0 1"


def _state(tag: str, by: str, on: float, off: float) -> Iterator[str]:
    yield f".model m_{tag} sw(vt={(on + off) / 2!r} vh={(on - off) / 2!r} ron=1 roff=1meg)"
    yield f"s_{tag} one s_{tag} {by} 0 m_{tag}"
    yield f"r_{tag} s_{tag} 0 10k"


def node(name: str) -> str:
    """A name as a deck can hold it; blanks and full stops differ."""
    return name.lower().replace(".", "_o_").replace(" ", "_").replace("~", "h_").replace("-", "_m_")
