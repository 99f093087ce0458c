"""The whole loop as one matrix, delay line and all: an independent way to its poles, for tests."""

import numpy as np


def transition_matrix(plant, observer, regulators, gain):
    """Matrix that takes the state of the whole loop one sample further.

    Parameters
    ----------
    plant, observer, regulators : Plant, Observer, Regulators
    gain : float array, shape (regulated,)
        Linear gains of the regulators. [command/m]

    Returns
    -------
    float array, shape (states, states)
        State order: Re Z, Im Z, Re error, Im error, commands (newest first), slow sections.
    """
    modes, known, delay = plant.mode_count, len(observer.modes), plant.delay_samples
    slow_in, slow_out = 2 * len(plant.input_sections.sos), 2 * len(plant.output_sections.sos)
    size = 2 * modes + 2 * known + delay + slow_in + slow_out
    cuts = np.cumsum([modes, modes, known, known, delay, slow_in])
    re_z, im_z, re_e, im_e, line, mem_in, mem_out = np.split(np.eye(size), cuts)
    z, error = re_z + 1j * im_z, re_e + 1j * im_e

    heard = np.real(plant.pickup_gain @ z)
    y, mem_in = _through_sections(plant.input_sections, heard, mem_in)
    estimate = z[observer.modes] + error
    innovation = y - np.real(observer.pickup_gain @ estimate)

    count = len(gain)
    command = np.real((gain * regulators.steering) @ _predicted(observer, count, estimate, line))
    delayed = line[-1]
    current, mem_out = _through_sections(plant.output_sections, delayed, mem_out)
    new_z = plant.rotation[:, None] * z + np.outer(plant.drive_gain, current)
    new_estimate = (
        observer.rotation[:, None] * estimate
        + np.outer(observer.drive_gain, delayed)
        + np.outer(observer.correction, innovation)
    )
    new_error = new_estimate - new_z[observer.modes]
    new_line = np.vstack([command[None, :], line[:-1]])
    parts = (new_z.real, new_z.imag, new_error.real, new_error.imag, new_line, mem_in, mem_out)
    return np.concatenate(parts)


def _predicted(observer, count, estimate, line):
    """State of the regulated modes when a command issued now arrives.

    p = λ^D d + Σ_j λ^(j-1) b u[k-j]: the sum of what bank p of the real-time core accumulates.
    """
    delay = len(line)
    rotation = observer.rotation[:count, None]
    powers = rotation ** np.arange(delay)
    forced = (observer.drive_gain[:count, None] * powers) @ line
    return rotation**delay * estimate[:count] + forced


def _through_sections(sections, signal, memory):
    """One sample of a cascade in transposed direct form II, for all columns at once."""
    kept = []
    for row, (b0, b1, b2, _, a1, a2) in enumerate(sections.sos):
        first, second = memory[2 * row], memory[2 * row + 1]
        out = b0 * signal + first
        kept += [b1 * signal - a1 * out + second, b2 * signal - a2 * out]
        signal = out
    return signal, np.array(kept).reshape(memory.shape)
