"""``modewright render DESIGN --score SCORE -o note.wav``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from modewright.cli.tables import shown_progress
from modewright.workflows.render import render_score

if TYPE_CHECKING:
    from modewright.workflows.analysis import Accuracy
    from modewright.workflows.render import Rendered

__all__ = ["render"]

_SMALL_SHARE = 1e-3
_NAMED_EVENTS = 8


@click.command()
@click.argument("design", type=click.Path(path_type=Path))
@click.option("--score", required=True, type=click.Path(path_type=Path), help="TOML or MIDI file.")
@click.option(
    "-o", "--output", required=True, type=click.Path(path_type=Path), help=".wav or .flac file."
)
@click.option(
    "--depth",
    default="24 bit",
    show_default=True,
    type=click.Choice(["24 bit", "32 bit"]),
    help="32 bit is floating point, for .wav only.",
)
@click.option(
    "--accuracy",
    default="normal",
    show_default=True,
    type=click.Choice(["draft", "normal", "fine"]),
)
def render(
    design: Path,
    score: Path,
    output: Path,
    depth: Literal["24 bit", "32 bit"],
    accuracy: Accuracy,
) -> None:
    """Play a score on DESIGN through the real-time core and write the sound."""
    with shown_progress() as progress:
        done = render_score(
            design, score, output, depth=depth, accuracy=accuracy, progress=progress
        )
    click.echo(
        f"{done.path}: {done.length_s:.2f} s, full scale = {_full_scale(done)}"
        + (f", lowered by {done.lowered_db:.1f} dB" if done.lowered_db > 0 else "")
    )
    _tell_of_the_file(done)
    if done.limited_share > 0:
        click.echo(f"The driver was at its limit for {_share(done.limited_share)} of the time.")
    for sentence in done.short_levels:
        click.echo(sentence)
    if done.clipped_share > 0:
        click.echo(f"The converter clipped for {_share(done.clipped_share)} of the time.")
    if done.contact_share > 0:
        click.echo(
            f"The sheet may have touched a plate or pole for {_share(done.contact_share)} of the "
            "time; contact is not simulated. Lower the force or the levels."
        )


def _tell_of_the_file(done: Rendered) -> None:
    """What of the score is not in it, and what its sampling rate does to it."""
    if done.late_events:
        named, more = done.late_events[:_NAMED_EVENTS], done.late_events[_NAMED_EVENTS:]
        click.echo(
            f"Begins after the end of the score ({done.length_s:.2f} s) and is not heard: "
            + ", ".join(named)
            + (f" and {len(more)} more" if more else "")
            + ". Make the score longer, or leave it out."
        )
    if done.pitch_error_cents:
        click.echo(
            f"The file sounds {done.pitch_error_cents:+.4f} cents off: it states whole Hertz only. "
            "Choose such a rate in the section electronics."
        )


def _full_scale(done: Rendered) -> str:
    if done.unit == "V":
        return f"{done.full_scale:.4g} V peak"
    return (
        f"{done.full_scale * 1e3:.4g} mm peak: no pickup listens, so the sound is the motion of "
        "the reference point"
    )


def _share(value: float) -> str:
    return f"{value:.1%}" if value >= _SMALL_SHARE else "less than 0.1%"
