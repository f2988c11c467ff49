"""A fault's changes made ready for one machine: edits of its networks, and what its behaviour may no longer do.

Knows the assembly's numbers and the changes of machine/model.py. An edit depends on the state (adding ohms to an
open contact changes nothing), so an effect keeps operations and `edits` turns them into edits of one network.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from halfsplit.circuit import assembly, network
from halfsplit.machine import model


@dataclass(frozen=True)
class Operation:
    """open | shut | add | scale | sag on branch k; bridge from node a to node b while branch k (if any) is closed.

    `far`: the node at the other end of a wire (branch k) that is bridged: taken off at a, it is bridged there still.
    """

    kind: str
    k: int = -1
    amount: float = 0.0
    a: int = -1
    b: int = -1
    far: int = -1


@dataclass(frozen=True)
class Effect:
    """What one alternative of a fault (or several faults together) does to one machine."""

    operations: tuple[Operation, ...] = ()
    stands: Mapping[str, str] = field(default_factory=dict)
    shifts: Mapping[str, float] = field(default_factory=dict)
    halted: frozenset[str] = frozenset()
    failed: frozenset[str] = frozenset()
    as_left: Mapping[str, str] = field(default_factory=dict)
    """Where controls stood for the owner alone: on the bench they stand where they are set."""

    def with_(self, other: Effect) -> Effect:
        """Both at once."""
        return Effect(
            self.operations + other.operations,
            {**self.stands, **other.stands},
            {**self.shifts, **other.shifts},
            self.halted | other.halted,
            self.failed | other.failed,
            {**self.as_left, **other.as_left},
        )

    def for_the_owner(self) -> Effect:
        """As the owner met it.

        >>> left = Effect(as_left={"heat": "off"})
        >>> left.for_the_owner().stands, left.on_the_bench() is HEALTHY
        ({'heat': 'off'}, True)
        """
        return replace(self, stands={**self.stands, **self.as_left}, as_left={}) if self.as_left else self

    def on_the_bench(self) -> Effect:
        """As it is found: nothing stands where it was not set."""
        rest = replace(self, as_left={}) if self.as_left else self
        return HEALTHY if rest == HEALTHY else rest


HEALTHY = Effect()
SHUT_OHMS = 0.01


def effect(built: assembly.Assembly, changes: Iterable[model.Change]) -> Effect:
    """The effect of a set of changes on the assembled machine."""
    changes = tuple(changes)
    return Effect(
        tuple(operation for change in changes for operation in _operations(built, change)),
        {c.what: c.to for c in changes if c.kind == "stands"},
        {c.what: c.amount for c in changes if c.kind == "shifted"},
        frozenset(c.what for c in changes if c.kind == "halted"),
        frozenset(c.what for c in changes if c.kind == "failed"),
    )


def _operations(built: assembly.Assembly, change: model.Change) -> list[Operation]:
    match change.kind:
        case "opened":
            return [Operation("open", built.branches[change.what])]
        case "shut":
            return [Operation("shut", built.branches[change.what])]
        case "added ohms":
            return [Operation("add", built.branches[change.what], change.amount)]
        case "scaled":
            return [Operation("scale", built.branches[change.what], change.amount)]
        case "sagged":
            return [Operation("sag", built.branches[change.what], change.amount)]
        case "bridged":
            return _bridge(built, change)
        case "swapped":
            return _swap(built, change.what, change.to)
    return []


def _bridge(built: assembly.Assembly, change: model.Change) -> list[Operation]:
    a, b = _node(built, change.what), _node(built, change.to)
    wire = built.branches[change.what] if change.what in built.landing else -1
    far = int(built.head[wire]) if wire >= 0 else -1
    return [Operation("bridge", wire, change.amount, a, b, far)] if a != b else []


def _node(built: assembly.Assembly, what: str) -> int:
    """The node of a terminal, or the first end of a wire or an element."""
    return built.nodes[what] if what in built.nodes else int(built.tail[built.branches[what]])


def _swap(built: assembly.Assembly, first: str, second: str) -> list[Operation]:
    """The wires of two terminals exchanged: each joint opens, and its far side lands on the other terminal."""
    k, j = built.branches[assembly.joint_at(first)], built.branches[assembly.joint_at(second)]
    if k == j:
        return []
    a, b = built.nodes[first], built.nodes[second]
    far_k = int(built.head[k] if built.tail[k] == a else built.tail[k])
    far_j = int(built.head[j] if built.tail[j] == b else built.tail[j])
    bridges = [Operation("bridge", j, assembly.JOINT_OHMS, a, far_j)] if far_j != a else []
    bridges += [Operation("bridge", k, assembly.JOINT_OHMS, b, far_k)] if far_k != b else []
    return [*bridges, Operation("open", k), Operation("open", j)]


def edits(operations: Iterable[Operation], of: network.Network, off: Collection[int] = ()) -> network.Edits:
    """The edits that these operations make to a network; empty where the state hides them. off: the nodes of the
    terminals whose wires are off: what bridges a wire goes with it to its other end, and hangs free with both off."""
    made: list[network.Edit] = []
    impedance: dict[int, complex] = {}
    for op in operations:
        closed = op.k < 0 or bool(of.closed[op.k])
        if op.kind == "bridge":
            ends = (op.a,) if closed else tuple(end for end in _along(op) if end not in off)
            made += [network.Bridge(end, op.b, op.amount) for end in ends[:1] if end != op.b]
        elif op.kind == "shut" and not closed:
            made.append(network.Rebranch(op.k, True, SHUT_OHMS))
        elif op.kind == "open" and closed:
            made.append(network.Rebranch(op.k, False))
        elif op.kind in ("add", "scale", "sag") and closed:
            z = impedance.get(op.k, complex(of.impedance[op.k]))
            made.append(_altered(op, z, complex(of.emf[op.k])))
            impedance[op.k] = made[-1].impedance
    return tuple(made)


def _along(bridge: Operation) -> tuple[int, ...]:
    """The ends of the wire that is bridged; none where it is no wire."""
    return (bridge.a, bridge.far) if bridge.far >= 0 else ()


def _altered(op: Operation, z: complex, emf: complex) -> network.Rebranch:
    if op.kind == "add":
        return network.Rebranch(op.k, True, z + op.amount)
    if op.kind == "scale":
        return network.Rebranch(op.k, True, z * op.amount)
    return network.Rebranch(op.k, True, z, emf * op.amount)
