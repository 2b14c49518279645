"""The commands under ``fieldstop targets``; each loads what it needs when it is called."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli import options
from planner.cli.result import Result
from planner.request.options import Common

app = typer.Typer(
    help="Find targets; keep lists of your own, and comets.",
    rich_markup_mode=None,
    no_args_is_help=True,
)

Data = Annotated[
    str | None, typer.Option("--data", metavar="DIR", help="Folder of the lists; else the usual.")
]
Part = Annotated[list[str], typer.Argument(metavar="WORDS", help="A part of a name.")]
File = Annotated[
    str,
    typer.Argument(
        metavar="FILE",
        help="A name in each line; a table (CSV, ECSV, VOTable, FITS); or elements of comets or"
        " minor planets as the Minor Planet Center publishes them.",
    ),
]
Name = Annotated[
    str | None, typer.Option("--name", metavar="NAME", help="Of the list; else the file's.")
]
KeepGood = Annotated[
    bool, typer.Option("--keep-good", help="Keep the good lines though others are refused.")
]
ListName = Annotated[str, typer.Argument(metavar="NAME", help="Of the list.")]


@app.command("find")
def find(
    context: typer.Context,
    words: Part,
    *,
    data: Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Find targets by a part of their names."""
    from planner.cli.targets import find_command  # noqa: PLC0415  # slow to load

    common = Common(format=format_, output=output)
    return find_command(common, " ".join(words), data, context.obj)


@app.command("list")
def list_(
    context: typer.Context,
    *,
    data: Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """List the programmes and your lists, and how much of each you have seen."""
    from planner.cli.targets import list_command  # noqa: PLC0415  # slow to load

    return list_command(Common(format=format_, output=output), data, context.obj)


@app.command()
def show(
    context: typer.Context,
    name: ListName,
    *,
    data: Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Show the targets of a list or programme."""
    from planner.cli.targets import show_command  # noqa: PLC0415  # slow to load

    return show_command(Common(format=format_, output=output), name, data, context.obj)


@app.command()
def add(
    context: typer.Context,
    file: File,
    *,
    name: Name = None,
    keep_good: KeepGood = False,
    data: Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Keep a list from a file; say of each line what was read, guessed or refused."""
    from planner.cli.targets_add import AddTexts, add_command  # noqa: PLC0415  # slow to load

    common = Common(format=format_, output=output)
    return add_command(common, AddTexts(file, name, keep_good), data, context.obj)


@app.command()
def remove(context: typer.Context, name: ListName, *, data: Data = None) -> Result:
    """Remove one of your lists."""
    from planner.cli.targets import remove_command  # noqa: PLC0415  # slow to load

    return remove_command(name, data, context.obj)
