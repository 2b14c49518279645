"""What a command line is made of: commands and groups of click, from declared options.

What stands behind an option and cannot be read is noted, so that all faults are told at once. The
modules of the options and of the work are loaded when their command runs, and for nothing else.
"""

from __future__ import annotations

import dataclasses
import importlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

import click

from planner.cli.declared import DECLARED, Argument, Option, Switch
from planner.cli.result import Result
from planner.model.errors import Faults, InputError
from targets.frozen import frozen

HELP_NAMES = {"help_option_names": ["-h", "--help"]}
_FAULTS = "planner.cli.faults"
_UNREADABLE: Any = object()  # nobody gets to use it: the faults are told first


@frozen
class Work:
    """A command without its options: what it does, where, and its line of help.

    Parameters
    ----------
    help : str
        The first sentence stands in the list of commands.
    options : str
        Module and name of a dataclass of declared options, as in
        ``planner.cli.options:PlanOptions``.
    place : str
        Module and name of the function. It takes the options and the surroundings and returns a
        `Result`.
    collects : bool
        Whether the function takes `Faults` too, to tell what it finds together with what the
        options' readers found.
    """

    help: str
    options: str
    place: str
    collects: bool = False


def command(name: str, work: Work) -> click.Command:
    """Return a command of the command line."""
    return _Command(
        name,
        options=work.options,
        callback=_runner(work),
        help=work.help,
        context_settings=HELP_NAMES,
    )


def group(
    name: str,
    help_: str,
    commands: Mapping[str, Work | click.Command],
    *,
    alone: Work | None = None,
    more: Sequence[click.Parameter] = (),
    explains: Callable[[], Sequence[tuple[str, str]]] | None = None,
) -> click.Group:
    """Return a group of commands.

    Parameters
    ----------
    commands : mapping
        By name.
    alone : Work or None
        What the group does without one of its commands; None when it only tells what there is.
    more : sequence of click.Parameter
        Options that the group has besides.
    explains : callable, optional
        Returns words and what they mean, for the end of the help.
    """
    parts = [command(part, one) if isinstance(one, Work) else one for part, one in commands.items()]
    return _Group(
        name,
        options=alone.options if alone else None,
        explains=explains,
        commands=parts,
        params=list(more),
        callback=_runner(alone) if alone else None,
        help=help_,
        invoke_without_command=alone is not None,
        no_args_is_help=alone is None,
        subcommand_metavar="COMMAND [ARGS]...",
        context_settings=HELP_NAMES,
    )


class _Command(click.Command):
    """A command whose arguments have a section of their own in the help.

    Parameters
    ----------
    options : str or None
        Where its options are declared; they are loaded when it is run, or its own help is wanted.
    """

    def __init__(self, *args: Any, options: str | None = None, **others: Any) -> None:
        super().__init__(*args, **others)
        self.options = options

    def make_context(self, *args: Any, **others: Any) -> click.Context:
        """Declare the options before the first word is read."""
        if self.options is not None:
            self.params = [*_parameters(_loaded(self.options)), *self.params]
            self.options = None
        return super().make_context(*args, **others)

    def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        rows = [
            (param.shown, param.explained) for param in self.params if isinstance(param, _Words)
        ]
        if rows:
            with formatter.section("Arguments"):
                formatter.write_dl(rows)
        super().format_options(ctx, formatter)


class _Group(_Command, click.Group):
    """A group that lists its commands in the order in which they are declared."""

    def __init__(
        self,
        *args: Any,
        explains: Callable[[], Sequence[tuple[str, str]]] | None = None,
        **others: Any,
    ) -> None:
        super().__init__(*args, **others)
        self.explains = explains

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002  # click's signature
        if self.explains is not None:
            with formatter.section("Words"):
                formatter.write_dl(list(self.explains()))

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's signature
        return list(self.commands)


