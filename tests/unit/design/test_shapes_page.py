"""The page of shapes: every family stands on it, and every example can be built as printed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from modewright.design.load import parse_design
from modewright.geometry.build import blank_from_sketch
from modewright.geometry.families.registry import FAMILIES

PAGE = Path(__file__).parents[3] / "docs" / "guide" / "shapes.md"
TEXT = PAGE.read_text(encoding="utf-8")
BLOCKS = [block for block in re.findall(r"```toml\n(.*?)```", TEXT, re.S) if "[stock]" in block]


def test_every_family_is_there() -> None:
    assert not [family.kind for family in FAMILIES if f'kind = "{family.kind}"' not in TEXT]


def test_every_picture_is_there() -> None:
    names = re.findall(r"\]\((pictures/[^)]+)\)", TEXT)
    assert len(names) == len(BLOCKS)
    assert not [name for name in names if not (PAGE.parent / name).is_file()]


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: re.findall('kind = "(.*?)"', block)[0])
def test_example_can_be_built(block: str, tmp_path: Path) -> None:
    text = '[material]\nname = "stainless 301"\n' + block
    loaded = parse_design(text.encode(), folder=tmp_path)
    assert loaded.warnings == ()
    design = loaded.design
    sketch = design.resonator.sketch(tmp_path)
    blank = blank_from_sketch(sketch, design.features, design.support, design.stock.thickness_m)
    assert len(blank.bends) == block.count('kind = "bend"')
