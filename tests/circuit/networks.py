"""Random networks like those of a machine, and random edits to them, for all tests of the circuit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from halfsplit.circuit import network as nw


@dataclass(frozen=True)
class Recipe:
    """What kind of network: sizes, AC or DC, with induced volts or not, with an emf or at rest."""

    nodes: int = 20
    spare: int = 6
    ac: bool = True
    coupled: bool = False
    driven: bool = True
    dc_stray: float = 1e-8


def random_network(rng: np.random.Generator, recipe: Recipe) -> nw.Network:
    """A tree of contacts and loads, `spare` further branches; 0 and 1 are supplies at the ground, node 0."""
    n, m = recipe.nodes, recipe.nodes - 1 + recipe.spare
    tail, head = _ends(rng, n, m)
    kind = rng.choice(3, m, p=[0.62, 0.26, 0.12])
    impedance = np.where(kind == 1, _loads(rng, m, recipe.ac), rng.uniform(1e-3, 1e-2, m))
    emf = np.zeros(m, complex)
    tail[:2], head[:2], kind[:2] = 0, [1, n - 1], 1
    impedance[:2] = 0.05 + (0.02j if recipe.ac else 0)
    if recipe.driven:
        emf[:2] = [120.0, 120.0 * np.exp(2.5j) if recipe.ac else 240.0]
    coupling = _couplings(rng, np.flatnonzero(kind[2:]) + 2) if recipe.coupled else ()
    stray = rng.uniform(1, 3, n) * (1e-8j + 1e-9 if recipe.ac else recipe.dc_stray)
    return nw.Network(n, tail, head, impedance, kind != 2, emf, coupling, stray, 0)


def _ends(rng: np.random.Generator, n: int, m: int) -> tuple[nw.Array, nw.Array]:
    tree = np.array([rng.integers(max(0, node - 6), node) for node in range(1, n)])
    tail = np.concatenate([tree, rng.integers(n, size=m - n + 1)])
    step = rng.integers(1, n, size=m - n + 1)
    return tail, np.concatenate([np.arange(1, n), (tail[n - 1 :] + step) % n])


def _loads(rng: np.random.Generator, m: int, ac: bool) -> nw.Array:
    ohms = 10 ** rng.uniform(0.7, 4, m)
    return ohms * (1 + 1j * rng.uniform(-0.5, 1, m)) if ac else ohms + 0j


def _couplings(rng: np.random.Generator, loads: nw.Array) -> nw.Coupling:
    pairs = zip(loads[::2], loads[1::2], strict=False)
    return tuple(
        (int(k), int(j), complex(sign * z))
        for a, b in pairs
        for z in [complex(*rng.normal(0, 4, 2))]
        for k, j, sign in ((a, b, 1), (b, a, -1))
    )


def random_edits(rng: np.random.Generator, network: nw.Network, count: int, ac: bool) -> nw.Edits:
    """An edit list of `count` edits: opened, closed, drifted, or bridged."""
    return tuple(_random_edit(rng, network, ac) for _ in range(count))


def _random_edit(rng: np.random.Generator, network: nw.Network, ac: bool) -> nw.Edit:
    k = int(rng.integers(network.branches))
    z = complex(_loads(rng, 1, ac)[0])
    a = int(rng.integers(network.nodes))
    b = int((a + rng.integers(1, network.nodes)) % network.nodes)
    edits: list[nw.Edit] = [
        nw.opened(k),
        nw.Rebranch(k, True, complex(rng.uniform(1e-3, 1e-2))),
        nw.Rebranch(k, True, z, emf=complex(rng.uniform(0, 100)), coupled=bool(rng.integers(2))),
        nw.Rebranch(k, True, z),
        nw.Bridge(a, b, complex(rng.uniform(1e-3, 1e-2))),
        nw.Bridge(a, b, z),
    ]
    return edits[int(rng.integers(len(edits)))]


def edit_lists(rng: np.random.Generator, network: nw.Network, ac: bool, cases: int = 30) -> list[nw.Edits]:
    """Edit lists of none to three edits."""
    return [random_edits(rng, network, int(rng.integers(4)), ac) for _ in range(cases)]


seeds = st.integers(0, 2**32 - 1)
recipes = st.builds(
    Recipe, nodes=st.integers(4, 30), spare=st.integers(2, 9), ac=st.booleans(), coupled=st.booleans()
).filter(lambda recipe: recipe.ac or not recipe.coupled)
