"""The two-winding motor against the books' examples, all from memory, and against its own physics."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halfsplit.circuit import dense, fast, motor
from halfsplit.circuit import network as nw

SYNCHRONOUS = 4 * math.pi * 60 / 4


def test_the_quarter_horsepower_example() -> None:
    """110 V, slip 0.05: about 3.6 A at a power factor of 0.62, 244 W in, 147 W out (from memory)."""
    z = motor.matrix(motor.TEXTBOOK, 0.05)
    current = 110 / z[0, 0]
    assert abs(current) == pytest.approx(3.59, rel=0.01)
    assert math.cos(np.angle(z[0, 0])) == pytest.approx(0.62, rel=0.01)
    assert (110 * current.conjugate()).real == pytest.approx(244, rel=0.02)
    mechanical = motor.torque(motor.TEXTBOOK, 0.05, complex(current), 0, SYNCHRONOUS) * 0.95 * SYNCHRONOUS
    assert mechanical - 13 - 24 == pytest.approx(147, rel=0.03)


def test_the_capacitor_that_makes_a_right_angle() -> None:
    """Main 4.5+j3.7, auxiliary 9.5+j3.5 ohm at 120 V: 177 uF makes 90 degrees (from memory)."""
    main = 120 / (4.5 + 3.7j)
    auxiliary = 120 / (9.5 + 3.5j + 1 / (2j * math.pi * 60 * 177e-6))
    measure = motor.starting_measure(main, auxiliary)
    assert measure == pytest.approx(abs(main) * abs(auxiliary), rel=1e-4)


def test_at_standstill_the_windings_do_not_see_each_other() -> None:
    """At slip 1 both fields are equal: no coupling, and torque only from two currents out of step."""
    z = motor.matrix(motor.TEXTBOOK, 1.0)
    assert z[0, 1] == 0
    assert z[1, 0] == 0
    assert motor.torque(motor.TEXTBOOK, 1.0, 20 - 5j, 0, SYNCHRONOUS) == pytest.approx(0)


@given(
    st.complex_numbers(min_magnitude=1, max_magnitude=40),
    st.complex_numbers(min_magnitude=1, max_magnitude=40),
)
def test_starting_torque_is_the_product_of_currents_and_sine(main: complex, auxiliary: complex) -> None:
    """T = 2 Re(Zf) |Im| |Ia| a sin(angle) / synchronous speed."""
    zf, _ = motor.fields(motor.TEXTBOOK, 1.0)
    measure = motor.starting_measure(main, auxiliary, motor.TEXTBOOK.turns)
    torque = motor.torque(motor.TEXTBOOK, 1.0, main, auxiliary, SYNCHRONOUS)
    assert torque == pytest.approx(2 * zf.real * measure / SYNCHRONOUS, abs=1e-9)


@pytest.mark.parametrize("slip", [0.02, 0.05, 0.3, 1.0, 1.7])
def test_power_in_is_heat_and_shaft(slip: float) -> None:
    """Watts into both windings are their own heat and what crosses the gap: rotor heat and shaft power."""
    w = motor.TEXTBOOK
    currents = np.array([3 - 1j, 1 + 2j])
    into = float((motor.matrix(w, slip) @ currents @ currents.conj()).real)
    copper = w.main_ohms * abs(currents[0]) ** 2 + w.auxiliary_ohms * abs(currents[1]) ** 2
    zf, zb = motor.fields(w, slip)
    forward = abs(currents[0] - 1j * w.turns * currents[1]) ** 2 / 2 * zf.real
    backward = abs(currents[0] + 1j * w.turns * currents[1]) ** 2 / 2 * zb.real
    assert into - copper == pytest.approx(forward + backward)
    torque = motor.torque(w, slip, 3 - 1j, 1 + 2j, SYNCHRONOUS)
    rotor_heat = slip * forward + (2 - slip) * backward
    assert forward + backward == pytest.approx(rotor_heat + torque * (1 - slip) * SYNCHRONOUS)


def test_turning_the_other_way_swaps_the_sign_of_the_coupling() -> None:
    """Slip 2 - s is the same motor driven the other way."""
    there, back = motor.matrix(motor.TEXTBOOK, 0.05), motor.matrix(motor.TEXTBOOK, 1.95)
    assert np.allclose(back, there * [[1, -1], [-1, 1]])


def test_a_running_motor_induces_volts_in_its_open_winding() -> None:
    """In a network: the auxiliary, switched off, shows |Zam| times the main current."""
    z = motor.matrix(motor.TEXTBOOK, 0.05)
    impedance = np.array([0, z[0, 0], z[1, 1], 0.01])
    closed, emf = np.array([True, True, True, False]), np.array([110, 0, 0, 0])
    coupling, stray = ((1, 2, z[0, 1]), (2, 1, z[1, 0])), np.array([0, 1e-8j, 1e-8j])
    tail, head = np.array([0, 1, 2, 1]), np.array([1, 0, 0, 2])
    network = nw.Network(3, tail, head, impedance, closed, emf, coupling, stray, 0)
    for solution in (dense.solve(network), fast.Factored(network).solve()):
        assert abs(solution.v[2]) == pytest.approx(abs(z[1, 0] * 110 / z[0, 0]), rel=1e-5)
        assert 60 < abs(solution.v[2]) < 130


@given(st.floats(0.5, 10), st.floats(1.05, 8))
def test_the_fitted_motor_draws_the_starting_amps(ohms: float, ratio: float) -> None:
    """Main ohms and locked amps come back from the fitted motor's matrix."""
    amps = 120 / (ohms * ratio)
    fitted = motor.fitted(ohms, 3 * ohms, 1.1, 120, amps)
    assert fitted.main_ohms == ohms
    assert abs(120 / motor.matrix(fitted, 1.0)[0, 0]) == pytest.approx(amps)


def test_impossible_data_is_refused_in_words() -> None:
    """More amps than the winding's ohms let through, and slips that are none."""
    with pytest.raises(ValueError, match="check the winding's ohms"):
        motor.fitted(5, 10, 1, 120, 30)
    for slip in (0.0, 2.0, -1.0):
        with pytest.raises(ValueError, match="between 0 and 2"):
            motor.matrix(replace(motor.TEXTBOOK), slip)
