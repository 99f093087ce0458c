"""Play a score on a design and write the sound."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from modewright.chain.closed_loop import chosen_pickup
from modewright.sound.audio_file import check_sound_name, write_sound
from modewright.sound.free_ringing import FreeRinging, ring_freely
from modewright.sound.performance import Performance, Sound, make_sound, perform, scaled_sound
from modewright.workflows.analysis import Analysis, analyse, with_loop
from modewright.workflows.files import check_place
from modewright.workflows.scores import finished_score, read_score

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.modes.solid import Accuracy
    from modewright.sound.score import Score

__all__ = ["Rendered", "play", "play_free", "render_score"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rendered:
    """What was written.

    Parameters
    ----------
    path : Path
    length_s : float
        [s]
    full_scale : float
        What stands at digital full scale. [`unit`]
    unit : {"V", "m"}
        Voltage of the pickup or, without one, displacement of the reference point.
    lowered_db : float
        By how much the ceiling lowered it. [dB]
    limited_share, clipped_share, contact_share : float
        Shares of time at which the driver's limit and the converter's were reached, and at which
        the sheet may have touched a plate or pole.
    short_levels : tuple of str
        Held modes that did not reach what the score wants, in sentences.
    """

    path: Path
    length_s: float
    full_scale: float
    unit: Literal["V", "m"]
    lowered_db: float
    limited_share: float
    clipped_share: float
    contact_share: float
    short_levels: tuple[str, ...]


def play(
    found: Analysis, score: Score, progress: Callable[[float], None] | None = None
) -> tuple[Performance, Sound]:
    """Play a score on the loop of an analysed design."""
    design = found.placed.design
    performance = perform(
        found.loop,
        found.hearing.operating_point.basis.shapes,
        score,
        design.strike,
        _strike_point_m(found),
        progress=progress,
    )
    full_scale_v = chosen_pickup(design, found.hearing).port.full_scale_v
    return performance, make_sound(performance, design.listening, full_scale_v)


def play_free(found: Analysis, score: Score) -> tuple[FreeRinging, Sound]:
    """Play the blows of a score on a body that nothing drives.

    What sounds is the voltage of the first pickup or, without one, the motion of the reference
    point in metres.
    """
    design = found.placed.design
    pickup = chosen_pickup(design, found.hearing).port if found.hearing.pickups else None
    ringing = ring_freely(
        found.hearing.operating_point.basis,
        pickup,
        design.electronics,
        found.body.reference.point_m,
        score,
        design.strike,
        _strike_point_m(found),
    )
    wanted = None
    if pickup is not None:
        stated = design.listening.full_scale_v
        wanted = pickup.full_scale_v if stated is None else stated
    sound = scaled_sound(
        ringing.output, ringing.rate_hz, wanted, ringing.unit, design.listening.ceiling_db
    )
    return ringing, sound


def _strike_point_m(found: Analysis) -> tuple[float, float]:
    return found.placed.design.strike.point_m or found.body.reference.point_m


def render_score(
    design: Path,
    score: Path,
    output: Path,
    *,
    depth: Literal["24 bit", "32 bit"] = "24 bit",
    accuracy: Accuracy = "normal",
    progress: Callable[[str], None] | None = None,
) -> Rendered:
    """Render a score on a design file.

    Parameters
    ----------
    design, score : Path
        Files to read.
    output : Path
        ``.wav`` or ``.flac``.
    depth : {"24 bit", "32 bit"}
    accuracy : {"draft", "normal", "fine"}
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    Rendered

    Raises
    ------
    ModewrightError
        If anything of it cannot be; nothing is written then.
    """
    check_sound_name(output, depth)
    check_place(output)
    read = read_score(score)
    analysed = with_loop if read.needs_loop else analyse
    found = analysed(design, accuracy=accuracy, progress=progress)
    finished = finished_score(read, found)
    remark = f"design {found.loaded.design_hash[:12]}"
    if found.closed_loop is None:
        ringing, sound = play_free(found, finished)
        write_sound(sound, output, depth=depth, remark=remark)
        return _rendered(output, sound, clipped_share=ringing.clipped_share)

    def tell(share: float) -> None:
        if progress is not None:
            progress(f"playing: {share:.0%}")

    performance, sound = play(found, finished, tell)
    write_sound(sound, output, depth=depth, remark=remark)
    return _rendered(
        output,
        sound,
        clipped_share=performance.clipped_share,
        limited_share=performance.limited_share,
        contact_share=performance.contact_share,
        short_levels=tuple(held.sentence for held in performance.held if held.is_short),
    )


def _rendered(
    path: Path,
    sound: Sound,
    *,
    clipped_share: float,
    limited_share: float = 0.0,
    contact_share: float = 0.0,
    short_levels: tuple[str, ...] = (),
) -> Rendered:
    return Rendered(
        path=path,
        length_s=len(sound.samples) / sound.rate_hz,
        full_scale=sound.full_scale,
        unit=sound.unit,
        lowered_db=sound.lowered_db,
        limited_share=limited_share,
        clipped_share=clipped_share,
        contact_share=contact_share,
        short_levels=short_levels,
    )
