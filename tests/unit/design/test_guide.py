"""The reference page says what the reader does."""

import pathlib

from modewright.design.guide import guide_text, instrument_guide_text

ROOT = pathlib.Path(__file__).resolve().parents[3]


def test_page_is_up_to_date():
    page = (ROOT / "docs" / "guide" / "design_file.md").read_text(encoding="utf-8")
    assert page == guide_text(), "run scripts/write_design_guide.py"


def test_page_of_the_instrument_file_is_up_to_date():
    page = (ROOT / "docs" / "guide" / "instrument_file.md").read_text(encoding="utf-8")
    assert page == instrument_guide_text(), "run scripts/write_design_guide.py"
