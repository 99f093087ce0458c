"""The reference page says what the reader does."""

import pathlib

from modewright.design.guide import guide_text

ROOT = pathlib.Path(__file__).resolve().parents[3]


def test_page_is_up_to_date():
    page = (ROOT / "docs" / "guide" / "design_file.md").read_text(encoding="utf-8")
    assert page == guide_text(), "run scripts/write_design_guide.py"
