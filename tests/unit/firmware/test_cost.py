"""Operations and memory as told, against the source itself with numbers that count."""

from __future__ import annotations

import re
import shutil
import struct
import subprocess

import pytest

from c_compiler import CORE_BUILDER
from modewright.firmware.cost import BESIDE_THE_BANKS, CORES, memory_of, sample_operations
from modewright.firmware.sources import source_files

COUNTING = """
#include <cmath>
#include <cstdio>
struct Counts { long mul, add, cmp, div, root, load, store; } count;
struct Counted {
    double v;
    Counted() = default;
    Counted(double x) : v(x) {}
};
static Counted operator*(Counted a, Counted b) { count.mul++; return a.v * b.v; }
static Counted operator+(Counted a, Counted b) { count.add++; return a.v + b.v; }
static Counted operator-(Counted a, Counted b) { count.add++; return a.v - b.v; }
static Counted operator-(Counted a) { return -a.v; }
static Counted operator/(Counted a, Counted b) { count.div++; return a.v / b.v; }
static int operator<(Counted a, Counted b) { count.cmp++; return a.v < b.v; }
static int operator>(Counted a, Counted b) { count.cmp++; return a.v > b.v; }
static Counted &operator+=(Counted &a, Counted b) { count.add++; a.v += b.v; return a; }
static Counted sqrtf(Counted a) { count.root++; return std::sqrt(a.v); }
#define _Static_assert static_assert
#define LANES 1
#define W 1
#include "control.h"
Observed observer[OBSERVED];
Regulator regulators[REGULATED];
int main() {
    Carried carried = {};
    Counted demand, over, arrived = 1, external = 0, heard_v = 1, bad = 0;
    count = Counts();
    Counted heard = clip(heard_v, Counted(10));
    Counted command = decide(regulators, observer, REGULATED, 0, Counted(3), external,
                             Counted(1), &carried, &demand, &over);
    observe(observer, OBSERVED, 0, heard, arrived, command, &carried);
    bad = bad + (heard_v + demand) * 0;
    printf("%ld %ld %ld %ld %ld %ld %ld\\n", count.mul, count.add, count.cmp, count.div,
           count.root, count.load, count.store);
}
"""


@pytest.fixture(scope="module")
def counted(tmp_path_factory):
    folder = tmp_path_factory.mktemp("counted")
    files = source_files()
    numbers = files["numbers.h"].replace("typedef float real;", "typedef Counted real;")
    numbers = numbers.replace("return *row; }", "count.load++; return *row; }", 2)
    numbers = numbers.replace("{ *row = value; }", "{ count.store++; *row = value; }", 1)
    (folder / "numbers.h").write_text(numbers, encoding="utf-8")
    (folder / "control.h").write_text(files["control.h"], encoding="utf-8")
    (folder / "count.cpp").write_text(COUNTING, encoding="utf-8")
    own = shutil.which("c++")
    compiler = (own,) if own is not None else (*CORE_BUILDER, "c++")

    def count(observed, regulated):
        sizes = [f"-DOBSERVED={observed}", f"-DREGULATED={regulated}"]
        subprocess.run(
            [*compiler, "-std=c++17", "-fpermissive", "-w", *sizes, "-o", "count", "count.cpp"],
            cwd=folder,
            check=True,
        )
        told = subprocess.run([folder / "count"], check=True, capture_output=True, text=True)
        return tuple(int(n) for n in re.findall(r"\d+", told.stdout))

    return count


@pytest.mark.parametrize(("observed", "regulated"), [(1, 1), (10, 6), (7, 7)])
def test_operations_are_those_of_the_source(counted, observed, regulated):
    told = sample_operations(observed, regulated)
    found = counted(observed, regulated)
    assert found == (
        told.multiplications,
        told.additions,
        told.comparisons,
        told.divisions,
        told.roots,
        told.loads - BESIDE_THE_BANKS,
        told.stores - BESIDE_THE_BANKS,
    )


def test_memory_is_that_of_a_build_for_a_cortex_m4(files, voice, tmp_path):
    """Bytes of .bss in the object file of another compiler (LLVM), for 32-bit words."""
    for name, text in files.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    target = ["-target", "thumb-linux-musleabihf", "-mfloat-abi=hard"]
    core = "-mcpu=cortex_m4+vfp4d16sp+vfp2sp-soft_float"
    flags = ["-O2", "-std=c99", "-ffp-contract=off", "-Wall", "-Wextra", "-Werror"]
    subprocess.run(
        [*CORE_BUILDER, "cc", *target, core, *flags, "-c", "controller.c", "-o", "m4.o"],
        cwd=tmp_path,
        check=True,
    )
    memory = memory_of(voice.observed_count, voice.regulated_count, voice.delay_samples)
    assert bss_bytes((tmp_path / "m4.o").read_bytes()) == memory.working_bytes


def bss_bytes(elf):
    """Size of what an object sets to zero: sections of type 8 (System V ABI, section header)."""
    (at,) = struct.unpack_from("<I", elf, 32)
    size, count = struct.unpack_from("<HH", elf, 46)
    headers = [struct.unpack_from("<10I", elf, at + size * i) for i in range(count)]
    return sum(header[5] for header in headers if header[1] == 8)


def test_cycles_are_the_sum_of_the_operations():
    # VMUL, VADD, VSUB 1, VDIV and VSQRT 14, VLDR and VSTR 2: Arm, Cortex-M4 technical reference
    # manual, FPU instruction set (from memory); a comparison and its branch: ours.
    told = sample_operations(10, 6)
    by_hand = (
        told.multiplications
        + told.additions
        + 14 * (told.divisions + told.roots)
        + 2 * (told.loads + told.stores)
        + 4 * told.comparisons
    )
    assert CORES[0].cycles(told) == by_hand
    assert CORES[1].cycles(told) < by_hand
