"""The command line: reads the options, runs a command, hands its result over.

Data goes to standard output and talk to standard error. The exit status is 0 when done, 1 when
nothing could be planned, 2 when the input was wrong, 70 after a fault of the program itself and
130 when it was interrupted.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from datetime import UTC, datetime

import click
import platformdirs

from planner.cli.bars import counting, watch_at_a_terminal
from planner.cli.commands import PROGRAM, program
from planner.cli.result import Result, abandon_standard_output, deliver, say, terminal_has_dots
from planner.model.errors import NothingToPlanError, report_sentence
from planner.request.options import Surroundings
from targets.errors import DatabaseError, UserError
from targets.files import Shelf

NOTHING_PLANNED = 1
WRONG_INPUT = 2
PROGRAM_FAULT = 70  # EX_SOFTWARE of the BSD sysexits, known to scripts
INTERRUPTED = 130


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
    except (UserError, click.UsageError) as error:
        return _refuse(error)
    except NothingToPlanError as error:
        say(str(error))
        return NOTHING_PLANNED
    except BrokenPipeError:  # whoever reads the output has had enough, as with "| head"
        abandon_standard_output()
        return 0
    except KeyboardInterrupt:
        return INTERRUPTED
    except Exception as error:  # noqa: BLE001  # nobody at a telescope wants a traceback
        return _report(error)


def _surroundings() -> Surroundings:
    folder = platformdirs.user_config_path(PROGRAM, appauthor=False)
    data = platformdirs.user_data_path(PROGRAM, appauthor=False)
    watch_at_a_terminal(os.environ)
    Shelf.folder = platformdirs.user_cache_path(PROGRAM, appauthor=False)
    return Surroundings(
        datetime.now(UTC), folder / "fieldstop.toml", data, terminal_has_dots(os.environ)
    )


def _run(argv: Sequence[str], surroundings: Surroundings) -> int:
    # Not click's own main, which writes an empty line when it is interrupted.
    try:
        with program.make_context(PROGRAM, list(argv), obj=surroundings) as context, counting():
            result = program.invoke(context)
    except click.exceptions.Exit as leaving:
        return leaving.exit_code
    if isinstance(result, Result):
        deliver(result)
        return result.status
    return int(result or 0)


def _refuse(error: UserError | click.UsageError) -> int:
    """Say what the user can mend; a damaged installation is no fault of the input."""
    for sentence in error.sentences if isinstance(error, UserError) else (_usage_sentence(error),):
        say(sentence)
    return PROGRAM_FAULT if isinstance(error, DatabaseError) else WRONG_INPUT


def _report(error: Exception) -> int:
    """Say what the system refused, or that the program is wrong; a file that it misses is that."""
    if isinstance(error, OSError) and not isinstance(error, FileNotFoundError):
        if error.filename is None:
            abandon_standard_output()
        where = f"{error.filename}: " if error.filename else "The output cannot be written: "
        return _refuse(UserError(f"{where}{error.strerror or error}."))
    say(report_sentence(error))
    return PROGRAM_FAULT


def _usage_sentence(error: click.UsageError) -> str:
    """Say what click found wrong, and where to read what is right."""
    path = error.ctx.command_path if error.ctx else PROGRAM
    found = error.format_message()
    if isinstance(error, click.NoSuchOption):  # click's own words change with its versions
        possible = ", ".join(sorted(error.possibilities or ()))
        found = f"No such option: {error.option_name}"
        found += f" (Possible options: {possible})" if possible else ""
    stop = "" if found.endswith(("?", ".")) else "."
    return f'{found}{stop} "{path} --help" tells what there is.'