class _Words(click.Argument):
    """An argument with help."""

    def __init__(self, name: str, declared: Argument) -> None:
        many = declared.takes_words
        shown = declared.metavar if declared.is_required else f"[{declared.metavar}]"
        super().__init__(
            [name],
            nargs=-1 if many else 1,
            required=declared.is_required,
            metavar=f"{shown}..." if many else shown,
        )
        self.shown = declared.metavar
        self.explained = declared.help

    def get_error_hint(self, ctx: click.Context | None) -> str:  # noqa: ARG002  # click's signature
        return f"'{self.shown}'"

    def make_metavar(self, ctx: click.Context) -> str:  # noqa: ARG002  # click's signature
        return str(self.metavar)


class _Reader(click.ParamType[Any]):
    """Reads the text behind an option, or notes why it cannot be read."""

    name = "text"

    def __init__(self, option: Option[Any]) -> None:
        self.option = option

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:  # noqa: ARG002  # click's signature
        if ctx is None or not isinstance(value, str):
            return value
        faults = _faults(ctx)
        before = len(faults.found)
        found = faults.attempt(self.option.read, self.option.name, value)
        return found if len(faults.found) == before else _UNREADABLE


def _faults(context: click.Context) -> Faults:
    """Return what has been noted so far on this command line."""
    faults: Faults = context.meta.setdefault(_FAULTS, Faults())
    return faults


def _parameters(options: type) -> Iterator[click.Parameter]:
    for one in dataclasses.fields(options):
        declared = one.metadata[DECLARED]
        if isinstance(declared, type):
            yield from _parameters(declared)
        elif isinstance(declared, Argument):
            yield _Words(one.name, declared)
        elif isinstance(declared, Switch):
            yield click.Option([declared.name, one.name], is_flag=True, help=declared.help)
        else:
            yield click.Option(
                [declared.name, one.name],
                type=_Reader(declared),
                multiple=declared.is_repeated or bool(declared.elsewhere),
                metavar=declared.metavar,
                help=declared.help,
            )


def _read(options: type, values: Mapping[str, Any]) -> Any:
    """Put the values of a command line into the dataclass that declares them."""
    found: dict[str, Any] = {}
    for one in dataclasses.fields(options):
        declared = one.metadata[DECLARED]
        if isinstance(declared, type):
            found[one.name] = _read(declared, values)
            continue
        value = values[one.name]
        if isinstance(declared, Argument) and declared.takes_words:
            value = " ".join(value) if value else None
        if isinstance(declared, Option) and declared.elsewhere and not declared.is_repeated:
            value = _single(declared, value)
        found[one.name] = one.default if value is None else value
    return options(**found)


def _single(option: Option[Any], values: Sequence[Any]) -> Any:
    """Return what was given once; None where it was not given."""
    if len(values) > 1:
        words = f"{option.name} is given {len(values)} times, and allowed once here."
        raise InputError([f"{words} {option.elsewhere}"])
    return values[0] if values else None


def _runner(work: Work) -> Callable[..., Result | None]:
    """Return what click calls: it reads all options, then loads and runs the command."""

    @click.pass_context
    def run(context: click.Context, /, **values: Any) -> Result | None:
        if context.invoked_subcommand is not None:
            if any(context.get_parameter_source(name) is _TYPED for name in values):
                raise InputError([f'Put the options behind "{context.invoked_subcommand}".'])
            return None
        faults = _faults(context)
        asked = _read(_loaded(work.options), values)
        # Without a folder there is nothing that a command could go on with.
        if not work.collects or getattr(asked, "data", None) is _UNREADABLE:
            faults.check()
        function = _loaded(work.place)
        more = (faults,) if work.collects else ()
        result: Result = function(asked, context.obj, *more)
        return result

    return run


def _loaded(place: str) -> Any:
    """Return what has a name in a module: ``module:name``."""
    module, _, name = place.partition(":")
    return getattr(importlib.import_module(module), name)


_TYPED = click.core.ParameterSource.COMMANDLINE
