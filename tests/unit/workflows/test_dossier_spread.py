"""Made pieces are kept, and shown again only for the same design, accuracy and program."""

import textwrap

import pytest

from modewright.design.load import load_design
from modewright.report.dossier_content import ShownSpread
from modewright.workflows import dossier_spread

DESIGN = """
    [design]
    name = "Kept pieces"

    [material]
    name = "stainless 301 half hard"

    [stock]
    thickness = "1 mm"

    [resonator]
    kind = "strip reed"
    length = "{length} mm"
    width = "8 mm"

    [support]
    kind = "clamped"

    [[spread.tolerances]]
    kind = "strip thickness"
    grade = "fine"
"""


@pytest.fixture
def kept(tmp_path, monkeypatch):
    """Count how often the pieces are worked out."""
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / "kept"))
    asked = []

    def worked_out(loaded, accuracy, progress):
        progress("at work")
        asked.append((loaded.design.resonator.length_m, accuracy))
        data = {"modes": [{"cents": [-1.25, float("inf")]}], "samples": 2000}
        return ShownSpread(data=data, pieces_png=b"\x89\x00", yields_png=b"y", warmth_png=b"\xff")

    monkeypatch.setattr(dossier_spread, "_shown", worked_out)
    return asked


def design_of(tmp_path, length=60):
    path = tmp_path / "design.toml"
    path.write_text(textwrap.dedent(DESIGN.format(length=length)))
    return load_design(path)


def shown(loaded, accuracy="draft"):
    return dossier_spread.shown_spread(loaded, accuracy=accuracy, progress=lambda _: None)


def test_a_second_dossier_shows_the_same_pieces(tmp_path, kept):
    first = shown(design_of(tmp_path))
    assert shown(design_of(tmp_path)) == first
    assert len(kept) == 1


def test_another_design_accuracy_or_program_is_worked_out(tmp_path, kept, monkeypatch):
    shown(design_of(tmp_path))
    shown(design_of(tmp_path, length=61))
    shown(design_of(tmp_path), accuracy="normal")
    monkeypatch.setattr(dossier_spread, "program_state", lambda: "another program")
    shown(design_of(tmp_path))
    assert kept == [(0.06, "draft"), (0.061, "draft"), (0.06, "normal"), (0.06, "draft")]


def test_damaged_pieces_are_worked_out_again(tmp_path, kept):
    first = shown(design_of(tmp_path))
    (file,) = (tmp_path / "kept").iterdir()
    file.write_bytes(file.read_bytes()[:-3])
    assert shown(design_of(tmp_path)) == first
    assert len(kept) == 2
