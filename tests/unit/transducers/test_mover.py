"""Driver with a spring of its own, against its equations of motion solved as they stand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from modewright.errors import TransducerError
from modewright.transducers.coil import Coil
from modewright.transducers.mover import Link, Mover, TwoPort, check_link
from modewright.transducers.stage import path_response

AUDIO_HZ = np.geomspace(20.0, 20e3, 60)


def _port(link=(2e6, 0.05), semi=0.8):
    coil = Coil(resistance_ohm=180.0, inductance_h=9e-3, semi_inductance_ohm_per_rthz=semi)
    spring = link and Link(stiffness_n_per_m=link[0], loss_factor=link[1])
    mover = Mover(mass_kg=4e-5, stiffness_n_per_m=3500.0, friction_ns_per_m=0.04, link=spring)
    return TwoPort(coil=coil, force_factor_n_per_a=7.0, mover=mover)


def _solved(port, freq_hz, sheet_m, volts, link_loss=None):
    """Current, motion of the part, and force on the sheet, from the three equations."""
    s = 2j * np.pi * freq_hz
    mover, link = port.mover, port.mover.link
    own = mover.mass_kg * s**2 + mover.friction_ns_per_m * s + mover.stiffness_n_per_m
    spring = link.stiffness_n_per_m * (1 + 1j * (link_loss or link.loss_factor))
    factor = port.force_factor_n_per_a
    impedance = (
        port.coil.resistance_ohm
        + s * port.coil.inductance_h
        + port.coil.semi_inductance_ohm_per_rthz * np.sqrt(s)
    )
    matrix = np.array([[impedance, s * factor], [-factor, own + spring]])
    current, motion = np.linalg.solve(matrix, np.array([volts, spring * sheet_m]))
    return current, motion, spring * (motion - sheet_m)


def test_a_moved_sheet_feels_the_driver():
    port = _port()
    for freq_hz in (60.0, 900.0, 7e3, 3e4):
        _, _, force = _solved(port, freq_hz, 1.0, 0.0)
        rigid = port.mover.mass_kg * (2 * np.pi * freq_hz) ** 2
        found = port.stiffness_n_per_m(np.array([freq_hz]), is_closed=True)[0]
        assert found == pytest.approx(-force + rigid, rel=1e-9)


def test_a_held_sheet_is_pushed():
    port = _port()
    found = port.force_factor_n_per_a * path_response(
        (*port.current_stages(), *port.mover.stages()), AUDIO_HZ
    )
    exact = np.array([_solved(port, freq_hz, 0.0, 1.0)[2] for freq_hz in AUDIO_HZ])
    assert np.abs(np.abs(found / exact) - 1).max() < 0.01
    assert np.degrees(np.abs(np.angle(found / exact))).max() < 0.6


def test_current_alone_is_that_of_the_equations():
    port = _port(link=(4e4, 0.03), semi=0.0)  # resonance at 5 kHz, in the band
    found = path_response(port.current_stages(), AUDIO_HZ)
    # Poles need friction: the loss factor goes with the frequency and is right at the resonance.
    swing_hz = np.sqrt((4e4 + 3500.0) / 4e-5) / (2 * np.pi)
    exact = np.array(
        [_solved(port, f, 0.0, 1.0, link_loss=0.03 * f / swing_hz)[0] for f in AUDIO_HZ]
    )
    assert found == pytest.approx(exact, rel=1e-9)


def test_motion_is_heard_as_current_pushes():
    """Antireciprocity: open volts per velocity of the sheet are held newtons per ampere."""
    port = _port()
    for freq_hz in (80.0, 1500.0, 2e4):
        s = 2j * np.pi * freq_hz
        swing = np.sqrt((2e6 + 3500.0) / 4e-5)
        link = 2e6 * (1 + 0.05 * s / swing)
        own = port.mover.mass_kg * s**2 + s * 0.04 + 3500.0
        volts_per_velocity = 7.0 * link / (link + own)
        pushed = 7.0 * path_response(port.mover.stages(), np.array([freq_hz]))[0]
        assert pushed == pytest.approx(volts_per_velocity, rel=1e-12)


def test_part_without_stinger_is_its_spring():
    port = _port(link=None)
    s = 2j * np.pi * 300.0
    found = port.stiffness_n_per_m(np.array([300.0]), is_closed=False)[0]
    assert found == pytest.approx(3500.0 + 0.04 * s)
    assert port.mover.stages() == ()


def test_very_stiff_stinger_is_none():
    freq_hz = np.array([100.0, 1000.0, 5000.0])
    firm = _port(link=(1e12, 0.0)).stiffness_n_per_m(freq_hz, is_closed=True)
    assert firm == pytest.approx(_port(link=None).stiffness_n_per_m(freq_hz, is_closed=True))


@given(
    mass_kg=st.floats(1e-6, 1e-2),
    own=st.tuples(st.floats(1.0, 1e5), st.floats(0.0, 10.0)),
    link=st.one_of(st.none(), st.tuples(st.floats(1e2, 1e8), st.floats(0.0, 2.0))),
    coil=st.tuples(st.floats(0.5, 1e3), st.floats(0.0, 0.1), st.floats(0.0, 5.0)),
    factor=st.floats(0.05, 50.0),
)
@settings(max_examples=60, deadline=None)
def test_closed_or_open_it_only_takes_energy(mass_kg, own, link, coil, factor):
    port = TwoPort(
        coil=Coil(
            resistance_ohm=coil[0], inductance_h=coil[1], semi_inductance_ohm_per_rthz=coil[2]
        ),
        force_factor_n_per_a=factor,
        mover=Mover(
            mass_kg=mass_kg,
            stiffness_n_per_m=own[0],
            friction_ns_per_m=own[1],
            link=link and Link(stiffness_n_per_m=link[0], loss_factor=link[1]),
        ),
    )
    freq_hz = np.geomspace(1.0, 1e5, 100)
    for is_closed in (False, True):
        found = port.stiffness_n_per_m(freq_hz, is_closed=is_closed)
        assert np.all(found.imag >= -1e-12 * np.abs(found))


def test_soft_stinger_is_refused():
    mover = _port(link=(4e4, 0.03)).mover
    check_link("arm", mover, 4000.0)
    check_link("arm", _port(link=None).mover, 1e6)
    with pytest.raises(TransducerError, match=r"arm: .*4500 Hz.*got 5248 Hz.*shorter") as fault:
        check_link("arm", mover, 4500.0)
    assert fault.value.key == "attachment"
