"""Capacitance of neighbouring plates and fields of coils, against limits that are known."""

import math

import pytest

from modewright.instrument.electrical import coil_voltage_v_per_a, plate_capacitance_f


def test_strips_as_far_apart_as_they_are_wide():
    # k = 1/3: K(k')/K(k) = 1.5664 (Abramowitz & Stegun, table 17.1, interpolated, from memory).
    found = plate_capacitance_f(1.0, 1e-3, 1e-3, 1.0)
    assert found / 8.8541878e-12 == pytest.approx(1.566, rel=2e-3)


def test_far_strips_follow_the_logarithm():
    # K(k')/K(k) -> pi / ... for k -> 1: pi/(2 ln(4/k')) turned over; Jacobi's limit.
    width, distance = 1e-3, 0.2
    modulus = distance / (distance + 2 * width)
    complement = math.sqrt(1 - modulus**2)
    wanted = 8.8541878e-12 * (math.pi / 2) / math.log(4 / complement)
    assert plate_capacitance_f(1.0, width, distance, 1.0) == pytest.approx(wanted, rel=1e-2)


def test_a_board_counts_half():
    bare, board = (plate_capacitance_f(0.01, 2e-3, 5e-3, e) for e in (1.0, 4.4))
    assert board / bare == pytest.approx(2.7)


def test_induced_voltage_by_hand():
    # 100 turns of 1 cm² with 1 A: 0.01 A m²; 0.1 m away on the axis 2 µT; 1 cm² at 1 kHz.
    found = coil_voltage_v_per_a(1000.0, 100, 1e-4, 0.1, 1e-4)
    assert found == pytest.approx(2 * math.pi * 1000 * 2e-6 * 1e-4, rel=1e-3)
