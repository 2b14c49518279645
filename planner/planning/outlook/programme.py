"""A list over the season: which of the coming nights for which of its targets."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from itertools import pairwise

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.model.errors import NothingToPlanError
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.outlook.coming_nights import NightsAsked
from planner.planning.outlook.coverage import wanted_rows
from planner.planning.outlook.night_cover import best_slots, fewest_nights, total_quality
from planner.planning.outlook.offers import (
    STEP_MIN,
    BestSeen,
    NightOffer,
    Search,
    field_groups,
    look_minutes,
    nights_asked,
    offers_of,
    why_never,
)
from planner.planning.session_times import SessionTimes
from targets.arrays import Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Target

# The list may not be longer than this: it would take some forty nights (our choice).
MOST_TARGETS = 500
# Another night takes over a night's targets when it shows them better by this much on average. A
# night this much worse may come a month earlier: what is done is done (our choice).
WORTH_A_CHANGE, A_MONTH_EARLIER = 0.02, 0.005
# A night that holds so many of another's looks can stand in for it (our choice).
MOST_OF_THEM = 0.8
# What leaves within so many days and then stays away longer than a Moon is to be done soon.
SOON_DAYS, AWAY_DAYS = 45, 40


@frozen
class ProgrammeLook:
    """A look of a programme: targets of one field, when (UTC) and how high [deg]."""

    targets: tuple[Target, ...]
    start: datetime
    end: datetime
    altitude_deg: float


@frozen
class ProgrammeNight:
    """A night of a programme with its looks in order.

    ``stand_ins`` are the other nights that could hold most of these looks, `MOST_OF_THEM`.
    """

    night: Night
    session: SessionTimes
    looks: tuple[ProgrammeLook, ...]
    stand_ins: tuple[date, ...]

    def chance(self, clear_share: float) -> float:
        """The chance, 0 .. 1, that this night or one of its stand-ins is clear."""
        return 1.0 - (1.0 - clear_share) ** (1 + len(self.stand_ins))


@frozen
class OutOfReach:
    """A target that no night holds, and a clause that says why."""

    target: Target
    why: str


@frozen
class LeavingSoon:
    """A target that is to be done soon, with the last night for it and the one of the programme."""

    target: Target
    last: date
    planned: date | None


@frozen
class NightsToFinish:
    """The fewest nights that finish a list.

    Parameters
    ----------
    first, last : datetime.date
        The nights that were looked at.
    nights : tuple of ProgrammeNight
        In order.
    out_of_reach : tuple of OutOfReach
        What cannot be done.
    leaving : tuple of LeavingSoon
        What leaves soon, the first to go first.
    look_minutes : int
        How long a look takes, with what it takes to find it [min].
    """

    first: date
    last: date
    nights: tuple[ProgrammeNight, ...]
    out_of_reach: tuple[OutOfReach, ...]
    leaving: tuple[LeavingSoon, ...]
    look_minutes: int

    @property
    def looks(self) -> tuple[ProgrammeLook, ...]:
        """The looks of all nights, in order."""
        return tuple(look for night in self.nights for look in night.looks)


def finish_list(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    site: Site,
    circumstances: Circumstances,
    asked: NightsAsked,
) -> NightsToFinish:
    """Find the fewest nights that finish a list.

    Parameters
    ----------
    circumstances : Circumstances
        Who looks, through what (one train at least), under what sky; the same for every night.
    asked : NightsAsked
        Which nights, their hours, the nights to leave out, and the rows still to be seen.

    Returns
    -------
    NightsToFinish
        Every target is in one look, or out of reach with the reason.

    Raises
    ------
    NothingToPlanError
        If the list is empty, or longer than `MOST_TARGETS`.
    InputError
        If the session asked for is impossible on every night.
    OutsideEphemerisError
        If there are no positions for one of the dates.
    """
    rows = np.unique(asked.rows if asked.rows is not None else np.empty(0, dtype=np.intp))
    if not 0 < len(rows) <= MOST_TARGETS:
        raise NothingToPlanError(
            f"A programme takes a list of 1 to {MOST_TARGETS} targets; this one has {len(rows)}."
        )
    wanted = wanted_rows(catalogue, rows, circumstances.preferences)
    look_min = look_minutes(wanted, circumstances)
    search = Search(
        ephemeris=ephemeris,
        circumstances=circumstances,
        wanted=wanted,
        groups=field_groups(wanted.targets, circumstances.table),
        slot_steps=look_min // STEP_MIN,
    )
    offers, best_seen = offers_of(search, nights_asked(ephemeris, site, asked), asked)
    chosen = fewest_nights([offer.quality for offer in offers])
    chosen, slots = _settled([offer.quality for offer in offers], chosen, _delays(offers))
    nights = _programme_nights(search, offers, chosen, slots)
    last = asked.first + timedelta(days=asked.count - 1)
    return NightsToFinish(
        first=asked.first,
        last=last,
        nights=nights,
        out_of_reach=_out_of_reach(search, offers, slots, best_seen),
        leaving=_leaving(search, offers, nights, last),
        look_minutes=look_min,
    )


def _settled(
    quality: Sequence[Floats], chosen: tuple[int, ...], delay: Floats
) -> tuple[tuple[int, ...], list[tuple[int, int]]]:
    """Move whole nights to where their targets stand better, then give each group its slot.

    Parameters
    ----------
    quality : sequence of ndarray
        Of each night, (groups, slots).
    chosen : tuple of int
        The nights.
    delay : ndarray
        What each night loses for being later.

    Returns
    -------
    chosen : tuple of int
        As many nights as before.
    slots : list of (int, int)
        Night and slot of each group; (-1, -1) for none.
    """
    slots = _slots_of(quality, chosen)
    for place in range(len(chosen)):
        group = np.array([g for g, (night, _) in enumerate(slots) if night == chosen[place]])
        if not len(group):
            continue
        now = sum(float(quality[slots[g][0]][g, slots[g][1]]) for g in group)
        least = now + (WORTH_A_CHANGE - delay[chosen[place]]) * len(group)
        for other in range(len(quality)):
            found = None if other in chosen else _all_placed(quality[other][group])
            worth = -np.inf if found is None else found - delay[other] * len(group)
            if worth > least:
                least = worth
                chosen = (*chosen[:place], other, *chosen[place + 1 :])
    chosen = tuple(sorted(chosen))
    return chosen, _slots_of(quality, chosen)


def _delays(offers: Sequence[NightOffer]) -> Floats:
    """Return what each night loses for being later."""
    days = np.array([(one.night.date - offers[0].night.date).days for one in offers])
    return days / 30.0 * A_MONTH_EARLIER


def _slots_of(quality: Sequence[Floats], chosen: Sequence[int]) -> list[tuple[int, int]]:
    """Give each group its slot in the chosen nights."""
    if not chosen:
        return [(-1, -1)] * (len(quality[0]) if quality else 0)
    columns = [(night, slot) for night in chosen for slot in range(quality[night].shape[1])]
    found = best_slots(np.concatenate([quality[night] for night in chosen], axis=1))
    return [columns[column] if column >= 0 else (-1, -1) for column in found]


def _all_placed(quality: Floats) -> float | None:
    """Return how well a night holds all of some groups; None when it does not hold all."""
    if not quality.any(axis=1).all():
        return None
    slots = best_slots(quality)
    return total_quality(quality, slots) if (slots >= 0).all() else None


def _holds_most(quality: Floats) -> bool:
    """Whether a night can stand in for one that shows these groups."""
    least = MOST_OF_THEM * len(quality)
    if min(int(quality.any(axis=1).sum()), quality.shape[1]) < least:
        return False
    return int((best_slots(quality) >= 0).sum()) >= least


def _programme_nights(
    search: Search,
    offers: Sequence[NightOffer],
    chosen: Sequence[int],
    slots: Sequence[tuple[int, int]],
) -> tuple[ProgrammeNight, ...]:
    found = []
    for number in chosen:
        offer = offers[number]
        groups = sorted((s, g) for g, (night, s) in enumerate(slots) if night == number)
        if not groups:
            continue
        rows = np.array([group for _, group in groups])
        found.append(
            ProgrammeNight(
                offer.night,
                offer.session,
                tuple(_look(search, offer, group, slot) for slot, group in groups),
                tuple(
                    other.night.date
                    for k, other in enumerate(offers)
                    if k not in chosen and _holds_most(other.quality[rows])
                ),
            )
        )
    return tuple(found)


def _look(search: Search, offer: NightOffer, group: int, slot: int) -> ProgrammeLook:
    first = slot * search.slot_steps
    return ProgrammeLook(
        targets=tuple(search.wanted.targets[row] for row in search.groups[group]),
        start=offer.grid.instant(first),
        end=offer.grid.instant(first + search.slot_steps),
        altitude_deg=float(offer.altitude_deg[group, slot]),
    )


def _out_of_reach(
    search: Search, offers: Sequence[NightOffer], slots: Sequence[tuple[int, int]], best: BestSeen
) -> tuple[OutOfReach, ...]:
    if not offers:
        return tuple(OutOfReach(t, "no night has a session") for t in search.wanted.targets)
    can = {int(g) for offer in offers for g in np.flatnonzero(offer.quality.any(axis=1))}
    full = "all its nights are full"
    return tuple(
        OutOfReach(
            search.wanted.targets[row],
            full if group in can else why_never(search, offers, best, int(row)),
        )
        for group, (night, _) in enumerate(slots)
        if night < 0
        for row in search.groups[group]
    )


def _leaving(
    search: Search, offers: Sequence[NightOffer], nights: Sequence[ProgrammeNight], last: date
) -> tuple[LeavingSoon, ...]:
    """Find what has its last good night within `SOON_DAYS` and does not come back for a while."""
    planned = {
        target.id: one.night.date for one in nights for look in one.looks for target in look.targets
    }
    found = []
    for group, rows in enumerate(search.groups):
        good = [offer.night.date for offer in offers if offer.quality[group].any()]
        gone = _last_of_run([*good, last + timedelta(days=1)])
        if good and gone is not None and (gone - offers[0].night.date).days <= SOON_DAYS:
            found += [
                LeavingSoon(target, gone, planned.get(target.id))
                for target in (search.wanted.targets[row] for row in rows)
            ]
    return tuple(sorted(found, key=lambda one: (one.last, one.target.id)))


def _last_of_run(days: Sequence[date]) -> date | None:
    """Return the day before the first gap longer than `AWAY_DAYS`; None where there is none."""
    return next((a for a, b in pairwise(days) if (b - a).days > AWAY_DAYS), None)
