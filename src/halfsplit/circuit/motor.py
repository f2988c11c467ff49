"""The single-phase induction motor with two windings, by the double revolving field.

Plain ohms and slip; knows no part and no network. A running motor induces volts in its open winding, and the
two directions differ: the 2 by 2 impedance matrix is not reciprocal.

Source: Fitzgerald, Kingsley and Umans, Electric Machinery, the chapter on single- and two-phase motors, from
memory; the example's auxiliary winding from Krause, Analysis of Electric Machinery, from memory too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Windings:
    """A motor's constants in ohm at its frequency, rotor values referred to the main winding.

    turns: effective turns of the auxiliary winding over those of the main one.
    """

    main_ohms: float
    main_reactance: float
    rotor_ohms: float
    rotor_reactance: float
    magnetizing: float
    turns: float
    auxiliary_ohms: float
    auxiliary_reactance: float


TEXTBOOK = Windings(2.02, 2.79, 4.12, 2.12, 66.8, 1.18, 7.14, 3.22)
"""The 1/4 hp, 110 V, 60 Hz, four-pole example of the books above."""


def fields(windings: Windings, slip: float) -> tuple[complex, complex]:
    """Impedances Zf, Zb [ohm] of the forward and the backward field; half of each is in series with the main.

    Zf = jXm (R2/s + jX2) / (R2/s + j(X2 + Xm)), and Zb the same at 2 - s. 0 < slip < 2; 1 is standstill,
    above 1 it turns against the forward field (which goes from auxiliary to main). Raises ValueError outside.

    >>> zf, zb = fields(TEXTBOOK, 0.05)
    >>> print(f"{zf:.1f} {zb:.2f}")
    31.9+40.1j 1.98+2.12j
    """
    if not 0 < slip < 2:
        raise ValueError(f"slip is {slip}; it must lie between 0 and 2, 1 being standstill")
    return _field(windings, slip), _field(windings, 2 - slip)


def _field(windings: Windings, slip: float) -> complex:
    rotor = complex(windings.rotor_ohms / slip, windings.rotor_reactance)
    shunt = 1j * windings.magnetizing
    return shunt * rotor / (shunt + rotor)


def matrix(windings: Windings, slip: float) -> NDArray[np.complex128]:
    """[[Zmm, Zma], [Zam, Zaa]] in ohm: volts across main and auxiliary per ampere in each.

    Zmm = R1 + jX1 + (Zf + Zb)/2, Zaa = Ra + jXa + a^2 (Zf + Zb)/2, Zam = -Zma = ja (Zf - Zb)/2: at standstill
    the windings do not see each other, running they do, with opposite signs.

    >>> print(f"{abs(110 / matrix(TEXTBOOK, 0.05)[0, 0]):.2f} A")
    3.60 A
    """
    zf, zb = fields(windings, slip)
    half, cross = (zf + zb) / 2, 1j * windings.turns * (zf - zb) / 2
    main = complex(windings.main_ohms, windings.main_reactance) + half
    auxiliary = complex(windings.auxiliary_ohms, windings.auxiliary_reactance) + windings.turns**2 * half
    return np.array([[main, -cross], [cross, auxiliary]])


def starting_measure(main: Any, auxiliary: Any, turns: float = 1.0) -> Any:
    """|Im| |Ia| a sin(angle by which Ia leads Im) [A^2], of phasors or arrays: the pull at standstill.

    >>> starting_measure(2.0, 1.5j)
    3.0
    """
    return turns * (auxiliary * np.conj(main)).imag


def torque(windings: Windings, slip: float, main: complex, auxiliary: complex, synchronous: float) -> float:
    """Air-gap torque [N m] at phasor currents [A rms]; synchronous: rad/s (four poles, 60 Hz: 188.5).

    T = 2 (|F+|^2 Re Zf - |F-|^2 Re Zb) / synchronous, with F+- = (Im -+ j a Ia)/2.
    """
    zf, zb = fields(windings, slip)
    turned = 1j * windings.turns * auxiliary
    forward, backward = abs(main - turned) ** 2 / 4, abs(main + turned) ** 2 / 4
    return 2 * (forward * zf.real - backward * zb.real) / synchronous


def fitted(main_ohms: float, auxiliary_ohms: float, turns: float, volts: float, starting_amps: float = 0.0) -> Windings:
    """The textbook motor with these winding ohms, scaled so that its main, locked, draws starting_amps.

    All reactances and the rotor's ohms are scaled alike: |R1 + c W| = volts/starting_amps, W the textbook's
    locked impedance without R1. starting_amps 0 (not known): scaled as the main winding's ohms. Raises
    ValueError where the winding's ohms alone would let less through.

    >>> scaled = fitted(2.02, 7.14, 1.18, 110.0, 0.0)
    >>> scaled == TEXTBOOK
    True
    >>> print(f"{abs(240 / matrix(fitted(2.4, 7.0, 1.2, 240.0, 26.0), 1.0)[0, 0]):.2f} A")
    26.00 A
    """
    c = main_ohms / TEXTBOOK.main_ohms if not starting_amps else _scaling(main_ohms, volts / starting_amps)
    return Windings(
        main_ohms=main_ohms,
        main_reactance=c * TEXTBOOK.main_reactance,
        rotor_ohms=c * TEXTBOOK.rotor_ohms,
        rotor_reactance=c * TEXTBOOK.rotor_reactance,
        magnetizing=c * TEXTBOOK.magnetizing,
        turns=turns,
        auxiliary_ohms=auxiliary_ohms,
        auxiliary_reactance=c * TEXTBOOK.auxiliary_reactance * (turns / TEXTBOOK.turns) ** 2,
    )


def _scaling(main_ohms: float, locked: float) -> float:
    """The c > 0 of |main_ohms + c W| = locked."""
    if not main_ohms < locked:
        raise ValueError(
            f"a locked motor of {locked:.3g} ohm cannot have a main winding of {main_ohms:.3g} ohm: "
            "check the winding's ohms, the volts and the starting amps"
        )
    w = matrix(TEXTBOOK, 1.0)[0, 0] - TEXTBOOK.main_ohms
    half = main_ohms * w.real
    return float((math.sqrt(half**2 + abs(w) ** 2 * (locked**2 - main_ohms**2)) - half) / abs(w) ** 2)
