"""A network as a SPICE deck, which a circuit simulator runs in batch as it is.

Knows `network` only. An open branch is left out; strays stay in, or floating nodes would be undefined.
Elements of branch k end in b<k>, strays in s<node>, copies of currents in c<number>.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from halfsplit.circuit import network as nw

_OWN = "zz_"


def node_labels(names: Sequence[str]) -> list[str]:
    """A distinct SPICE node name for each name: lower case, letters, digits and _, never a reserved one.

    >>> node_labels(["heater.L1", "heater-l1", "7 pin", "GND"])
    ['heater_l1', 'heater_l1_2', 'n_7_pin', 'n_gnd']
    """
    labels: list[str] = []
    taken: set[str] = set()
    for name in names:
        label = _plain(name)
        tries = (label if number == 1 else f"{label}_{number}" for number in range(1, len(names) + 2))
        labels.append(next(text for text in tries if text not in taken))
        taken.add(labels[-1])
    return labels


def _plain(name: str) -> str:
    label = re.sub(r"[^a-z0-9_]", "_", name.lower())
    return label if label[:1].isalpha() and label != "gnd" and not label.startswith(_OWN) else f"n_{label}"


def deck(
    network: nw.Network, edits: nw.Edits, node_names: Sequence[str], frequency: float, title: str = "network"
) -> str:
    """A deck for one frequency [Hz, above 0] that prints every node's phasor, `v(label) = re,im`, and ends.

    node_names: (nodes,) names; the comment lines `* label = name` tell which is which. The title is the first
    line. Raises NetworkError for impossible edits, ValueError for a wrong frequency or count of names.
    """
    if not (frequency > 0 and len(node_names) == network.nodes):
        raise ValueError(f"a deck needs a frequency above 0 and {network.nodes} node names")
    edited, labels = nw.apply(network, edits), node_labels(node_names)
    omega = 2 * math.pi * frequency
    lines = [*_head(title, labels, node_names), ".options noopac", *_elements(edited, labels, omega)]
    prints = [f"print v({label})" for label in labels]
    f = repr(float(frequency))
    return _closed(lines, [f"ac lin 1 {f} {f}", *prints])


def ohms_deck(network: nw.Network, edits: nw.Edits, pairs: nw.Array, title: str = "ohms") -> str:
    """A deck that sends 1 A through each pair (P, 2) in turn, prints `ohms_<number> = value` each, and ends.

    Direct current: the real parts of impedances and strays, no emf, no coupling. Nodes are n0, n1, ...
    """
    edited = nw.apply(network, edits)
    labels = [f"n{node}" for node in range(edited.nodes)]
    still = nw.Network(
        edited.nodes, edited.tail, edited.head, edited.impedance.real, edited.closed,
        np.zeros(edited.branches), (), edited.stray.real, edited.ground,
    )  # fmt: skip
    ends = [(labels[a], labels[b]) for a, b in np.asarray(pairs).reshape(-1, 2)]
    sources = [f"itest{p} {b} {a} dc 0" for p, (a, b) in enumerate(ends)]
    control = [line for p, (a, b) in enumerate(ends) for line in _one_pair(p, a, b)]
    return _closed([*_head(title, labels, labels), *_elements(still, labels, 1.0), *sources], control)


def _one_pair(p: int, a: str, b: str) -> Iterator[str]:
    yield f"alter itest{p} dc = 1"
    yield "op"
    yield f"let ohms_{p} = v({a}) - v({b})"
    yield f"print ohms_{p}"
    yield f"alter itest{p} dc = 0"


def _head(title: str, labels: Sequence[str], names: Sequence[str]) -> Iterator[str]:
    yield " ".join(title.split()) or "network"
    for label, name in zip(labels, names, strict=True):
        yield f"* {label} = {' '.join(name.split())}"


def _closed(lines: Iterable[str], control: Iterable[str]) -> str:
    return "\n".join([*lines, ".control", "set numdgt=16", *control, "quit", ".endc", ".end", ""])


def _elements(network: nw.Network, labels: Sequence[str], omega: float) -> Iterator[str]:
    yield f"vground {labels[network.ground]} 0 dc 0"
    for node in np.flatnonzero(network.stray).tolist():
        if node != network.ground:
            yield from _shunt(f"s{node}", labels[node], complex(network.stray[node]), omega)
    felt = [c for c in network.coupling if network.closed[c[0]] and network.closed[c[1]]]
    for number, (_, source, z) in enumerate(felt):
        yield from _copy(number, source, z, omega)
    sensed = {source for _, source, _ in felt}
    for k in np.flatnonzero(network.closed):
        felt_here = [(number, z) for number, (row, _, z) in enumerate(felt) if row == k]
        yield from _branch(network, int(k), labels, omega, int(k) in sensed, felt_here)


def _shunt(name: str, label: str, siemens: complex, omega: float) -> Iterator[str]:
    if siemens.real:
        yield f"r{name} {label} 0 {_number(1 / siemens.real)}"
    if siemens.imag > 0:
        yield f"c{name} {label} 0 {_number(siemens.imag / omega)}"
    if siemens.imag < 0:
        yield f"l{name} {label} 0 {_number(-1 / (omega * siemens.imag))}"


def _copy(number: int, source: int, z: complex, omega: float) -> Iterator[str]:
    """The current of branch `source` sent through z (through -z where it is capacitive) from its own node."""
    node = f"{_OWN}c{number}"
    yield f"fc{number} 0 {node} vb{source} 1"
    yield from _chain(node, "0", f"{_OWN}c{number}", [*_parts(f"c{number}", z if z.imag >= 0 else -z, omega)])


def _branch(
    network: nw.Network,
    k: int,
    labels: Sequence[str],
    omega: float,
    sensed: bool,
    felt: list[tuple[int, complex]],
) -> Iterator[str]:
    z, emf = complex(network.impedance[k]), complex(network.emf[k])
    parts = [*_parts(f"b{k}", z, omega)]
    if emf:
        parts.insert(0, (f"vb{k}", f"dc 0 ac {_number(abs(emf))} {_number(_degrees(-emf))}"))
    elif sensed or not parts:
        parts.insert(0, (f"vb{k}", "dc 0"))
    for number, drop in felt:
        gain = 1 if drop.imag >= 0 else -1
        parts.append((f"eb{k}_{number}", f"{_OWN}c{number} 0 {gain}"))
    yield from _chain(labels[network.tail[k]], labels[network.head[k]], f"{_OWN}b{k}", parts)


def _parts(name: str, z: complex, omega: float) -> Iterator[tuple[str, str]]:
    """Elements in series that make z: a resistor, and an inductor or a capacitor."""
    if z.real:
        yield f"r{name}", _number(z.real)
    if z.imag > 0:
        yield f"l{name}", _number(z.imag / omega)
    if z.imag < 0:
        yield f"c{name}", _number(-1 / (omega * z.imag))


def _chain(start: str, end: str, inner: str, parts: list[tuple[str, str]]) -> Iterator[str]:
    nodes = [start, *(f"{inner}_{step}" for step in range(1, len(parts))), end]
    for (name, value), a, b in zip(parts, nodes, nodes[1:], strict=False):
        yield f"{name} {a} {b} {value}"


def _degrees(phasor: complex) -> float:
    return math.degrees(math.atan2(phasor.imag, phasor.real))


def _number(value: float) -> str:
    return f"{value:.17g}"
