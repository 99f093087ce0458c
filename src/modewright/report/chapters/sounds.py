"""How the note sounds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from modewright.report.page import Chapter, audio, paragraph, picture

if TYPE_CHECKING:
    from modewright.report.dossier_content import DossierContent

__all__ = ["sounds_chapter"]


def sounds_chapter(content: DossierContent) -> Chapter:
    """Every performance to listen to."""
    blocks: list[str] = [
        paragraph(
            "Rendered by the same core that a controller would run. The files are calibrated: "
            "their comment says what stands at full scale. Turn the volume down first."
        )
    ]
    for sound in content.sounds:
        blocks.append(audio(sound.wav, f"{sound.name}.wav: {sound.caption}"))
        if sound.level_png is not None:
            blocks.append(
                picture(
                    sound.level_png,
                    "png",
                    f"Levels during {sound.name}, as the observer sees them.",
                )
            )
        blocks.append(
            picture(sound.spectrum_png, "png", f"Spectrum of the last second of {sound.name}.")
        )
    return Chapter(title="Sounds", blocks=tuple(blocks))
