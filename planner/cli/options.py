"""The options of the commands: how they are spelled and what their help says.

All of them come in as text; ``planner.request.arguments`` reads it, so that every fault is a
sentence.
"""

from __future__ import annotations

from typing import Annotated

import typer

Config = Annotated[
    str | None, typer.Option("--config", metavar="FILE", help="Configuration file (TOML).")
]
Site = Annotated[
    str | None, typer.Option("--site", metavar="NAME", help="Site; without it, the first.")
]
Telescope = Annotated[
    str | None, typer.Option("--telescope", metavar="NAME", help="Telescope; else the first.")
]
Date = Annotated[
    str | None,
    typer.Option("--date", metavar="YYYY-MM-DD", help="Date of the evening; else tonight."),
]
Format = Annotated[
    str | None, typer.Option("--format", metavar="text|json", help="Text, the default, or JSON.")
]
PlanFormat = Annotated[
    str | None,
    typer.Option("--format", metavar="NAME", help="text, json, html, csv, ecsv or ics."),
]
LookFormat = Annotated[
    str | None, typer.Option("--format", metavar="NAME", help="text, json or html.")
]
Output = Annotated[
    str | None,
    typer.Option("--output", metavar="FILE", help="A new file instead of standard output."),
]

Begin = Annotated[
    str | None,
    typer.Option("--from", metavar="HH:MM", help="Start, site time; else dusk, or now."),
]
Until = Annotated[
    str | None,
    typer.Option("--until", metavar="HH:MM", help="End, site time; else 4 hours on, or dawn."),
]
Count = Annotated[
    str | None, typer.Option("--count", metavar="N", help="Most looks; else as many as fit.")
]
Kinds = Annotated[
    list[str] | None,
    typer.Option("--kind", metavar="KIND", help="Only this kind of target; may be repeated."),
]
TargetList = Annotated[
    str | None,
    typer.Option(
        "--list",
        metavar="NAME|FILE",
        help='Only these; "targets list" names them.',
    ),
]
Constellation = Annotated[
    str | None,
    typer.Option("--constellation", metavar="NAME", help="Only in this constellation."),
]
MinAltitude = Annotated[
    str | None,
    typer.Option("--min-altitude", metavar="DEG", help="Lowest altitude; else by kind."),
]

Sky = Annotated[
    str | None,
    typer.Option("--sky", metavar="MAG", help="Zenith tonight, no Moon, mag/arcsec2."),
]
Seeing = Annotated[
    str | None,
    typer.Option("--seeing", metavar="I..V", help="Seeing tonight, Antoniadi: I is steady."),
]
Transparency = Annotated[
    str | None,
    typer.Option("--transparency", metavar="1..5", help="Tonight: 1 thick haze, 5 clear."),
]
Extinction = Annotated[
    str | None,
    typer.Option("--extinction", metavar="MAG", help="Per air mass on a clear night."),
]

Data = Annotated[
    str | None,
    typer.Option("--data", metavar="DIR", help="Folder of journal and lists; else the usual."),
]
NotSeen = Annotated[
    bool, typer.Option("--not-seen", help="Leave out what the journal has as seen.")
]
NoLeaning = Annotated[
    bool, typer.Option("--no-leaning", help="Take no account of what the journal teaches.")
]

Words = Annotated[
    list[str], typer.Argument(metavar="TARGET", help="Such as M31, ngc 7000, ring nebula, Saturn.")
]
At = Annotated[
    str | None,
    typer.Option("--at", metavar="TIME", help="HH:MM or ISO 8601; else the best moment."),
]
Why = Annotated[
    str | None,
    typer.Option("--why", metavar="EYEPIECE", help="Say why not this eyepiece."),
]
Fields = Annotated[
    str | None,
    typer.Option("--fields", metavar="0..3", help="How many eyepieces to draw; else 1."),
]

OptionalWords = Annotated[
    list[str] | None,
    typer.Argument(metavar="[TARGET]", help="Whose best night is wanted; such as M42, Saturn."),
]
Nights = Annotated[
    str | None, typer.Option("--count", metavar="N", help="How many nights, 1 to 366; else 30.")
]
WishList = Annotated[
    str | None,
    typer.Option(
        "--list", metavar="NAME|FILE", help="The wish list, as of plan; else the showpieces."
    ),
]
