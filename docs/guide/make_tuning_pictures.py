"""Remake the pictures of the page on tuning from its example.

``.venv/bin/python docs/guide/make_tuning_pictures.py`` writes them into docs/guide/pictures/.
"""

from __future__ import annotations

from pathlib import Path

from modewright.chain.tune import tune_design
from modewright.design.load import load_design
from modewright.report.tune_pictures import tuned_outlines_png, tuning_targets_png

HERE = Path(__file__).resolve().parent
EXAMPLE = HERE.parents[1] / "examples" / "tuning" / "undercut_bar.toml"


def main() -> None:
    """Tune the bar and draw it."""
    loaded = load_design(EXAMPLE)
    found = tune_design(loaded.design, loaded.folder)
    (HERE / "pictures" / "tuned_bar_targets.png").write_bytes(tuning_targets_png(found))
    (HERE / "pictures" / "tuned_bar_outlines.png").write_bytes(tuned_outlines_png(found))


if __name__ == "__main__":
    main()
