"""Whether the loop holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.blocks import advice, table_block, titled
from modewright.report.page import Chapter, paragraph, picture
from modewright.report.text_tables import detuning_table, held_table, margin_table, treated_table

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["loop_chapter"]


_NO_LOOP = (
    "A loop needs a pickup, a driver and treated modes. Listening and Pushing say what to add"
)


def loop_chapter(content: DossierContent) -> Chapter:
    """What the loop does to each mode, and its margins."""
    loop, missing, pictures = content.loop, content.missing, content.pictures
    if loop is None or pictures.decay_png is None:
        treated = "treated mode" in missing
        return Chapter(
            title="Loop",
            blocks=advice(f"{_NO_LOOP}, and besides:", missing, "treated mode")
            if treated
            else (paragraph(f"{_NO_LOOP}."),),
        )
    findings = loop["findings"] or ["Nothing stands against this loop."]
    treats_none = not loop["modes"]
    return Chapter(
        title="Loop",
        blocks=(
            *(
                advice(
                    "The loop treats no mode yet. Add to the design file, for instance:",
                    missing,
                    "treated mode",
                )
                * treats_none
            ),
            paragraph(
                f"{loop['modes_in_plant']} modes up to {loop['highest_mode_hz']:.0f} Hz are part "
                f"of the prediction, {len(loop['observed_modes'])} are known to the observer, "
                f"{len(loop['modes'])} are treated. Total delay "
                f"{loop['total_delay_s'] * 1e3:.4g} ms, the hold's half sample not counted."
            ),
            table_block(treated_table(loop)),
            *(titled(held_table(loop)) if loop["cases"][0]["held"] else ()),
            table_block(margin_table(loop)),
            *(titled(detuning_table(loop)) if loop["detuning"] else ()),
            *(paragraph(sentence) for sentence in findings),
            picture(pictures.decay_png, "png", "T60 of every mode, alone and damped."),
            *(
                (picture(pictures.open_loop_png, "png", "Open loop with everything damped."),)
                if pictures.open_loop_png is not None
                else ()
            ),
        ),
    )
