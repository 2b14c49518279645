"""The journal's commands that write for other programs and people, and read what they wrote."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli import options
from planner.cli.journal.app import Data, app
from planner.cli.result import Outcome
from planner.request.options import Common

__all__ = ["app"]

Form = Annotated[
    str | None,
    typer.Option("--format", metavar="oal|csv|json", help="oal is OpenAstronomyLog 2.1 (XML)."),
]
File = Annotated[str, typer.Argument(metavar="FILE", help="OpenAstronomyLog, CSV or JSON.")]
OfList = Annotated[
    str | None,
    typer.Option("--list", metavar="NAME|FILE", help="The list whose state is told; else messier."),
]
KeepGood = Annotated[
    bool, typer.Option("--keep-good", help="Take the good ones though others are refused.")
]


@app.command()
def export(
    context: typer.Context,
    *,
    format_: Form = None,
    output: options.Output = None,
    data: Data = None,
) -> Outcome:
    """Write the whole journal for other programs."""
    from planner.cli.journal import exchange as command  # noqa: PLC0415  # slow to load

    return command.export_command(Common(format=format_, output=output), data, context.obj)


@app.command("import")
def import_(
    context: typer.Context,
    file: File,
    *,
    format_: Form = None,
    keep_good: KeepGood = False,
    data: Data = None,
) -> Outcome:
    """Take looks from FILE into the journal: all of them, or none when one is refused."""
    from planner.cli.journal import exchange as command  # noqa: PLC0415  # slow to load

    return command.import_command(file, format_, data, context.obj, keep_good=keep_good)


@app.command()
def report(
    context: typer.Context,
    *,
    list_name: OfList = None,
    format_: options.Format = None,
    output: options.Output = None,
    data: Data = None,
) -> Outcome:
    """Say on one page what the journal teaches: eyepieces, plans, and what is still to see."""
    from planner.cli.journal import report as command  # noqa: PLC0415  # slow to load

    return command.report_command(
        Common(format=format_, output=output), list_name, data, context.obj
    )
