"""A circuit solved node by node, for tests: complex admittances and nothing of our formulas.

Modified nodal analysis (C. W. Ho, A. E. Ruehli & P. A. Brennan, IEEE Trans. Circuits Syst.
22 (1975) 504): one row per node and per voltage source; node 0 is earth.
"""

from dataclasses import dataclass, field

import numpy as np


@dataclass
class Circuit:
    """Branches between named nodes; amplifiers are voltage sources that follow their inputs."""

    branches: list = field(default_factory=list)
    sources: list = field(default_factory=list)

    def resistor(self, a, b, ohm):
        self.branches.append((a, b, lambda _s: 1 / ohm))

    def capacitor(self, a, b, farad):
        self.branches.append((a, b, lambda s: s * farad))

    def source(self, name, plus, minus):
        """Voltage source that is 0 V unless driven."""
        self.sources.append((name, plus, minus, {}))

    def amplifier(self, out, plus, minus, gain=1e9):
        self.sources.append((out, out, "earth", {plus: gain, minus: -gain}))

    def volts(self, freq_hz, out, *, source="", into=""):
        """Voltage at `out` per volt of `source`, or per ampere into the node `into`."""
        s = 2j * np.pi * freq_hz
        order = self._order()
        size = 1 + len(order) + len(self.sources)
        # Row and column 0 belong to earth and are struck out at the end.
        matrix, right = np.zeros((size, size), complex), np.zeros(size, complex)
        for a, b, admittance in self.branches:
            i, j = order.get(a, 0), order.get(b, 0)
            matrix[[i, j], [i, j]] += admittance(s)
            matrix[[i, j], [j, i]] -= admittance(s)
        for k, (name, plus, minus, follows) in enumerate(self.sources, 1 + len(order)):
            for node, sign in ((plus, 1), (minus, -1)):
                matrix[k, order.get(node, 0)] += sign
                matrix[order.get(node, 0), k] += sign
            for node, gain in follows.items():
                matrix[k, order.get(node, 0)] -= gain
            right[k] = 1.0 if name == source else 0.0
        right[order.get(into, 0)] += 1.0
        return np.linalg.solve(matrix[1:, 1:], right[1:])[order[out] - 1]

    def _order(self):
        names = {n for a, b, _ in self.branches for n in (a, b)}
        names |= {n for _, p, m, f in self.sources for n in (p, m, *f)}
        return {n: i for i, n in enumerate(sorted(names - {"earth"}), 1)}


def follower_circuit(c_gap_f, c_stray_f, bias_ohm, leak_ohm):
    """Plate, bias resistor to its supply, follower whose noise voltage stands before its input.

    The lead between plate and input carries the voltage that a magnetic field induces in it.
    """
    circuit = Circuit()
    circuit.capacitor("plate", "earth", c_gap_f)
    circuit.source("lead", "node", "plate")
    circuit.capacitor("node", "earth", c_stray_f)
    circuit.source("supply", "bias", "earth")
    circuit.resistor("bias", "node", bias_ohm)
    circuit.resistor("node", "earth", leak_ohm)
    circuit.source("noise", "input", "node")
    circuit.amplifier("out", "input", "out")
    return circuit


def charge_circuit(c_gap_f, c_stray_f, bias_ohm, leak_ohm, c_feedback_f, r_feedback_ohm):
    """Plate, bias, coupling capacitor, inverting amplifier with its feedback."""
    circuit = Circuit()
    circuit.capacitor("plate", "earth", c_gap_f)
    circuit.source("lead", "node", "plate")
    circuit.capacitor("node", "earth", c_stray_f)
    circuit.source("supply", "bias", "earth")
    circuit.resistor("bias", "node", bias_ohm)
    circuit.resistor("node", "earth", leak_ohm)
    circuit.capacitor("node", "input", 1e-7)
    circuit.capacitor("input", "out", c_feedback_f)
    circuit.resistor("input", "out", r_feedback_ohm)
    circuit.source("noise", "plus", "earth")
    circuit.amplifier("out", "plus", "input")
    return circuit
