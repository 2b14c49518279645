"""An evening for guests: easy targets, and eyepieces through which anybody sees them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from planner.matcher.train_table import tabulate_trains
from planner.model.errors import NothingToPlanError
from planner.model.kit import Train
from planner.planning.circumstances import Circumstances
from planner.planning.outlook.coming_nights import showpieces
from targets.arrays import Codes
from targets.catalogue.catalogue import Catalogue
from targets.model import Kind

# People who never looked through a telescope, and those with spectacles, need some distance
# (common practice).
LEAST_EYE_RELIEF_MM = 12.0
# Through an undriven telescope a star crosses 15 arcmin in a minute: a field that holds a target
# in the middle half of it for a minute is twice as wide.
UNDRIVEN_FIELD_ARCMIN = 30.0
# What no guest can make anything of, however easy it is for the host.
NOT_FOR_GUESTS = (Kind.DARK_NEBULA, Kind.QUASAR, Kind.STAR_CLOUD, Kind.ASTEROID)


def for_guests(circumstances: Circumstances, guests: int) -> Circumstances:
    """Return circumstances for guests: no filters, eyepieces that are easy to look into.

    Where the kit has none that is all of what guests need, the others stay, so that something can
    be shown.

    Parameters
    ----------
    guests : int
        How many look one after the other, 1 or more.

    Raises
    ------
    NothingToPlanError
        If no train is without a filter.
    """
    trains = [train for train in circumstances.table.trains if train.filter is None]
    if not trains:
        raise NothingToPlanError("No eyepiece can be used without a filter.")
    for is_easy in _needs(driven=circumstances.telescope.driven):
        trains = [train for train in trains if is_easy(train)] or trains
    pace = replace(circumstances.pace, guests=guests, easy_share=1.0)
    return replace(circumstances, table=tabulate_trains(trains), pace=pace)


def _needs(*, driven: bool) -> tuple[Callable[[Train], bool], ...]:
    """Return what a train for guests has to be, the most needed first."""

    def is_relaxed(train: Train) -> bool:
        relief = train.eyepiece.eye_relief_mm
        return relief is None or relief >= LEAST_EYE_RELIEF_MM

    def holds(train: Train) -> bool:
        return driven or train.true_field_arcmin >= UNDRIVEN_FIELD_ARCMIN

    return (is_relaxed, holds)


def rows_for_guests(catalogue: Catalogue) -> Codes:
    """Return the rows of what guests are shown: showpieces that need no practised eye."""
    rows = showpieces(catalogue)
    return rows[~catalogue.of_kind(*NOT_FOR_GUESTS)[rows]]
