"""The command line's entry point: one lazily loaded module a command, one place that catches.

Nothing heavy is imported here, so that ``voiceflow --help`` answers at once and
``voiceflow lint`` never loads a recogniser.
"""

import os
import sys
import traceback
from collections.abc import Mapping, Sequence
from importlib import import_module
from typing import Any, Final, NoReturn

import click
from typing_extensions import override

from voiceflow import __version__
from voiceflow.errors import CheckFileError, VoiceflowError

#: Command -> what the list of commands says about it. The module has the same name
#: and holds the command as ``command``.
COMMANDS: Final[Mapping[str, str]] = {
    "run": "Do a check by voice: it reads the items, you answer.",
    "resume": "Go on with a check that was interrupted, at the very item.",
    "report": "Write a run down for people: items, readings, discrepancies.",
    "journal": "Look into the journal: list, show, export, verify runs; push them.",
    "findings": "List discrepancies that nobody has cleared; defer, rectify, accept.",
    "trend": "Show how the gauges of an aircraft go over its runs.",
    "phrases": "Show what you can say at an item.",
    "hear": "Try recordings: what would be understood at an item?",
    "limits": "Work out the limits of a day from an aircraft file.",
    "lint": "Look for mistakes in check files before you fly with them.",
    "mic": "List microphones and speakers; do a sound check.",
    "model": "Find or fetch a recognition model for Vosk.",
    "demo": "Watch a whole check run from a recording.",
    "evaluate": "Measure how well a set of recordings is heard.",
}
CAUTION: Final = (
    "Practice and memory aid, not certified equipment: the operator's approved "
    "documents, the flight manual and local rules prevail."
)
_DEBUG: Final = "--debug"
_UNUSABLE: Final = 2
_INTERRUPTED: Final = 130


class _Commands(click.Group):
    """A group whose commands are imported when they are called."""

    @override
    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    @override
    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"voiceflow.cli.{cmd_name}").command
        return command

    @override
    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))

    @override
    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            # whoever read our lines has gone: nothing more can be said there
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise click.exceptions.Exit(_INTERRUPTED) from None

    @override
    def main(  # type: ignore[override]
        self, args: Sequence[str] | None = None, prog_name: str | None = None, **extra: Any
    ) -> NoReturn:
        """Run a command and leave with its status; every error ends here."""
        given = list(sys.argv[1:] if args is None else args)
        # wherever it stands: who looks for a fault adds it at the end of the line
        debug = _DEBUG in given
        given = [word for word in given if word != _DEBUG]
        extra["standalone_mode"] = False
        try:
            status = super().main(args=given, prog_name=prog_name or "voiceflow", **extra)
            sys.stdout.flush()
        except click.ClickException as error:
            error.show()
            status = error.exit_code
        except (KeyboardInterrupt, click.Abort):
            click.echo("voiceflow: interrupted", err=True)
            status = _INTERRUPTED
        except CheckFileError as error:
            _show(error, debug=debug)
            status = _UNUSABLE
        except VoiceflowError as error:
            _show(error, debug=debug)
            status = _UNUSABLE
        except Exception as error:  # noqa: BLE001 - the one place that catches all
            _show_unexpected(error, debug=debug)
            status = _UNUSABLE
        sys.exit(status if isinstance(status, int) else 0)


def _show(error: VoiceflowError, *, debug: bool) -> None:
    if debug:
        traceback.print_exception(error)
    if isinstance(error, CheckFileError):
        # one line a problem, in the form that editors jump to
        click.echo(str(error), err=True)
        count = len(error.problems)
        text = "1 problem" if count == 1 else f"{count} problems"
        click.echo(f"voiceflow: {text}; nothing was run", err=True)
    else:
        click.echo(f"voiceflow: {error}", err=True)


def _show_unexpected(error: Exception, *, debug: bool) -> None:
    if debug:
        traceback.print_exception(error)
    text = " ".join(str(error).split()) or "no further word"
    click.echo(
        f"voiceflow: a fault in the program: {type(error).__name__}: {text}. "
        "What was recorded is safe; add --debug to see where it happened.",
        err=True,
    )


@click.command(
    cls=_Commands,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    epilog=f"\b\nA first look:     voiceflow demo\nA check of yours: voiceflow run my-check.yaml\n\n{CAUTION}",
)
@click.option(_DEBUG, is_flag=True, help="On a fault, show where in the program it happened.")
@click.version_option(__version__, prog_name="voiceflow")
def cli(*, debug: bool) -> None:
    """Do cockpit checks hands-free: Voiceflow reads the items, you answer aloud.

    It takes your readings as numbers, holds them against the limits, reads them
    back, and writes everything into a journal that survives a power cut. All of it
    works without a network.
    """
    del debug  # taken out of the line before it gets here


def main() -> None:
    """Run the command line."""
    cli.main()
