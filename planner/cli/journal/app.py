"""The commands under ``fieldstop journal``; each loads what it needs when it is called."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli import options
from planner.cli.journal.texts import AddTexts, ListTexts, NightTexts, ResultTexts, TrainTexts
from planner.cli.result import Result
from planner.request.options import Common

app = typer.Typer(
    help="The journal: what was looked at, with what, and what came of it.",
    rich_markup_mode=None,
    no_args_is_help=True,
)


Data = options.Data
Id = Annotated[
    str, typer.Argument(metavar="ID", help="The first digits of it, as list shows them.")
]
Eyepiece = Annotated[
    str | None,
    typer.Option("--eyepiece", metavar="NAME", help='A zoom with its setting: "Zoom at 12 mm".'),
]
Amplifier = Annotated[
    str | None, typer.Option("--amplifier", metavar="NAME", help="If one was in.")
]
Filter = Annotated[str | None, typer.Option("--filter", metavar="NAME", help="If one was in.")]
At = Annotated[
    str | None, typer.Option("--at", metavar="TIME", help="HH:MM or ISO 8601; else now.")
]
SameNight = Annotated[
    str | None, typer.Option("--at", metavar="TIME", help="Another time of the same night.")
]
As = Annotated[
    str | None,
    typer.Option("--as", metavar="KIND", help="For a target that the catalogue does not know."),
]
Target = Annotated[
    str | None, typer.Option("--target", metavar="TARGET", help="Such as M31, ring nebula, Saturn.")
]
OutcomeWord = Annotated[
    str | None,
    typer.Option(
        "--outcome", metavar="WORD", help="seen, the default, suspected, not-seen or skipped."
    ),
]
Rating = Annotated[
    str | None, typer.Option("--rating", metavar="1..5", help="1 not worth it, 5 unforgettable.")
]
Seeing = Annotated[
    str | None, typer.Option("--seeing", metavar="I..V", help="Antoniadi: I is steady.")
]
Transparency = Annotated[
    str | None, typer.Option("--transparency", metavar="1..5", help="1 thick haze, 5 clear.")
]
Note = Annotated[str | None, typer.Option("--note", metavar="TEXT", help="What you saw.")]
Why = Annotated[
    str | None, typer.Option("--why", metavar="TEXT", help="Why it was skipped: cloud, dew, ...")
]
Sketch = Annotated[
    str | None, typer.Option("--sketch", metavar="FILE", help="Where the sketch is.")
]
Planned = Annotated[
    str | None, typer.Option("--planned", metavar="NAME", help="The eyepiece that the plan had.")
]
PlannedAt = Annotated[
    str | None, typer.Option("--planned-at", metavar="HH:MM", help="When the plan had it.")
]
Since = Annotated[
    str | None, typer.Option("--since", metavar="YYYY-MM-DD", help="From that evening on.")
]
OfEyepiece = Annotated[
    str | None, typer.Option("--eyepiece", metavar="NAME", help="Only looks with this eyepiece.")
]
Count = Annotated[
    str | None, typer.Option("--count", metavar="N", help="The latest so many; else 40.")
]
Removed = Annotated[bool, typer.Option("--removed", help="Those that were removed, and when.")]
Faintest = Annotated[
    str | None, typer.Option("--faintest", metavar="MAG", help="Faintest star seen by eye.")
]
Weather = Annotated[
    str | None, typer.Option("--weather", metavar="TEXT", help="Wind, dew, temperature, cloud.")
]
Comments = Annotated[
    str | None, typer.Option("--comments", metavar="TEXT", help="About the whole session.")
]
Companions = Annotated[
    list[str] | None, typer.Option("--with", metavar="NAME", help="Who was there; may be repeated.")
]
From = Annotated[
    str | None, typer.Option("--from", metavar="HH:MM", help="When it began, site time.")
]
Until = Annotated[
    str | None, typer.Option("--until", metavar="HH:MM", help="When it ended, site time.")
]


@app.command()
def add(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    target: options.Words,
    *,
    eyepiece: Eyepiece = None,
    telescope: options.Telescope = None,
    amplifier: Amplifier = None,
    filter_: Filter = None,
    at: At = None,
    outcome: OutcomeWord = None,
    rating: Rating = None,
    note: Note = None,
    why: Why = None,
    seeing: Seeing = None,
    transparency: Transparency = None,
    planned: Planned = None,
    planned_at: PlannedAt = None,
    sketch: Sketch = None,
    kind: As = None,
    site: options.Site = None,
    date: options.Date = None,
    config: options.Config = None,
    data: Data = None,
) -> Result:
    """Add a look: TARGET, with what, and what came of it."""
    from planner.cli.journal import entries as command  # noqa: PLC0415  # slow to load

    return command.add_command(
        Common(config=config, site=site, date=date),
        AddTexts(" ".join(target), at, kind, planned_at),
        TrainTexts(telescope, eyepiece, amplifier, filter_),
        ResultTexts(outcome, rating, seeing, transparency, note, why, sketch, planned),
        data,
        context.obj,
    )


@app.command("list")
def list_(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    *,
    since: Since = None,
    target: Target = None,
    eyepiece: OfEyepiece = None,
    count: Count = None,
    removed: Removed = False,
    config: options.Config = None,
    format_: options.Format = None,
    output: options.Output = None,
    data: Data = None,
) -> Result:
    """List looks, the latest last."""
    from planner.cli.journal import entries as command  # noqa: PLC0415  # slow to load

    return command.list_command(
        Common(config=config, format=format_, output=output),
        ListTexts(since, target, eyepiece, count, removed),
        data,
        context.obj,
    )


@app.command()
def show(
    context: typer.Context,
    entry_id: Id,
    *,
    format_: options.Format = None,
    output: options.Output = None,
    data: Data = None,
) -> Result:
    """Show one look, and what it was before it was corrected."""
    from planner.cli.journal import entries as command  # noqa: PLC0415  # slow to load

    return command.show_command(Common(format=format_, output=output), entry_id, data, context.obj)


@app.command()
def edit(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    entry_id: Id,
    *,
    target: Target = None,
    eyepiece: Eyepiece = None,
    telescope: options.Telescope = None,
    amplifier: Amplifier = None,
    filter_: Filter = None,
    at: SameNight = None,
    outcome: OutcomeWord = None,
    rating: Rating = None,
    note: Note = None,
    why: Why = None,
    seeing: Seeing = None,
    transparency: Transparency = None,
    planned: Planned = None,
    planned_at: PlannedAt = None,
    sketch: Sketch = None,
    kind: As = None,
    config: options.Config = None,
    data: Data = None,
) -> Result:
    """Correct a look; what it was is kept. "none" takes a rating, a filter and the like out."""
    from planner.cli.journal import corrections as command  # noqa: PLC0415  # slow to load

    return command.edit_command(
        Common(config=config),
        entry_id,
        AddTexts(target or "", at, kind, planned_at),
        TrainTexts(telescope, eyepiece, amplifier, filter_),
        ResultTexts(outcome, rating, seeing, transparency, note, why, sketch, planned),
        data,
        context.obj,
    )


@app.command()
def remove(context: typer.Context, entry_id: Id, *, data: Data = None) -> Result:
    """Take out a look that was a mistake; "restore" brings it back."""
    from planner.cli.journal import entries as command  # noqa: PLC0415  # slow to load

    return command.remove_command(entry_id, data, context.obj)


@app.command()
def restore(context: typer.Context, entry_id: Id, *, data: Data = None) -> Result:
    """Bring back a look that was removed; "list --removed" shows them."""
    from planner.cli.journal import entries as command  # noqa: PLC0415  # slow to load

    return command.restore_command(entry_id, data, context.obj)


@app.command()
def night(  # noqa: PLR0913  # one parameter for each option
    context: typer.Context,
    *,
    begin: From = None,
    until: Until = None,
    seeing: Seeing = None,
    transparency: Transparency = None,
    sky: options.Sky = None,
    faintest: Faintest = None,
    weather: Weather = None,
    companions: Companions = None,
    comments: Comments = None,
    site: options.Site = None,
    date: options.Date = None,
    config: options.Config = None,
    data: Data = None,
) -> Result:
    """Note what holds for a whole session: sky, weather, company, when it ended."""
    from planner.cli.journal import corrections as command  # noqa: PLC0415  # slow to load

    return command.night_command(
        Common(config=config, site=site, date=date),
        NightTexts(
            begin,
            until,
            seeing,
            transparency,
            sky,
            faintest,
            weather,
            comments,
            tuple(companions or ()),
        ),
        data,
        context.obj,
    )


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
) -> Result:
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
) -> Result:
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
) -> Result:
    """Say on one page what the journal teaches: eyepieces, plans, and what is still to see."""
    from planner.cli.journal import report as command  # noqa: PLC0415  # slow to load

    return command.report_command(
        Common(format=format_, output=output), list_name, data, context.obj
    )
