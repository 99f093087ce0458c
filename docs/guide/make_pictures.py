"""Remake the pictures of the guide from the shipped example.

``.venv/bin/python docs/guide/make_pictures.py`` writes them into docs/guide/pictures/. A large one
is made narrower, with fewer colours.
"""

from __future__ import annotations

import io
import tempfile
from dataclasses import replace
from pathlib import Path

from PIL import Image

from modewright.fabrication.svg import drawing_to_svg
from modewright.report.pictures import analysis_pictures
from modewright.report.plots.level_course import level_course_png
from modewright.report.plots.spectrum import spectrum_png
from modewright.transducers.surroundings import Surroundings
from modewright.workflows.analysis import Analysis, analyse
from modewright.workflows.dossier import drawing_of
from modewright.workflows.dossier_electronics import shown_electronics
from modewright.workflows.dossier_gaps import shown_gaps
from modewright.workflows.dossier_scores import dossier_scores
from modewright.workflows.dossier_spread import shown_spread
from modewright.workflows.render import play
from modewright.workflows.sweep import sweep_file

HERE = Path(__file__).resolve().parent
EXAMPLE = HERE.parents[1] / "examples" / "boathouse_bench" / "g3.toml"
LARGE_BYTES = 140_000
NARROW_PX = 700


def main() -> None:
    """Work out the example and write every picture."""
    found = analyse(EXAMPLE)
    design = found.loaded.design
    svg = drawing_to_svg(drawing_of(found))
    (HERE / "pictures" / "blank.svg").write_text(svg, encoding="utf-8")
    pictures = analysis_pictures(design, found.body, found.hearing, found.loop, svg)
    save("modes", pictures.plan_png)
    save("losses", pictures.losses_png)
    save("decay", pictures.decay_png)
    save("open_loop", pictures.open_loop_png)
    save("electronics", electronics_picture(found))
    save("gap_course", shown_gaps(found, print)[0].chart_png)
    regulators = found.loop.regulators
    treated = tuple(f"mode {int(mode) + 1}" for mode in regulators.modes)
    scores = {name: (caption, score) for name, caption, score in dossier_scores(regulators)}
    caption, score = scores["mode_4_swelling"]
    performance, _ = play(found, score)
    save(
        "swelling",
        level_course_png(performance.level_time_s, performance.level_m, treated, caption),
    )
    performance, _ = play(found, scores["mode_1_held"][1])
    last = performance.voltage_v[-round(performance.rate_hz) :]
    save(
        "held_spectrum",
        spectrum_png(last, performance.rate_hz, found.loop.plant.freq_hz, "mode_1_held"),
    )
    spread = shown_spread(found.loaded, "normal", print)
    save("spread", spread.pieces_png)
    save("yields", spread.yields_png)
    with tempfile.TemporaryDirectory() as folder:
        done = sweep_file(
            EXAMPLE,
            Path(folder),
            address="resonator.arms[3].length",
            first="28 mm",
            last="44 mm",
            steps=100,
        )
        save("sweep", done.picture.read_bytes())


def electronics_picture(found: Analysis) -> bytes:
    """Noise and disturbances of the example in the surroundings of the page on electronics."""
    room = Surroundings(
        electric_field_v_per_m=10.0,
        exposed_area_m2=1e-4,
        electric_shield_db=30.0,
        magnetic_field_t=0.2e-6,
        lead_loop_area_m2=2e-5,
        ripple_v=5e-3,
        ripple_filter_corner_hz=2.0,
    )
    design = replace(found.placed.design, surroundings=room)
    shown = shown_electronics(replace(found, placed=replace(found.placed, design=design)))
    if shown is None:
        raise RuntimeError("the example has a loop")
    return shown.chart_png


def save(name: str, png: bytes) -> None:
    """Write a picture, smaller if it is large."""
    path = HERE / "pictures" / f"{name}.png"
    if len(png) <= LARGE_BYTES:
        path.write_bytes(png)
        return
    picture = Image.open(io.BytesIO(png)).convert("RGB")
    height = round(picture.height * NARROW_PX / picture.width)
    narrow = picture.resize((NARROW_PX, height), Image.Resampling.LANCZOS)
    narrow.quantize(256, dither=Image.Dither.NONE).save(path, optimize=True)


if __name__ == "__main__":
    main()
