"""Names of public numbers carry a unit that the nomenclature page knows."""

import ast
import pathlib
import re
from collections.abc import Iterator

import pytest

ROOT = pathlib.Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "theory" / "nomenclature.md"
PACKAGES = ("fabrication", "geometry", "loop", "losses", "materials", "modes", "sound")
NUMBERS = {"float", "float | None", "tuple[float, float]", "tuple[float, ...]"}


def listed(heading: str) -> set[str]:
    """Words in backquotes in the table below a heading."""
    table = PAGE.read_text(encoding="utf-8").split(f"## {heading}\n")[1].split("\n## ")[0]
    return set(re.findall(r"`(\w+)`", table))


def public_numbers(path: pathlib.Path) -> Iterator[str]:
    """Names of float parameters and fields of public functions and classes."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            pairs = [(a.arg, a.annotation) for a in [*node.args.args, *node.args.kwonlyargs]]
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            fields = [s for s in node.body if isinstance(s, ast.AnnAssign)]
            pairs = [(s.target.id, s.annotation) for s in fields if isinstance(s.target, ast.Name)]
        else:
            continue
        for name, annotation in pairs:
            if annotation is not None and ast.unparse(annotation) in NUMBERS:
                yield name


def has_known_unit(name: str, suffixes: set[str]) -> bool:
    """Whether the name ends in a listed unit, a listed product, or units divided by each other."""
    if "_per_" in name:
        below = name.rpartition("_per_")[2]
        return all(f"_{part}" in suffixes for part in below.split("_"))
    parts = name.split("_")
    product = f"_{'_'.join(parts[-2:])}"
    is_side_by_side = len(parts) > 2 and f"_{parts[-2]}" in suffixes
    return len(parts) > 1 and (product if is_side_by_side else f"_{parts[-1]}") in suffixes


@pytest.mark.parametrize("package", [*PACKAGES, "transducers"])
def test_numbers_carry_their_unit(package):
    suffixes = {word for word in listed("Unit suffixes") if word.startswith("_")}
    words = listed("Words for numbers without a unit")
    files = sorted((ROOT / "src" / "modewright" / package).rglob("*.py"))
    strange = sorted(
        f"{path.name}: {name}"
        for path in files
        for name in set(public_numbers(path))
        if not has_known_unit(name, suffixes)
        and name not in words
        and name.rpartition("_")[2] not in words
    )
    assert files
    assert not strange, "add the unit to the name, or the word to docs/theory/nomenclature.md"


def test_an_unknown_unit_is_noticed():
    assert has_known_unit("force_factor_n_per_a", {"_a"})
    assert not has_known_unit("length_furlong", {"_m"})
    assert not has_known_unit("density_kg_m3", {"_kg", "_m3"})
    assert has_known_unit("density_kg_per_m3", {"_kg", "_m3"})
    assert has_known_unit("inertia_kg_m2", {"_kg", "_m2", "_kg_m2"})
    assert not has_known_unit("m", {"_m"})
