"""Play a score on a design and write the sound."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from modewright.chain.closed_loop import chosen_pickup
from modewright.sound.audio_file import (
    check_sound,
    check_sound_name,
    pitch_error_cents,
    write_recording,
)
from modewright.sound.free_ringing import FreeOutcome, FreeRinging, ring_freely, ring_freely_to
from modewright.sound.performance import (
    BLOCK,
    Outcome,
    Performance,
    make_sound,
    perform,
    perform_to,
)
from modewright.sound.recording import recording_beside
from modewright.sound.scaling import Scale, Sound, scale_for, scaled_sound
from modewright.sound.timeline import block_count
from modewright.workflows.analysis import Analysis, analyse, with_loop
from modewright.workflows.files import check_place
from modewright.workflows.scores import finished_score, read_score

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.modes.solid import Accuracy
    from modewright.sound.recording import Recording
    from modewright.sound.score import Score
    from modewright.transducers.port import PickupPort

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
    late_events : tuple of str
        Events of the score that begin after its end.
    pitch_error_cents : float
        By how much the file sounds too high, since it can only state whole Hertz. [cents]
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
    late_events: tuple[str, ...]
    pitch_error_cents: float


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
    pickup = _free_pickup(found)
    ringing = ring_freely(
        found.hearing.operating_point.basis,
        pickup,
        design.electronics,
        found.body.reference.point_m,
        score,
        design.strike,
        _strike_point_m(found),
    )
    sound = scaled_sound(
        ringing.output,
        ringing.rate_hz,
        _full_scale(found, pickup),
        ringing.unit,
        design.listening.ceiling_db,
    )
    return ringing, sound


def _free_pickup(found: Analysis) -> PickupPort | None:
    hearing = found.hearing
    return chosen_pickup(found.placed.design, hearing).port if hearing.pickups else None


def _full_scale(found: Analysis, pickup: PickupPort | None) -> float | None:
    """What the design wants at full scale; None where motion is heard."""
    if pickup is None:
        return None
    stated = found.placed.design.listening.full_scale_v
    return pickup.full_scale_v if stated is None else stated


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
    rate_hz = found.placed.design.electronics.rate_hz
    check_sound(output, depth, rate_hz, BLOCK * block_count(finished, rate_hz, BLOCK))
    with recording_beside(output) as recording:
        outcome, pickup = _recorded(found, finished, recording, progress)
        scale = scale_for(
            recording.peak,
            outcome.rate_hz,
            _full_scale(found, pickup),
            "m" if pickup is None else "V",
            found.placed.design.listening.ceiling_db,
        )
        remark = f"design {found.loaded.design_hash[:12]}"
        write_recording(recording, scale, output, depth=depth, remark=remark)
        length_s = recording.samples / outcome.rate_hz
    return _rendered(output, length_s, scale, outcome, finished)


def _recorded(
    found: Analysis,
    score: Score,
    recording: Recording,
    progress: Callable[[str], None] | None,
) -> tuple[Outcome | FreeOutcome, PickupPort | None]:
    """Play a score, and say what was listened with."""
    design, basis = found.placed.design, found.hearing.operating_point.basis
    if found.closed_loop is None:
        pickup = _free_pickup(found)
        return ring_freely_to(
            recording.take,
            basis,
            pickup,
            design.electronics,
            found.body.reference.point_m,
            score,
            design.strike,
            _strike_point_m(found),
        ), pickup

    def tell(share: float) -> None:
        if progress is not None:
            progress(f"playing: {share:.0%}")

    outcome = perform_to(
        recording.take,
        found.loop,
        basis.shapes,
        score,
        design.strike,
        _strike_point_m(found),
        tell,
    )
    return outcome, chosen_pickup(design, found.hearing).port


def _rendered(
    path: Path, length_s: float, scale: Scale, outcome: Outcome | FreeOutcome, score: Score
) -> Rendered:
    played = outcome if isinstance(outcome, Outcome) else None
    return Rendered(
        path=path,
        length_s=length_s,
        full_scale=scale.full_scale,
        unit=scale.unit,
        lowered_db=scale.lowered_db,
        limited_share=played.limited_share if played else 0.0,
        clipped_share=outcome.clipped_share,
        contact_share=played.contact_share if played else 0.0,
        short_levels=tuple(held.sentence for held in played.held if held.is_short)
        if played
        else (),
        late_events=score.late_events,
        pitch_error_cents=pitch_error_cents(scale.rate_hz),
    )
