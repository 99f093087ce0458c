"""Three plainer ways from the pickup's voltage to what a regulator pushes along.

The joint observer predicts all modes from one another and from the commands. These do not: each
treated mode has one complex state that only listens,

    p <- r p + κ/w y,      push = gain Re(w p),

so that the core runs them with the same equations as the observer (no innovation is shared, no
command counted with). From voltage to Re(w p) this is the filter

    T(z) = ½ [κ/(z - r) + κ̄/(z - r̄)],

and the three differ in its pole r and in what κ may be:

- *band-pass*: r at the mode, as narrow as the observer's bandwidth; κ turns it so that the push
  arrives, after the delay, against the velocity (resonant feedback with a phase: S. O. R. Moheimani
  & A. J. Fleming, Piezoelectric Transducers for Vibration Control and Damping, 2006, from memory).
- *position feedback*: the impulse response of ωf²/(s² + 2 ζf ωf s + ωf²), whose phase cannot be
  set; ωf is moved until it is right at the mode (Goh & Caughey, Int. J. Control 41 (1985) 787;
  Fanson & Caughey, AIAA J. 28 (1990) 717).
- *velocity feedback*: one differentiator for all modes, level up to its corner (Balas, J. Guid.
  Control 2 (1979) 252).

The gain of T is 1/ĉ at the mode, so that p measures it in metres there.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy import optimize

from modewright.errors import LoopError
from modewright.loop.observer import Observer, check_heard

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from modewright.loop.plant import Plant

__all__ = [
    "POSITION_DAMPING",
    "band_pass_states",
    "one_sided",
    "position_states",
    "turned_response",
    "velocity_states",
]

# Wide enough to damp a mode that lies a little beside it (Fanson & Caughey use 0.5).
POSITION_DAMPING = 0.5
# How far from its mode a position filter may be tuned.
_FARTHEST = 6.0
# Of the differentiator, over the highest treated mode; and the most of the rate.
_CORNER_OVER_HIGHEST = 10.0
_HIGHEST_CORNER = 0.3
_CORNER_DAMPING = 0.7
# Turn of the corner within the delay: quicker differentiators only hear echoes.
_QUICKEST = 14.0


def band_pass_states(plant: Plant, modes: NDArray[np.int64], bandwidth_hz: float) -> Observer:
    """A narrow filter for each mode.

    Parameters
    ----------
    plant : Plant
    modes : int array, shape (treated,)
    bandwidth_hz : float
        Half of its width at -3 dB. [Hz]

    Returns
    -------
    Observer

    Raises
    ------
    LoopError
        If the pickup does not hear one of the modes.
    """
    turn = np.angle(plant.rotation[modes])
    pole = np.exp(1j * turn - 2 * np.pi * bandwidth_hz / plant.rate_hz)
    z = np.exp(1j * turn)
    wanted = _wanted(plant, modes)
    # κ a + κ̄ b = 2 T, with the same equation conjugated.
    a, b = 1 / (z - pole), 1 / (z - pole.conj())
    kappa = 2 * (wanted * a.conj() - wanted.conj() * b) / (np.abs(a) ** 2 - np.abs(b) ** 2)
    return _states(plant, modes, pole, kappa, bandwidth_hz)


def position_states(plant: Plant, modes: NDArray[np.int64]) -> Observer:
    """A second-order low-pass for each mode, tuned until its phase damps the mode.

    Raises
    ------
    LoopError
        If the pickup does not hear one of the modes, or no tuning near a mode has the right phase.
    """
    wanted = _wanted(plant, modes)
    turn = np.abs(np.angle(plant.rotation[modes]))
    pole = np.empty(len(modes), dtype=np.complex128)
    kappa = np.empty(len(modes), dtype=np.complex128)
    for row, (target, own) in enumerate(zip(wanted, turn, strict=True)):
        tuned = _tuned_turn(target, own)
        if tuned is None:
            mode = int(modes[row])
            raise LoopError(
                "loop.method: expected a delay that position feedback can be tuned for, got a path "
                f"that turns mode {mode + 1} ({plant.labels[mode]}) by "
                f"{np.degrees(np.angle(target)):.0f}° against it.",
                hint='Shorten the delay, or take method = "band-pass" or "joint observer".',
            )
        pole[row] = _low_pass_pole(tuned)
        shape = -1j * pole[row]
        kappa[row] = shape * (target / one_sided(shape, pole[row], own)).real
    return _states(plant, modes, pole, kappa, POSITION_DAMPING * float(plant.freq_hz[modes[0]]))


def velocity_states(plant: Plant, modes: NDArray[np.int64]) -> Observer:
    """One differentiator, in the row of the first mode; the other rows only measure levels.

    Raises
    ------
    LoopError
        If the pickup does not hear one of the modes, or the delay leaves the first of them none of
        its velocity.
    """
    corner = _CORNER_OVER_HIGHEST * float(plant.sampled_freq_hz[modes].max()) / plant.rate_hz
    turn = min(2 * np.pi * min(corner, _HIGHEST_CORNER), _QUICKEST / plant.delay_samples)
    pole = np.exp(turn * (-_CORNER_DAMPING + 1j * np.sqrt(1 - _CORNER_DAMPING**2)))
    # No answer to a steady voltage: κ has the phase that puts the zero of T at 1.
    shape = 1 + 1j * (1 - pole.real) / pole.imag
    wanted = _wanted(plant, modes)
    own = abs(float(np.angle(plant.rotation[modes[0]])))
    ratio = wanted[0] / one_sided(shape, complex(pole), own)
    meters = band_pass_states(plant, modes, float(plant.freq_hz[modes].min()) * 0.05)
    every_pole, every_kappa = meters.rotation.copy(), _kappa(plant, meters)
    every_pole[0], every_kappa[0] = pole, shape * np.sign(ratio.real) * np.abs(ratio)
    return _states(plant, modes, every_pole, every_kappa, meters.bandwidth_hz)


def one_sided(kappa: complex, pole: complex, turn_rad: float) -> complex:
    """T at a turn per sample, for one filter."""
    z = np.exp(1j * turn_rad)
    return complex(kappa / (z - pole) + np.conj(kappa) / (z - np.conj(pole))) / 2


def turned_response(plant: Plant, observer: Observer) -> NDArray[np.complex128]:
    """What the filter in each row makes of each mode, over what would damp it best.

    Parameters
    ----------
    plant : Plant
    observer : Observer
        From one of the functions above.

    Returns
    -------
    complex array, shape (rows, rows)
        Filter by mode; 1 is a push of unit gain straight against the velocity, its real part damps
        and its imaginary part pulls the pitch.
    """
    turn = np.angle(plant.rotation[observer.modes])
    kappa, wanted = _kappa(plant, observer), _wanted(plant, observer.modes)
    return np.array(
        [
            [one_sided(k, r, t) / w for t, w in zip(turn, wanted, strict=True)]
            for k, r in zip(kappa, observer.rotation, strict=True)
        ]
    )


def _wanted(plant: Plant, modes: NDArray[np.int64]) -> NDArray[np.complex128]:
    """T at each mode for a push of unit gain against its velocity. [m/V]"""
    rotation = plant.rotation[modes]
    heard = plant.pickup_gain[modes] * plant.input_sections.at(rotation)
    check_heard(plant, modes, heard)
    ahead = np.exp(1j * np.angle(rotation) * plant.delay_samples)
    return _steering(plant, modes) * ahead / heard


def _steering(plant: Plant, modes: NDArray[np.int64]) -> NDArray[np.complex128]:
    """As the regulators have it: w."""
    along = plant.rotation[modes] * _push(plant, modes).conj()
    return along / np.abs(along)


def _push(plant: Plant, modes: NDArray[np.int64]) -> NDArray[np.complex128]:
    return plant.drive_gain[modes] * plant.output_sections.at(plant.rotation[modes])


def _kappa(plant: Plant, observer: Observer) -> NDArray[np.complex128]:
    return observer.predicted_correction * _steering(plant, observer.modes)


def _states(
    plant: Plant,
    modes: NDArray[np.int64],
    pole: NDArray[np.complex128],
    kappa: NDArray[np.complex128],
    bandwidth_hz: float,
) -> Observer:
    rotation = plant.rotation[modes]
    nothing = np.zeros(len(modes), dtype=np.complex128)
    return Observer(
        modes=modes,
        rotation=pole,
        drive_gain=nothing,
        pickup_gain=plant.pickup_gain[modes] * plant.input_sections.at(rotation),
        correction=nothing,
        predicted_correction=kappa / _steering(plant, modes),
        bandwidth_hz=bandwidth_hz,
        push_gain=_push(plant, modes),
    )


def _low_pass_pole(turn_rad: float) -> complex:
    damping = POSITION_DAMPING
    return complex(np.exp(turn_rad * (-damping + 1j * np.sqrt(1 - damping**2))))


def _tuned_turn(wanted: complex, own_rad: float) -> float | None:
    """Turn per sample of the low-pass whose phase at the mode is that wanted, or its opposite."""

    def off(log_ratio: float) -> float:
        pole = _low_pass_pole(own_rad * np.exp(log_ratio))
        ratio = wanted / one_sided(-1j * pole, pole, own_rad)
        # Twice the angle does not see the sign.
        return float(np.angle(ratio**2))

    most = min(np.log(_FARTHEST), np.log(2.0 / own_rad))
    tried: NDArray[np.float64] = np.linspace(-float(np.log(_FARTHEST)), float(most), 121)
    values = np.array([off(float(x)) for x in tried])
    # A root is a small change of sign; the jump by a whole turn is none.
    root = (np.signbit(values[:-1]) != np.signbit(values[1:])) & (np.abs(np.diff(values)) < np.pi)
    found = [
        float(optimize.brentq(off, float(tried[i]), float(tried[i + 1]), xtol=1e-14))
        for i in np.nonzero(root)[0]
    ]
    return own_rad * float(np.exp(min(found, key=abs))) if found else None
