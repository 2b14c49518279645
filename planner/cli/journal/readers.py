"""Reads what stands behind the options that only the journal has."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from enum import Enum
from typing import TYPE_CHECKING, Any

from planner.model.errors import InputError
from planner.request.arguments import number, read_kinds, whole
from planner.text import hint, listed, show

if TYPE_CHECKING:
    from planner.journal.records import Outcome
    from targets.model import Kind

NONE = "none"
LONGEST_NOTE = 100_000  # characters: a long evening's prose, not a film


class TakenOut(Enum):
    """What ``none`` says: the value is taken out."""

    TAKEN_OUT = NONE


def read_outcome(option: str, text: str) -> Outcome:
    """Read ``seen``, ``suspected``, ``not-seen`` (also with a blank) or ``skipped``."""
    from planner.journal.records import Outcome  # noqa: PLC0415  # slow to load

    word = "-".join(text.casefold().replace("_", " ").replace("-", " ").split())
    if word in list(Outcome):
        return Outcome(word)
    raise InputError([f"{option} {show(text)} is unknown; allowed is {listed(Outcome)}."])


def read_antoniadi(option: str, text: str) -> str | TakenOut:  # noqa: ARG001  # a reader
    """Read a step of the Antoniadi scale; ``none`` takes it out."""
    from planner.model.antoniadi import ANTONIADI, antoniadi_step  # noqa: PLC0415  # slow to load

    if text == NONE:
        return TakenOut.TAKEN_OUT
    try:
        return ANTONIADI[antoniadi_step(text) - 1]
    except ValueError as error:
        raise InputError([str(error)]) from None


def read_scale(option: str, text: str) -> int | TakenOut:
    """Read a step from 1 to 5; ``none`` takes it out."""
    return TakenOut.TAKEN_OUT if text == NONE else whole(1, 5)(option, text)


def read_words(option: str, text: str) -> str:
    """Read words of the observer's, as they are."""
    if len(text) > LONGEST_NOTE:
        raise InputError([f"{option} has {len(text)} characters; up to {LONGEST_NOTE} are kept."])
    return text


def read_sky(option: str, text: str) -> float:
    """Read the brightness of the sky."""
    from planner.config.conditions import SKY_MAG_RANGE  # noqa: PLC0415  # slow to load

    return number(*SKY_MAG_RANGE, "mag/arcsec2")(option, text)


def read_one_kind(option: str, text: str) -> Kind:
    """Read one kind of target."""
    kinds = read_kinds(option, text)
    if len(kinds) != 1:
        raise InputError([f"{option} {show(text)} means several; allowed is {listed(kinds)}."])
    return kinds[0]


def changes_of(options: Any) -> dict[str, Any]:
    """Return what is given, by the names of the fields; None for what is taken out."""
    values = {one.name: getattr(options, one.name) for one in dataclasses.fields(options)}
    return {
        name: None if value is TakenOut.TAKEN_OUT else value
        for name, value in values.items()
        if value not in {None, ()}
    }


def hint_for(text: str, names: Iterable[str]) -> str:
    """Name the nearest, or all, or say that there is none."""
    names = list(names)
    return hint(text, names, f"there is {listed(names)}." if names else "there is none.")
