"""The dossier of one note, in the order of the job."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from modewright.report.chapters.boards import boards_chapter
from modewright.report.chapters.dimension import dimension_chapter
from modewright.report.chapters.electrodes import electrodes_chapter
from modewright.report.chapters.electronics import electronics_chapter
from modewright.report.chapters.files import files_chapter
from modewright.report.chapters.listening import listening_chapter
from modewright.report.chapters.loop import loop_chapter
from modewright.report.chapters.losses import losses_chapter
from modewright.report.chapters.made_pieces import made_pieces_chapter
from modewright.report.chapters.modes import modes_chapter
from modewright.report.chapters.pushing import pushing_chapter
from modewright.report.chapters.safety import safety_chapter
from modewright.report.chapters.shape import shape_chapter
from modewright.report.chapters.signal_path import signal_path_chapter
from modewright.report.chapters.sounds import sounds_chapter
from modewright.report.chapters.targets import targets_chapter
from modewright.report.page import page

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["dossier_page"]

Data = dict[str, Any]

_CHAPTERS = (
    shape_chapter,
    modes_chapter,
    targets_chapter,
    dimension_chapter,
    losses_chapter,
    listening_chapter,
    electrodes_chapter,
    pushing_chapter,
    signal_path_chapter,
    electronics_chapter,
    loop_chapter,
    sounds_chapter,
    boards_chapter,
    made_pieces_chapter,
    files_chapter,
    safety_chapter,
)
"""Each makes a chapter of the content, or None where the design does not ask for it."""


def dossier_page(content: DossierContent) -> str:
    """Build the page.

    Parameters
    ----------
    content : DossierContent

    Returns
    -------
    str
        HTML.
    """
    chapters = [chapter for make in _CHAPTERS if (chapter := make(content)) is not None]
    modes = content.modes
    footer = (
        f"Design {modes['design_hash']}, accuracy {modes['accuracy']}, modewright "
        f"{modes['modewright']}."
    )
    return page(modes["name"], f"{_lead(content)} {content.remarks}", chapters, footer)


def _lead(content: DossierContent) -> str:
    first, rest = content.modes["modes"][0], content.hearing["operating_point"]
    sounding, loop = rest["sounding"], content.loop
    acting = ", with bias and magnets on" if rest["gaps"] else ", with nothing that biases it"
    if loop is None:
        verdict = "no loop yet"
    else:
        stable = "stable" if loop["is_stable"] else "UNSTABLE"
        verdict = f"loop {stable} with {loop['modes_in_plant']} modes"
    return (
        f"Sounds {sounding['note']} {sounding['note_cents']:+z.0f} cents, "
        f"{sounding['freq_hz']:.2f} Hz{acting} "
        f"(± {first['cents_error_estimate']:.1f} cents of discretisation)"
        f"{_wanted_text(content.modes['wanted'])}; {verdict}."
    )


def _wanted_text(wanted: Data | None) -> str:
    if wanted is None:
        return ""
    return f", {wanted['cents_off']:+z.1f} cents from the wanted {wanted['note']}"
