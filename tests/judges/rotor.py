"""A single-phase motor with two windings as coupled coils with a turning rotor, as lines of a deck.

Written from the machine's data and the equations of the two-axis machine in stationary axes (Krause, Analysis of
Electric Machinery, from memory); imports nothing of Halfsplit's circuit, whose revolving-field model it judges.

The rotor's two circuits q (facing main) and d (facing the auxiliary), all referred to main:
  0 = R2 i_q + dL_q/dt - w L_d,   0 = R2 i_d + dL_d/dt + w L_q,   torque = L_q i_d - L_d i_q   (L: flux linkages).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

LEAKAGE, ROTOR_OHMS, ROTOR_LEAKAGE, MAGNETIZING = 2.79, 4.12, 2.12, 66.8
AUXILIARY_LEAKAGE, AUXILIARY_TURNS, MAIN_OHMS = 3.22, 1.18, 2.02
"""Ohm at 60 Hz of the 1/4 hp example of Fitzgerald, Kingsley and Umans, and its auxiliary winding (from memory)."""


@dataclass(frozen=True)
class Rotor:
    """What a motor is made of: ohms of both windings, turns ratio; `scale` times the example's reactances."""

    main_ohms: float
    auxiliary_ohms: float
    turns: float
    scale: float
    omega: float

    def henry(self, reactance: float) -> float:
        """The inductance of one of the example's reactances in this motor."""
        return self.scale * reactance / self.omega

    @property
    def auxiliary_leakage(self) -> float:
        """H."""
        return self.henry(AUXILIARY_LEAKAGE) * (self.turns / AUXILIARY_TURNS) ** 2

    def standstill_torque(self, volts: float) -> float:
        """Mean of L_q i_d - L_d i_q [Wb A] with rated volts on both windings and the rotor held."""
        rotor = self.scale * complex(ROTOR_OHMS, ROTOR_LEAKAGE)
        shunt = 1j * self.scale * MAGNETIZING
        air_gap = shunt * rotor / (shunt + rotor)
        main = volts / (self.main_ohms + 1j * self.scale * LEAKAGE + air_gap)
        own = self.auxiliary_ohms + 1j * self.omega * self.auxiliary_leakage
        auxiliary = volts / (own + self.turns**2 * air_gap)
        q, d = main * air_gap, self.turns * auxiliary * air_gap
        return self._product(q, d, rotor, shunt)

    def _product(self, q: complex, d: complex, rotor: complex, shunt: complex) -> float:
        def linkage(volts: complex) -> complex:
            return self.henry(MAGNETIZING) * volts / shunt - self.henry(ROTOR_LEAKAGE) * volts / rotor

        return (linkage(q) * (-d / rotor).conjugate() - linkage(d) * (-q / rotor).conjugate()).real


def made(main_ohms: float, auxiliary_ohms: float, turns: float, rated: float, starting: float, hertz: float) -> Rotor:
    """The example scaled until its main winding alone, rotor held, draws `starting` at rated volts (bisection)."""
    omega = 2 * math.pi * hertz
    if not starting:
        return Rotor(main_ohms, auxiliary_ohms, turns, main_ohms / MAIN_OHMS, omega)
    low, high = 0.0, 1000.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if _locked(main_ohms, middle) < rated / starting else (low, middle)
    return Rotor(main_ohms, auxiliary_ohms, turns, low, omega)


def _locked(main_ohms: float, scale: float) -> float:
    rotor, shunt = complex(ROTOR_OHMS, ROTOR_LEAKAGE), 1j * MAGNETIZING
    return abs(main_ohms + scale * (1j * LEAKAGE + shunt * rotor / (shunt + rotor)))


def axes(tag: str, rotor: Rotor, main_sense: str, auxiliary_sense: str) -> Iterator[str]:
    """Both axes of the air gap: nodes `q_tag` and `d_tag` (volts induced), and node `t_tag`, the torque.

    `w_tag` is the speed in rad/s. A sense is the name of the source that carries a winding's current, "" if open.
    """
    for axis, other, sense, turns, sign in (
        ("q", "d", main_sense, 1.0, 1),
        ("d", "q", auxiliary_sense, rotor.turns, -1),
    ):
        here = f"{axis}_{tag}"
        if sense:
            yield f"f{here} 0 {here} {sense} {turns!r}"
        yield f"lm{here} {here} m{here} {rotor.henry(MAGNETIZING)!r}"
        yield f"vm{here} m{here} 0 0"
        yield f"lr{here} {here} r{here} {rotor.henry(ROTOR_LEAKAGE)!r}"
        yield f"rr{here} r{here} e{here} {rotor.scale * ROTOR_OHMS!r}"
        yield f"be{here} e{here} s{here} v = {sign} * v(w_{tag}) * v(l{other}_{tag})"
        yield f"vr{here} s{here} 0 0"
        magnetizing, leakage = rotor.henry(MAGNETIZING), rotor.henry(ROTOR_LEAKAGE)
        yield f"bl{here} l{here} 0 v = {magnetizing!r} * i(vm{here}) - {leakage!r} * i(vr{here})"
    yield f"bt_{tag} t_{tag} 0 v = v(ld_{tag}) * i(vrq_{tag}) - v(lq_{tag}) * i(vrd_{tag})"
