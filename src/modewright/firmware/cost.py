"""What a sample costs: operations of the controller, and cycles on two classes of processor.

Operations are counted from the source (control.h). Cycles of an operation are those that the maker
of the cores states for floating point without waiting for memory (Arm Cortex-M4 technical reference
manual, FPU instruction set; for the Cortex-M7, which issues two instructions at once, half of the
loads and stores are taken as free; both from memory). A cache that misses, or flash that waits,
costs more.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BESIDE_THE_BANKS",
    "CORES",
    "Memory",
    "Operations",
    "ProcessorClass",
    "memory_of",
    "sample_operations",
]

# Delay line, and what is carried from one sample to the next.
BESIDE_THE_BANKS = 4
_FLOAT_BYTES = 4
_WORD_BYTES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Operations:
    """Numbers of float32 operations."""

    multiplications: int
    additions: int
    comparisons: int
    divisions: int
    roots: int
    loads: int
    stores: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessorClass:
    """Cycles of each operation.

    Parameters
    ----------
    name : str
    arithmetic, comparison, division, root, load, store : float
        Cycles.
    """

    name: str
    arithmetic: float
    comparison: float
    division: float
    root: float
    load: float
    store: float

    def cycles(self, operations: Operations) -> float:
        """Cycles of one sample."""
        arithmetic = operations.multiplications + operations.additions
        return (
            arithmetic * self.arithmetic
            + operations.comparisons * self.comparison
            + operations.divisions * self.division
            + operations.roots * self.root
            + operations.loads * self.load
            + operations.stores * self.store
        )


CORES = (
    ProcessorClass(
        name="Cortex-M4 with FPU", arithmetic=1, comparison=4, division=14, root=14, load=2, store=2
    ),
    ProcessorClass(
        name="Cortex-M7 with FPU", arithmetic=1, comparison=3, division=14, root=14, load=0.5,
        store=0.5,
    ),
)  # fmt: skip


def sample_operations(observed: int, regulated: int) -> Operations:
    """Count what one sample does, ramps included, blocks left out.

    Parameters
    ----------
    observed, regulated : int
        Modes of each kind.

    Returns
    -------
    Operations
    """
    return Operations(
        multiplications=16 * observed + 15 * regulated + 1,
        additions=13 * observed + 12 * regulated + 4,
        comparisons=11 * regulated + 13,
        divisions=regulated,
        roots=regulated,
        loads=14 * observed + 14 * regulated + BESIDE_THE_BANKS,
        stores=4 * observed + regulated + BESIDE_THE_BANKS,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Memory:
    """What a controller needs of it, its code left out.

    Parameters
    ----------
    working_bytes : int
        That change: state, delay line, controls.
    table_bytes : int
        That do not: coefficients.
    """

    working_bytes: int
    table_bytes: int


def memory_of(observed: int, regulated: int, delay_samples: int) -> Memory:
    """Memory of controller.c with words of 32 bits.

    Parameters
    ----------
    observed, regulated : int
        Modes of each kind.
    delay_samples : int
        Between a command and the pickup's answer.

    Returns
    -------
    Memory
    """
    row_floats = 15 * observed + 14 * regulated + delay_samples + 1
    control_floats = 12 * regulated + regulated
    carried_floats = 3 + 1
    whole_words = regulated + 3
    return Memory(
        working_bytes=(row_floats + control_floats + carried_floats) * _FLOAT_BYTES
        + whole_words * _WORD_BYTES,
        table_bytes=(10 * observed + 9 * regulated) * _FLOAT_BYTES,
    )
