"""Write docs/guide/design_file.md and instrument_file.md from the descriptions of the fields."""

from __future__ import annotations

from pathlib import Path

from modewright.design.guide import guide_text, instrument_guide_text

FOLDER = Path(__file__).resolve().parent.parent / "docs" / "guide"


def main() -> None:
    """Write both pages."""
    pages = {"design_file.md": guide_text, "instrument_file.md": instrument_guide_text}
    for name, text in pages.items():
        (FOLDER / name).write_text(text(), encoding="utf-8")
        print(f"Wrote {FOLDER / name}")


if __name__ == "__main__":
    main()
