"""``fieldstop kit`` and the commands under it; each loads what it needs when it is called."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli import options
from planner.cli.result import Result
from planner.model.errors import InputError
from planner.request.options import Common

app = typer.Typer(
    help="Look over the kit; try, compare and choose before buying.",
    rich_markup_mode=None,
    invoke_without_command=True,
)

First = Annotated[
    str | None,
    typer.Option("--date", metavar="YYYY-MM-DD", help="First night of the year; else tonight."),
]
WholeYear = Annotated[
    bool, typer.Option("--year", help="Say what each eyepiece is for in a year of nights.")
]
FocalLength = Annotated[
    str | None, typer.Option("--focal-length", metavar="MM", help="Of an eyepiece; zoom: 8-24.")
]
ApparentField = Annotated[
    str | None, typer.Option("--apparent-field", metavar="DEG", help="Of it; zoom: 60-42.")
]
Barrel = Annotated[
    str | None, typer.Option("--barrel", metavar="SIZE", help="0.965in, 1.25in, 2in or 3in.")
]
FieldStop = Annotated[
    str | None, typer.Option("--field-stop", metavar="MM", help="If it is known.")
]
EyeRelief = Annotated[
    str | None, typer.Option("--eye-relief", metavar="MM", help="If it is known.")
]
Mass = Annotated[str | None, typer.Option("--mass", metavar="G", help="If it is known.")]
Name = Annotated[str | None, typer.Option("--name", metavar="NAME", help="To call it by.")]
Barlow = Annotated[
    str | None, typer.Option("--barlow", metavar="FACTOR", help="Try a Barlow, such as 2.")
]
Reducer = Annotated[
    str | None, typer.Option("--reducer", metavar="FACTOR", help="Try a reducer, such as 0.5.")
]
Filter = Annotated[
    str | None, typer.Option("--filter", metavar="KIND", help="Try a filter, such as oiii.")
]
Candidates = Annotated[
    list[str] | None,
    typer.Option("--candidate", metavar="TEXT", help='"17 72 1.25in"; may be repeated.'),
]
File = Annotated[
    str | None, typer.Option("--file", metavar="FILE", help="TOML with [[eyepiece]] and so on.")
]
Fields = Annotated[
    str | None, typer.Option("--fields", metavar="0..3", help="How many targets to draw; else 3.")
]
Count = Annotated[
    str | None, typer.Option("--count", metavar="1..8", help="How many eyepieces; else 3.")
]
WithBarlow = Annotated[
    str | None, typer.Option("--barlow", metavar="FACTOR", help="With a Barlow, such as 2.")
]


@app.callback()
def kit(
    context: typer.Context,
    *,
    year: WholeYear = False,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result | None:
    """Look over the kit: what is wasted, doubled or missing."""
    common = Common(config=config, site=site, telescope=telescope, format=format_, output=output)
    if context.invoked_subcommand is not None:
        if common != Common() or year:
            raise InputError([f'Put the options behind "{context.invoked_subcommand}".'])
        return None
    from planner.cli.kit_command import kit_command  # noqa: PLC0415  # slow to load

    return kit_command(common, context.obj, with_year=year)


@app.command("try")
def try_(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    *,
    focal_length: FocalLength = None,
    apparent_field: ApparentField = None,
    barrel: Barrel = None,
    field_stop: FieldStop = None,
    eye_relief: EyeRelief = None,
    mass: Mass = None,
    name: Name = None,
    barlow: Barlow = None,
    reducer: Reducer = None,
    filter_: Filter = None,
    candidates: Candidates = None,
    file: File = None,
    fields: Fields = None,
    list_name: options.WishList = None,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: First = None,
    data: options.Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Try what you think of buying: how many looks of a year it would win, and which."""
    from planner.cli.kit_advice import YearTexts, try_command  # noqa: PLC0415  # slow to load
    from planner.cli.kit_candidates import CandidateTexts  # noqa: PLC0415  # slow to load

    return try_command(
        Common(config, site, telescope, date, format_, output),
        YearTexts(list_name, data),
        CandidateTexts(
            focal_length=focal_length,
            apparent_field=apparent_field,
            barrel=barrel,
            field_stop=field_stop,
            eye_relief=eye_relief,
            mass=mass,
            name=name,
            barlow=barlow,
            reducer=reducer,
            filter=filter_,
            candidates=candidates or (),
            file=file,
        ),
        fields,
        context.obj,
    )


@app.command("barrels")
def barrels_(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    *,
    list_name: options.WishList = None,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: First = None,
    data: options.Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Tell what each barrel can hold here, and whether 2 inch is worth it for you."""
    from planner.cli.kit_advice import YearTexts, barrels_command  # noqa: PLC0415  # slow to load

    common = Common(config, site, telescope, date, format_, output)
    return barrels_command(common, YearTexts(list_name, data), context.obj)


@app.command("start")
def start_(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    *,
    count: Count = None,
    barlow: WithBarlow = None,
    list_name: options.WishList = None,
    config: options.Config = None,
    site: options.Site = None,
    telescope: options.Telescope = None,
    date: First = None,
    data: options.Data = None,
    format_: options.Format = None,
    output: options.Output = None,
) -> Result:
    """Choose a set from nothing: the few eyepieces that serve a year of looks best."""
    from planner.cli.kit_advice import YearTexts, start_command  # noqa: PLC0415  # slow to load

    common = Common(config, site, telescope, date, format_, output)
    return start_command(common, YearTexts(list_name, data), count, barlow, context.obj)
