"""The views of one look in turn: to find with, the one that suits, without filter, closer.

Observers find with low power, look, then push the power where there is detail, and take the filter
out to compare (common practice). Which details a kind of target has is common practice too.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from planner.matcher.case import Case
from planner.matcher.views import view_through
from planner.model.plan import LookView, ViewRole
from targets.arrays import Flags
from targets.model import Kind

# A look shorter than this has one view [min]; finding takes so much of it at the eyepiece, and what
# comes after the view that suits takes these shares (our choice).
LEAST_LOOK_MIN = 6.0
FIND_MIN = 1.0
CLOSER_SHARE, UNFILTERED_SHARE = 0.3, 0.2
# A second target in the same low field takes this share of the view that suits the first.
BESIDE_SHARE = 0.4
# A field this near the widest finds as well.
WIDE_ENOUGH = 0.7
# A closer view has at least so many times the power, and is sought near the second; for a detail
# with a name near the third (our choice).
CLOSER_FROM, CLOSER_WANTED, DETAIL_WANTED = 1.4, 2.2, 3.5
LEAST_EXIT_PUPIL_MM = 0.5
# How well a target has to be seen to be looked at closer, and to do without its filter [dex]: the
# grades fair and easy begin there.
FAIR_DEX, EASY_DEX = 0.4, 0.8
SHOWPIECE_RATING = 4
# Planetary nebulae smaller than this show no more than a disc [arcmin].
STRUCTURED_ARCMIN = 0.3

DETAILS = {
    "NGC1976": "the four stars of the Trapezium",
    "NGC2070": "the cluster in its middle",
    "NGC3372": "the dark notch and its star",
    "NGC6523": "its brightest part beside the cluster",
}
DETAILS_OF_KIND = {
    Kind.GLOBULAR_CLUSTER: "its stars, in toward the core",
    Kind.GALAXY: "its core",
    Kind.PLANETARY_NEBULA: "structure within it",
    Kind.COMET: "its head",
}
MOONS = {"Jupiter": "its moons", "Saturn": "its moons"}


def views_in_turn(case: Case, column: int, minutes: float) -> tuple[LookView, ...]:
    """Return the views of a look in the order in which one takes them.

    Parameters
    ----------
    case : Case
        The target in all trains.
    column : int
        Of the train of the main view.
    minutes : float
        At the eyepiece, for all of them.

    Returns
    -------
    tuple of LookView
        One at least, the main one; their minutes are whole and sum up to those of the look.
    """
    if minutes < LEAST_LOOK_MIN:
        return (LookView(ViewRole.MAIN, view_through(case, column), round(minutes)),)
    find, closer, bare = _finding(case, column), _closer(case, column), _unfiltered(case, column)
    spent = {
        ViewRole.FIND: FIND_MIN if find is not None else 0.0,
        ViewRole.CLOSER: round(CLOSER_SHARE * minutes) if closer is not None else 0.0,
        ViewRole.UNFILTERED: round(UNFILTERED_SHARE * minutes) if bare is not None else 0.0,
    }
    rest = round(minutes - sum(spent.values()))
    found = (
        (ViewRole.FIND, find, MOONS.get(case.target.id, "")),
        (ViewRole.MAIN, column, ""),
        (ViewRole.UNFILTERED, bare, "without the filter, to compare"),
        (ViewRole.CLOSER, closer, _detail(case)),
    )
    return tuple(
        LookView(role, view_through(case, at), int(spent.get(role, rest)), detail)
        for role, at, detail in found
        if at is not None
    )


def with_second(views: tuple[LookView, ...], other: Case, column: int) -> tuple[LookView, ...]:
    """Put a second target of the same low field into a look, after the main view.

    Parameters
    ----------
    views : tuple of LookView
        From `views_in_turn`.
    other : Case
        The second target in all trains.
    column : int
        Of its train.

    Returns
    -------
    tuple of LookView
        As long together; unchanged where the second target is not well seen, its train cannot be
        had, or time is short.
    """
    place = next(k for k, view in enumerate(views) if view.role is ViewRole.MAIN)
    main = views[place]
    minutes = round(BESIDE_SHARE * main.minutes)
    is_there = other.free is None or other.free[column]
    if minutes < 1 or not is_there or not other.margin_dex(column) >= FAIR_DEX:
        return views
    beside = LookView(
        ViewRole.BESIDE, view_through(other, column), minutes, f"{other.target.name} beside it"
    )
    main = replace(main, minutes=main.minutes - minutes)
    return (*views[:place], main, beside, *views[place + 1 :])


def _bare(case: Case) -> Flags:
    """Tell which trains can be had, have no filter and waste no light, (K,)."""
    table = case.table
    bare = (table.filter_code == 0) & (table.exit_pupil_mm <= 1.15 * case.pupil_mm)
    return np.asarray(bare if case.free is None else bare & case.free)


def _finding(case: Case, column: int) -> int | None:
    fields = np.where(_bare(case) & ~case.table.amplified, case.table.true_field_arcmin, 0.0)
    widest = int(np.argmax(fields))
    if case.table.true_field_arcmin[column] >= WIDE_ENOUGH * fields[widest]:
        return None
    return widest


def _detail(case: Case) -> str:
    """Name what a closer view is for; empty for what has nothing of the kind."""
    target = case.target
    if target.id in DETAILS:
        return DETAILS[target.id]
    if target.kind is Kind.GALAXY and (target.visual_rating or 0) < SHOWPIECE_RATING:
        return ""
    if target.kind is Kind.PLANETARY_NEBULA and (target.major_arcmin or 0.0) < STRUCTURED_ARCMIN:
        return ""
    return DETAILS_OF_KIND.get(target.kind, "")


def _closer(case: Case, column: int) -> int | None:
    """Return the train for a closer look, where the target has something for it and the air too."""
    table, margin = case.table, case.ratings.margin_dex[case.row]
    power, most = table.magnification, float(case.ratings.most_power[case.row])
    main = float(power[column])
    fits = _bare(case) & (power >= CLOSER_FROM * main) & (power <= most)
    fits &= (table.exit_pupil_mm >= LEAST_EXIT_PUPIL_MM) & (margin >= FAIR_DEX)
    if not _detail(case) or not fits.any():
        return None
    wanted = DETAIL_WANTED if case.target.id in DETAILS else CLOSER_WANTED
    away = np.abs(np.log(power / min(wanted * main, most))) + 0.1 * table.amplified
    return int(np.argmin(np.where(fits, away, math.inf)))


def _unfiltered(case: Case, column: int) -> int | None:
    plain = int(case.table.unfiltered[column])
    if case.table.filter_code[column] == 0 or not case.margin_dex(plain) >= EASY_DEX:
        return None
    return plain
