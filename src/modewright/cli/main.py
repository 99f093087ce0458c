"""The command ``modewright``: one verb per file, loaded only when it is called."""

from __future__ import annotations

import errno
import importlib
import io
import os
import sys
from typing import TYPE_CHECKING

import click

from modewright import __version__
from modewright.errors import ModewrightError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["main", "modewright"]

_OTHER_PLACE = "Choose another place, or see to its permissions."
_MAKE_ROOM = "Make room on the disk, or choose another."
_HINTS = {
    errno.ENOSPC: _MAKE_ROOM,
    errno.EDQUOT: _MAKE_ROOM,
    errno.EFBIG: _MAKE_ROOM,
    errno.EACCES: _OTHER_PLACE,
    errno.EPERM: _OTHER_PLACE,
    errno.EROFS: _OTHER_PLACE,
}
_LOOK = "See whether the file and its disk are still there, and run the command again."
_NO_MEMORY = (
    "modewright: expected enough memory, got none left. Close other programs, or ask for less: a "
    "shorter score, fewer modes, or --accuracy draft."
)
BAD_INPUT = 2
INTERRUPTED = 130

# Verb, the module that holds it (under the same name), and its line in the help.
VERBS = {
    "check": "Print the complete design, or every problem in it.",
    "modes": "Print frequencies, notes, losses and modal masses.",
    "loop": "Print pickup, driver, signal path, poles and margins.",
    "control": "Compare methods of control on the modes that are treated.",
    "sensitivity": "Print how far each number of the body moves each mode.",
    "sweep": "Vary one number and follow the modes.",
    "tune": "Find dimensions that give the modes that are wanted.",
    "instrument": "Tune all notes of an instrument.",
    "spread": "Print what tolerances and warmth do, and how many pieces are good.",
    "electrodes": "Shape plates that hear some modes and reject others.",
    "artwork": "Lay out the boards that carry the plates, as files for the board house.",
    "drivers": "Compare drivers on one mode of a body.",
    "gap": "Print ring and signal over a pickup's gap, and holes that serve it.",
    "electronics": "Print noise, hum, feedthrough and delays around the pickup.",
    "impedance": "Find the figures of a driver in its measured impedance.",
    "firmware": "Write the controller as C for a microcontroller.",
    "render": "Play a score and write the sound.",
    "dossier": "Write pages, pictures, sounds, drawings and data of a design.",
    "new": "Write a commented design file to start from.",
}


class _Verbs(click.Group):
    """Group that imports a verb only when it is needed.

    The field solver alone takes longer to load than a check takes to run.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return all verbs in the order of the job."""
        del ctx
        return list(VERBS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one verb."""
        del ctx
        if cmd_name not in VERBS:
            return None
        module = importlib.import_module(f"modewright.cli.{cmd_name}")
        command: click.Command = getattr(module, cmd_name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of verbs without importing any."""
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(VERBS.items()))


@click.command(cls=_Verbs, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__)
def modewright() -> None:
    """Design, hear and make instruments whose every note is a controlled vibrating body."""


def _system_fault(error: OSError) -> str:
    """Say where the system failed, why, and what to do."""
    place = os.fsdecode(error.filename) if isinstance(error.filename, str | bytes) else ""
    where = f"{place}: " if place else ""
    why = error.strerror or str(error) or type(error).__name__
    hint = _HINTS.get(error.errno or 0, _LOOK)
    return f"modewright: {where}expected to read and write, got: {why}. {hint}"


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave the process.

    Exit codes: 0 done; 2 the input is at fault and stderr says why; 130 interrupted. Anything
    else is a fault of the program, with its traceback.

    Parameters
    ----------
    arguments : sequence of str or None
        Words after the command's name; those of the process if None.
    """
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal that cannot show a letter is no reason to fail.
            stream.reconfigure(errors="replace")
    # Read when the libraries load: threads in small linear algebra cost more than they bring.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        modewright.main(args=arguments, prog_name="modewright", standalone_mode=False)
    except ModewrightError as error:
        click.echo(str(error), err=True)
        sys.exit(BAD_INPUT)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.ctx.get_help() if error.ctx else str(error))
        sys.exit(0)
    except click.ClickException as error:
        error.show()
        sys.exit(BAD_INPUT)
    except OSError as error:
        click.echo(_system_fault(error), err=True)
        sys.exit(BAD_INPUT)
    except MemoryError:
        click.echo(_NO_MEMORY, err=True)
        sys.exit(BAD_INPUT)
    except (KeyboardInterrupt, click.Abort):
        click.echo("Interrupted.", err=True)
        sys.exit(INTERRUPTED)
