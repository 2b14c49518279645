"""Puts together what a plan with two telescopes needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from planner.config.settings import Settings
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import corrector_in, make_trains
from planner.model.errors import Faults, InputError, NothingToPlanError
from planner.model.kit import Kit
from planner.planning.circumstances import Circumstances
from planner.request.circumstances import check_kit
from planner.text import show


def check_two(settings: Settings, names: Sequence[str], observers: int | None) -> None:
    """Make sure that two different telescopes are named.

    Raises
    ------
    InputError
        With a sentence for everything that is wrong.
    """
    if len(names) > 2:
        raise InputError(
            [f"--telescope is given {len(names)} times; a plan has two telescopes at most."]
        )
    if len(names) < 2:
        raise InputError(
            [f"--observers {observers} needs two telescopes: name both with --telescope."]
        )
    faults = Faults()
    found = [faults.attempt(settings.telescope, name) for name in names]
    faults.check()
    if found[0] is found[1]:
        raise InputError([f"--telescope {show(names[0])} is named twice; name two of them."])


Pair = tuple[Circumstances, Circumstances]


def with_own_corrector(pair: Pair, kit: Kit) -> tuple[Circumstances, str]:
    """Take the coma corrector that stays in the first telescope away from the second.

    Returns
    -------
    circumstances : Circumstances
        Of the second telescope.
    remark : str
        A sentence where it has to do without; empty where nothing changes.
    """
    first, second = (one.telescope for one in pair)
    corrector = corrector_in(first, kit)
    if corrector is None or corrector_in(second, kit) is not corrector:
        return pair[1], ""
    rest = tuple(part for part in kit.amplifiers if part is not corrector)
    trains = make_trains(second, replace(kit, amplifiers=rest))
    without = replace(
        pair[1],
        table=tabulate_trains(trains),
        misfits=tuple(train for train in trains if not train.usable),
    )
    return (
        without,
        f"{corrector.name} stays in {first.name}; {second.name} is planned without it.",
    )


def usable(pair: Pair) -> tuple[tuple[Circumstances, ...], str]:
    """Return those that have something to look through, and a sentence about the one that has not.

    Raises
    ------
    NothingToPlanError
        Where neither has.
    """
    able, told = list[Circumstances](), list[str]()
    for one in pair:
        try:
            check_kit(one)
            able.append(one)
        except NothingToPlanError as error:
            told.append(str(error))
    if not able:
        raise NothingToPlanError(" ".join(told))
    if len(able) == len(pair):
        return pair, ""
    return tuple(able), f"{told[0]} Planned with {able[0].telescope.name} alone."
