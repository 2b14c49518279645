"""The command line: reads the options, runs a command, hands its result over.

Data goes to standard output and talk to standard error. The exit status is 0 when done, 1 when
nothing could be planned, 2 when the input was wrong, 70 after a fault of the program itself and
130 when it was interrupted.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from importlib.metadata import version
from typing import Annotated, Any

import platformdirs
import typer

from planner.cli import options
from planner.cli.journal.app import app as journal
from planner.cli.kit import app as kit
from planner.cli.result import (
    Result,
    abandon_standard_output,
    deliver,
    say,
    write_standard_output,
)
from planner.cli.targets_cli import app as targets
from planner.model.errors import InputError, NothingToPlanError, report_sentence
from planner.request.options import Common, JournalUse, Surroundings, Tonight
from targets.errors import UserError
from targets.model import DatabaseError

NOTHING_PLANNED = 1
WRONG_INPUT = 2
PROGRAM_FAULT = 70  # EX_SOFTWARE of the BSD sysexits, known to scripts
INTERRUPTED = 130
PROGRAM = "fieldstop"

# typer carries the class with it that all faults of a command line have in common, under
# different names in different versions; it has always been the one above BadParameter.
UsageError: Any = typer.BadParameter.__mro__[1]

app = typer.Typer(
    name=PROGRAM,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.add_typer(journal, name="journal")
app.add_typer(kit, name="kit")
app.add_typer(targets, name="targets")


def main(argv: Sequence[str] | None = None, *, surroundings: Surroundings | None = None) -> int:
    """Run the program.

    Parameters
    ----------
    argv : sequence of str, optional
        Without the program's name; from the command line when not given.
    surroundings : Surroundings, optional
        Clock and place of the configuration; the real ones when not given.

    Returns
    -------
    int
        Exit status.
    """
    try:
        return _run(sys.argv[1:] if argv is None else argv, surroundings or _surroundings())
    except (UserError, UsageError) as error:
        return _refuse(error)
    except NothingToPlanError as error:
        say(str(error))
        return NOTHING_PLANNED
    except BrokenPipeError:  # whoever reads the output has had enough, as with "| head"
        abandon_standard_output()
        return 0
    except (KeyboardInterrupt, typer.Abort):
        return INTERRUPTED
    except Exception as error:  # noqa: BLE001  # nobody at a telescope wants a traceback
        say(report_sentence(error))
        return PROGRAM_FAULT


def _surroundings() -> Surroundings:
    folder = platformdirs.user_config_path(PROGRAM, appauthor=False)
    data = platformdirs.user_data_path(PROGRAM, appauthor=False)
    return Surroundings(datetime.now(UTC), folder / "fieldstop.toml", data)


def _run(argv: Sequence[str], surroundings: Surroundings) -> int:
    command = typer.main.get_command(app)
    result = command.main(
        args=list(argv), prog_name=PROGRAM, standalone_mode=False, obj=surroundings
    )
    if isinstance(result, Result):
        deliver(result)
        return result.status
    return int(result or 0)


def _refuse(error: Any) -> int:
    """Say what the user can mend; a damaged installation is no fault of the input."""
    told = isinstance(error, UserError)
    for sentence in error.sentences if told else [_usage_sentence(error)]:
        say(sentence)
    return PROGRAM_FAULT if isinstance(error, DatabaseError) else WRONG_INPUT


def _usage_sentence(error: Any) -> str:
    """Say what typer found wrong, and where to read what is right."""
    path = error.ctx.command_path if error.ctx else PROGRAM
    found = error.format_message()
    stop = "" if found.endswith(("?", ".")) else "."
    return f'{found}{stop} "{path} --help" tells what there is.'


def _print_version(asked: bool) -> None:  # noqa: FBT001  # typer passes the option so
    if asked:
        write_standard_output(f"{PROGRAM} {version(PROGRAM)}\n")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _program(
    context: typer.Context,
    *,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: options.Date = None,
    data: options.Data = None,
    _version: Annotated[
        bool,
        typer.Option("--version", callback=_print_version, is_eager=True, help="The version."),
    ] = False,
) -> Result | None:
    """Plan a visual observing night: each target with the eyepiece of your own kit for it.

    Without a command the night opens at the telescope, screen by screen; ? shows the keys.
    """
    common = Common(config, site, telescope, date)
    if context.invoked_subcommand is not None:
        if common != Common() or data is not None:
            raise InputError([f'Put the options behind "{context.invoked_subcommand}".'])
        return None
    from planner.cli.screens import open_screens  # noqa: PLC0415  # slow to load

    return open_screens(common, data, context.obj)


@app.command()
def plan(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    *,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: options.Date = None,
    begin: options.Begin = None,
    until: options.Until = None,
    count: options.Count = None,
    kind: options.Kinds = None,
    list_name: options.TargetList = None,
    constellation: options.Constellation = None,
    min_altitude: options.MinAltitude = None,
    sky: options.Sky = None,
    seeing: options.Seeing = None,
    transparency: options.Transparency = None,
    extinction: options.Extinction = None,
    not_seen: options.NotSeen = False,
    no_leaning: options.NoLeaning = False,
    data: options.Data = None,
    format_: options.PlanFormat = None,
    output: options.Output = None,
) -> Result:
    """Plan the night: which target when, in which eyepiece, and why."""
    from planner.cli.plan import PlanTexts, plan_command  # noqa: PLC0415  # slow to load

    return plan_command(
        Common(config, site, telescope, date, format_, output),
        PlanTexts(begin, until, count, kind or (), list_name, constellation, min_altitude),
        Tonight(sky, seeing, transparency, extinction),
        context.obj,
        JournalUse(data, leaning=not no_leaning, not_seen=not_seen),
    )


@app.command()
def look(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    target: options.Words,
    *,
    at: options.At = None,
    why: options.Why = None,
    fields: options.Fields = None,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: options.Date = None,
    sky: options.Sky = None,
    seeing: options.Seeing = None,
    transparency: options.Transparency = None,
    extinction: options.Extinction = None,
    no_leaning: options.NoLeaning = False,
    data: options.Data = None,
    format_: options.LookFormat = None,
    output: options.Output = None,
) -> Result:
    """Show one target: when it is up, and how every eyepiece shows it."""
    from planner.cli.look import LookTexts, look_command  # noqa: PLC0415  # slow to load

    return look_command(
        Common(config, site, telescope, date, format_, output),
        LookTexts(" ".join(target), at, why, fields),
        Tonight(sky, seeing, transparency, extinction),
        context.obj,
        JournalUse(data, leaning=not no_leaning),
    )


@app.command()
def nights(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    target: options.OptionalWords = None,
    *,
    count: options.Nights = None,
    list_name: options.WishList = None,
    begin: options.Begin = None,
    until: options.Until = None,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: options.Date = None,
    sky: options.Sky = None,
    seeing: options.Seeing = None,
    transparency: options.Transparency = None,
    extinction: options.Extinction = None,
    data: options.Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Look ahead: the coming nights, and the best one for a target."""
    from planner.cli.nights import NightsTexts, nights_command  # noqa: PLC0415  # slow to load

    return nights_command(
        Common(config, site, telescope, date, format_, output),
        NightsTexts(" ".join(target) if target else None, count, begin, until, list_name, data),
        Tonight(sky, seeing, transparency, extinction),
        context.obj,
    )


@app.command()
def setup(context: typer.Context, *, config: options.Config = None) -> Result:
    """Write a first configuration by asking about your place and kit."""
    from planner.cli.setup import setup_command  # noqa: PLC0415  # slow to load

    return setup_command(config, context.obj)
