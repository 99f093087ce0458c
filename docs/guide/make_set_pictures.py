"""Remake the pictures of the page on the set from its example.

``.venv/bin/python docs/guide/make_set_pictures.py`` writes them into docs/guide/pictures/.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from modewright.workflows.instrument import instrument_file

HERE = Path(__file__).resolve().parent
EXAMPLE = HERE.parents[1] / "examples" / "boathouse_bench" / "bench.toml"


def main() -> None:
    """Tune the bench and keep its pictures."""
    with tempfile.TemporaryDirectory() as folder:
        instrument_file(EXAMPLE, output=Path(folder))
        for name in ("sheet", "compass", "crosstalk"):
            picture = (Path(folder) / f"{name}.png").read_bytes()
            (HERE / "pictures" / f"bench_{name}.png").write_bytes(picture)


if __name__ == "__main__":
    main()
