"""How the options of a command are declared: as fields, each with its name, help and reader.

A command's options are the fields of a frozen dataclass; `planner.cli.command` makes what click
knows of them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import Any, Generic, TypeVar, cast, overload

from targets.frozen import frozen

Value = TypeVar("Value")
DECLARED = "declared"


@frozen
class Option(Generic[Value]):
    """An option and how the text behind it is read.

    Parameters
    ----------
    name : str
        As it is typed.
    metavar, help : str
        For ``--help``.
    read : callable
        The value, from the option's name and the text; raises UserError with a sentence that names
        the option.
    is_repeated : bool
        Whether it may be given several times.
    elsewhere : str
        A sentence for those who give it several times where one is allowed; without one the last
        counts.
    """

    name: str
    metavar: str
    help: str
    read: Callable[[str, str], Value]
    is_repeated: bool = False
    elsewhere: str = ""


@frozen
class Switch:
    """An option without a value."""

    name: str
    help: str


@frozen
class Argument:
    """One word, or all words, behind the command."""

    metavar: str
    help: str
    is_required: bool
    takes_words: bool


@overload
def given(option: Option[Value]) -> Value | None: ...
@overload
def given(option: Option[Value], default: Value) -> Value: ...
def given(option: Option[Value], default: Value | None = None) -> Value | None:
    """Return a field for what an option says; the default when it is not given."""
    return cast(Value, _field(option, default))


def repeated(option: Option[Value]) -> tuple[Value, ...]:
    """Return a field for an option that may be given several times."""
    return cast(tuple[Value, ...], _field(dataclasses.replace(option, is_repeated=True), ()))


def flag(name: str, help_: str) -> bool:
    """Return a field for an option without a value."""
    return cast(bool, _field(Switch(name, help_), default=False))


def argument(metavar: str, help_: str) -> str:
    """Return a field for one word that is needed."""
    return cast(str, _field(Argument(metavar, help_, is_required=True, takes_words=False), ""))


def words(metavar: str, help_: str) -> str:
    """Return a field for words that are needed, as one text."""
    return cast(str, _field(Argument(metavar, help_, is_required=True, takes_words=True), ""))


def words_or_none(metavar: str, help_: str) -> str | None:
    """Return a field for words, as one text; None when there are none."""
    declared = Argument(metavar, help_, is_required=False, takes_words=True)
    return cast("str | None", _field(declared, None))


def group_of(options: type[Value]) -> Value:
    """Return a field that holds options declared together."""
    return dataclasses.field(default=options(), metadata={DECLARED: options})


def _field(declared: object, default: object) -> Any:
    return dataclasses.field(default=default, metadata={DECLARED: declared})
