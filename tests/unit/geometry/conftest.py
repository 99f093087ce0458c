"""Drawings made on the spot with the DXF library."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ezdxf
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from ezdxf.layouts.layout import Modelspace


@pytest.fixture
def drawing(tmp_path: Path) -> Callable[..., Path]:
    """Function that saves what a callable draws into a model space."""

    def save(
        draw: Callable[[Modelspace], object], *, units: int = 4, release: str = "R2010"
    ) -> Path:
        document = ezdxf.new(release)
        document.header["$INSUNITS"] = units
        draw(document.modelspace())
        path = tmp_path / "drawn.dxf"
        document.saveas(path)
        return path

    return save
