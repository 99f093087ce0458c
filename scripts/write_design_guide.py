"""Write docs/guide/design_file.md from the descriptions of the fields."""

from __future__ import annotations

from pathlib import Path

from modewright.design.guide import guide_text

PAGE = Path(__file__).resolve().parent.parent / "docs" / "guide" / "design_file.md"


def main() -> None:
    """Write the page."""
    PAGE.write_text(guide_text(), encoding="utf-8")
    print(f"Wrote {PAGE}")


if __name__ == "__main__":
    main()
