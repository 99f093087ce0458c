"""The page on drawings: its example is run as printed, and told faults are those it lists."""

import re
import runpy
from pathlib import Path

import pytest

PAGE = Path(__file__).parents[2] / "docs/guide/drawings_read_in.md"


def block(language):
    (found,) = re.findall(rf"```{language}\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.S)
    return found


@pytest.fixture
def draw(tmp_path, monkeypatch):
    """Function that runs the page's script, with changes, beside its design file."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "reed.toml").write_text(block("toml"), encoding="utf-8")

    def run(*changes):
        text = block("python")
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (tmp_path / "plan.py").write_text(text, encoding="utf-8")
        runpy.run_path("plan.py")
        return tmp_path / "reed.toml"

    return run


def test_example_of_the_page_has_the_mode_that_it_names(draw, call):
    design = draw()
    assert call("check", design).code == 0
    done = call("modes", design, "--accuracy", "draft", "--count", "1")
    stated = float(re.search(r"gives (\d+) Hz for the lowest mode", PAGE.read_text()).group(1))
    found = float(re.search(r"^ +1 +([\d.]+) ", done.out, re.M).group(1))
    assert found == pytest.approx(stated, rel=0.01)
    assert "bending 1" in done.out
    # Cantilever of 70 mm (Blevins, Formulas for Natural Frequency and Mode Shape, table 8-1), near
    # enough with E = 193 GPa and 7900 kg/m³; tip, slot, armature and plate stiffness aside.
    beam = 1.8751**2 / (2 * 3.14159 * 0.07**2) * (193e9 * 1e-6 / 12 / 7900) ** 0.5
    assert found == pytest.approx(beam, rel=0.1)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("add_line((30, -1.5)", "add_line((30.1, -1.5)"), "without meeting another"),
        (("(83, -7, 1), (83, 7, 0)", "(83, 7, 0), (83, -7, 0)"), "a curve that crosses itself at"),
        (('on("CLAMP")', 'on("JAWS")'), "expected a root to hold"),
        (('on("OUTLINE")', 'on("CUT")'), "expected curves on the layer OUTLINE, got the layers"),
        (('on("ELECTRODE_TIP")', 'on("PLATE")'), "plate.area: expected one area of the drawing"),
        (("(60, 0), 3", "(60, 9), 3"), "expected a place on the sheet"),
        (("= 4 ", "= 21 "), "expected $INSUNITS one of"),
    ],
)
def test_faults_are_told_as_the_page_says(change, told, draw, call):
    done = call("check", draw(change))
    assert done.code == 2
    assert told in done.err
    assert told in PAGE.read_text(encoding="utf-8")
