"""All commands: their names, their lines of help, and where options and work of each are."""

from __future__ import annotations

from collections.abc import Sequence

import click

from planner.cli.command import Work, group
from planner.cli.result import write_standard_output

PROGRAM = "fieldstop"


def _print_version(context: click.Context, _: click.Parameter, asked: bool) -> None:  # noqa: FBT001  # click passes it so
    if asked:
        from importlib.metadata import version  # noqa: PLC0415  # slow to load

        write_standard_output(f"{PROGRAM} {version(PROGRAM)}\n")
        context.exit()


def _glossary() -> Sequence[tuple[str, str]]:
    from planner.output.glossary import GLOSSARY  # noqa: PLC0415  # only for the help

    return GLOSSARY


_journal = group(
    "journal",
    "The journal: what was looked at, with what, and what came of it.",
    {
        "add": Work(
            "Add a look: TARGET, with what, and what came of it.",
            "planner.cli.journal.options:AddOptions",
            "planner.cli.journal.additions:add_command",
            collects=True,
        ),
        "list": Work(
            "List looks, the latest last.",
            "planner.cli.journal.options:ListOptions",
            "planner.cli.journal.entries:list_command",
        ),
        "show": Work(
            "Show one look, and what it was before it was corrected.",
            "planner.cli.journal.options:ShowOptions",
            "planner.cli.journal.entries:show_command",
        ),
        "edit": Work(
            'Correct a look; what it was is kept. "none" takes a rating, a filter and the like'
            " out.",
            "planner.cli.journal.options:EditOptions",
            "planner.cli.journal.corrections:edit_command",
        ),
        "remove": Work(
            'Take out a look that was a mistake; "restore" brings it back.',
            "planner.cli.journal.options:EntryOptions",
            "planner.cli.journal.entries:remove_command",
        ),
        "restore": Work(
            'Bring back a look that was removed; "list --removed" shows them.',
            "planner.cli.journal.options:EntryOptions",
            "planner.cli.journal.entries:restore_command",
        ),
        "night": Work(
            "Note what holds for a whole session: sky, weather, company, when it ended.",
            "planner.cli.journal.options:NightOptions",
            "planner.cli.journal.corrections:night_command",
            collects=True,
        ),
        "export": Work(
            "Write the whole journal for other programs.",
            "planner.cli.journal.options:ExportOptions",
            "planner.cli.journal.exchange:export_command",
            collects=True,
        ),
        "import": Work(
            "Take looks from FILE into the journal: all of them, or none when one is refused.",
            "planner.cli.journal.options:ImportOptions",
            "planner.cli.journal.exchange:import_command",
            collects=True,
        ),
        "report": Work(
            "Say on one page what the journal teaches: eyepieces, plans, and what is still to see.",
            "planner.cli.journal.options:ReportOptions",
            "planner.cli.journal.report:report_command",
        ),
    },
)

_kit = group(
    "kit",
    "Look over the kit; try, compare and choose before buying.",
    {
        "try": Work(
            "Try what you think of buying: how many looks of a year it would win, and which.",
            "planner.cli.kit.options:TryOptions",
            "planner.cli.kit.advice:try_command",
            collects=True,
        ),
        "barrels": Work(
            "Tell what each barrel can hold here, and whether 2 inch is worth it for you.",
            "planner.cli.kit.options:BarrelsOptions",
            "planner.cli.kit.advice:barrels_command",
        ),
        "start": Work(
            "Choose a set from nothing, or beside what is there, that serves a year best.",
            "planner.cli.kit.options:StartOptions",
            "planner.cli.kit.advice:start_command",
            collects=True,
        ),
    },
    alone=Work(
        "", "planner.cli.kit.options:KitOptions", "planner.cli.kit.audit:kit_command", collects=True
    ),
)

_targets = group(
    "targets",
    "Find targets; keep lists of your own, and comets.",
    {
        "find": Work(
            "Find targets by a part of their names.",
            "planner.cli.targets.options:FindOptions",
            "planner.cli.targets.lists:find_command",
        ),
        "list": Work(
            "List the programmes and your lists, and how much of each you have seen.",
            "planner.cli.targets.options:ListsOptions",
            "planner.cli.targets.lists:list_command",
        ),
        "show": Work(
            "Show the targets of a list or programme.",
            "planner.cli.targets.options:ShowListOptions",
            "planner.cli.targets.lists:show_command",
        ),
        "add": Work(
            "Keep a list from a file; say of each line what was read, guessed or refused.",
            "planner.cli.targets.options:AddListOptions",
            "planner.cli.targets.add:add_command",
        ),
        "remove": Work(
            "Remove one of your lists.",
            "planner.cli.targets.options:RemoveOptions",
            "planner.cli.targets.lists:remove_command",
        ),
    },
)

program = group(
    PROGRAM,
    """Plan a visual observing night: each target with the eyepiece of your own kit for it.

    Without a command the night opens at the telescope, screen by screen; ? shows the keys.
    """,
    {
        "plan": Work(
            "Plan the night: which target when, in which eyepiece, and why.",
            "planner.cli.options:PlanOptions",
            "planner.cli.plan:plan_command",
        ),
        "look": Work(
            "Show one target: when it is up, and how every eyepiece shows it.",
            "planner.cli.options:LookOptions",
            "planner.cli.look:look_command",
            collects=True,
        ),
        "nights": Work(
            "Look ahead: the coming nights, and the best one for a target.",
            "planner.cli.options:NightsOptions",
            "planner.cli.nights:nights_command",
            collects=True,
        ),
        "setup": Work(
            "Write a first configuration by asking about your place and kit.",
            "planner.cli.options:SetupOptions",
            "planner.cli.setup:setup_command",
        ),
        "journal": _journal,
        "kit": _kit,
        "targets": _targets,
    },
    alone=Work("", "planner.cli.options:ScreenOptions", "planner.cli.screens:open_screens"),
    explains=_glossary,
    more=[
        click.Option(
            ["--version"],
            is_flag=True,
            is_eager=True,
            expose_value=False,
            callback=_print_version,
            help="The version.",
        )
    ],
)
