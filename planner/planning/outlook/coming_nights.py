"""Looks ahead: how dark the coming nights are, and what of a wish list each of them shows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np

from planner.ephemeris.almanac import DARK_ALTITUDE_DEG, find_nights
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.ephemeris.solar_system.planet_phases import INNER
from planner.ephemeris.tracks import ask_for_nights, track_night
from planner.formulas.refraction import SUNSET_ALTITUDE_DEG
from planner.formulas.visibility_limit import grade_word
from planner.model.errors import InputError, NothingToPlanError
from planner.model.forecast import Forecast
from planner.model.night import Night
from planner.model.site import Site
from planner.planning.circumstances import STEP_MIN, Circumstances
from planner.planning.outlook.best_night import NightOutlook, TargetMoment, TargetOutlook
from planner.planning.outlook.coverage import (
    Wanted,
    Watch,
    best_step,
    wanted_rows,
    watch_targets,
    well_shown,
)
from planner.planning.session_times import SessionTimes, When, session_times
from planner.planning.windows import hindrance
from planner.planning.worth import look_worth, wanted_before
from targets.arrays import Codes, Flags
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Kind, Target

USUAL_COUNT = 30
# The wish list of one who brings none: so many that are wanted most, and those wanted as much.
USUAL_WISHES = 100
BEST_NAMED = 3
# A target stays "about as good" down to a quarter of a magnitude below its best [dex].
STILL_GOOD_DEX = 0.1


@frozen
class NightsAsked:
    """What the observer asks of the coming nights.

    Parameters
    ----------
    first : datetime.date
        Evening of the first night.
    count : int
        How many nights.
    rows : ndarray of int or None
        The wish list as rows of the catalogue; None for the showpieces.
    target : Target or None
        The one for which the best night is wanted.
    begin, until : datetime.time, Event or None
        Of every session, site time; None for dusk, and for four hours later.
    now : datetime or None
        Given when the first night is tonight: no session begins earlier.
    not_on : frozenset of datetime.date
        Evenings that a programme leaves out.
    """

    first: date
    count: int = USUAL_COUNT
    rows: Codes | None = None
    target: Target | None = None
    begin: When | None = None
    until: When | None = None
    now: datetime | None = None
    not_on: frozenset[date] = frozenset()


@frozen
class _Search:
    """What is the same for every night."""

    ephemeris: Ephemeris
    circumstances: Circumstances
    wishes: Wanted
    target: Wanted | None
    until_given: bool


def showpieces(catalogue: Catalogue) -> Codes:
    """Return the rows of the targets that nearly every observer wants to see."""
    wanted = wanted_before(catalogue, np.arange(len(catalogue)))
    return np.flatnonzero(wanted >= np.sort(wanted)[-USUAL_WISHES])


def _showpieces_but_the_moon(catalogue: Catalogue) -> Codes:
    """Return the showpieces of the dark: a night is not richer for the Moon that lights it."""
    rows = showpieces(catalogue)
    return rows[~catalogue.of_kind(Kind.MOON)[rows]]


def coming_nights(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    site: Site,
    circumstances: Circumstances,
    asked: NightsAsked,
) -> tuple[NightOutlook, ...]:
    """Look ahead through the coming nights.

    Parameters
    ----------
    circumstances : Circumstances
        Who looks, through what (one train at least), under what sky; the same for every night.
    asked : NightsAsked
        Which nights, and what of them.

    Returns
    -------
    tuple of NightOutlook
        One for each night, in order; a night that shows nothing has the reason.

    Raises
    ------
    InputError
        If the session asked for is impossible on every night.
    OutsideEphemerisError
        If there are no positions for one of the dates.

    Notes
    -----
    The wish list is judged in the session. The target is judged from the start of the session to
    the end of the night, unless ``until`` is given: who asks for its best night can stay up.
    """
    preferences = circumstances.preferences
    rows = _showpieces_but_the_moon(catalogue) if asked.rows is None else np.unique(asked.rows)
    target = None
    if asked.target is not None:
        row = np.array([catalogue.index_of(asked.target.id)])
        target = wanted_rows(catalogue, row, preferences)
    search = _Search(
        ephemeris=ephemeris,
        circumstances=circumstances,
        wishes=wanted_rows(catalogue, rows, preferences),
        target=target,
        until_given=asked.until is not None,
    )
    evenings = [asked.first + timedelta(days=number) for number in range(asked.count)]
    nights = find_nights(ephemeris, site, evenings)
    ask_for_nights(ephemeris, nights, _bodies_of(search))
    return tuple(
        _outlook(search, night, session)
        for night, session in zip(nights, sessions_of(nights, asked), strict=True)
    )


def _bodies_of(search: _Search) -> tuple[str, ...]:
    """Name the Moon and the planets among the wishes and the target."""
    found = (*search.wishes.targets, *(search.target.targets if search.target else ()))
    moving = (target for target in found if target.moves and target.elements is None)
    return tuple(dict.fromkeys("Moon" if target.lunar else target.id for target in moving))


def sessions_of(nights: Sequence[Night], asked: NightsAsked) -> list[SessionTimes | str]:
    """Return each night's session, or the sentence that says why it has none."""
    found: list[SessionTimes | str] = []
    wrong: list[InputError] = []
    for night in nights:
        try:
            found.append(session_times(night, begin=asked.begin, until=asked.until, now=asked.now))
        except NothingToPlanError as error:
            found.append(str(error))
        except InputError as error:
            found.append(error.faults[0])
            wrong.append(error)
    if wrong and len(wrong) == len(nights):
        raise wrong[0]
    return found


def _outlook(search: _Search, night: Night, session: SessionTimes | str) -> NightOutlook:
    grid = track_night(search.ephemeris, night, STEP_MIN)
    times = session if isinstance(session, SessionTimes) else None
    placed: tuple[Target, ...] = ()
    if times is not None:
        placed = _well_placed(search, grid.between(times.start, times.end))
    target = None
    if search.target is not None:
        start = night.start if times is None else times.start
        end = times.end if times is not None and search.until_given else night.end
        target = _target_outlook(search, search.target, grid.between(start, end))
    dark_hours = _dark_hours(night)
    return NightOutlook(
        night=night,
        dark_hours=dark_hours,
        dark_moonless_hours=min(_dark_moonless_hours(grid), dark_hours),
        session=times,
        no_session=session if isinstance(session, str) else None,
        well_placed=len(placed),
        wish_count=len(search.wishes.targets),
        best=placed[:BEST_NAMED],
        target=target,
        clear_share=_clear_share(search.circumstances.forecast, times),
    )


def _clear_share(forecast: Forecast | None, session: SessionTimes | None) -> float | None:
    """Return the chance to see in a session; None where no forecast tells."""
    if forecast is None or session is None or not forecast.covers(session.start, session.end):
        return None
    return forecast.mean_share(session.start, session.end)


def _dark_hours(night: Night) -> float:
    if night.dark_start is None or night.dark_end is None:
        return 0.0
    return (night.dark_end - night.dark_start).total_seconds() / 3600.0


def _dark_moonless_hours(grid: SkyGrid) -> float:
    """Return the hours with the Sun below 18 degrees and the Moon's upper limb below the horizon.

    Heights are straight lines between the steps. The Moon's limb is taken where the Sun's is: the
    two are of a size.
    """
    too_high = np.maximum(
        grid.sun_altitude_deg - DARK_ALTITUDE_DEG, grid.moon_altitude_deg - SUNSET_ALTITUDE_DEG
    )
    low, high = np.sort([too_high[:-1], too_high[1:]], axis=0)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(high <= 0.0, 1.0, np.clip(-low / (high - low), 0.0, 1.0))
    return float(share @ np.diff(grid.unix_s)) / 3600.0


def _well_placed(search: _Search, grid: SkyGrid) -> tuple[Target, ...]:
    """Return the wishes that are well placed in a session, those worth most first.

    A target of unknown brightness counts as shown: nothing speaks against it. Under a Moon that
    takes much of what a target is worth it is not well placed, though it may be seen.
    """
    watch = watch_targets(search.wishes, search.ephemeris, grid, search.circumstances)
    shown = well_shown(watch, grid, search.circumstances.conditions)
    worth = look_worth(
        search.wishes.wanted[watch.rows, None],
        margin_dex=watch.margin_dex,
        altitude_deg=watch.moments.altitude_deg,
        train_share=np.ones((len(watch.rows), 1)),
    )
    peak = np.where(shown, worth, 0.0).max(axis=1)
    enough = _long_enough(shown, search.wishes.class_code[watch.rows], search)
    return tuple(watch.targets[k] for k in np.argsort(-peak, kind="stable") if enough[k])


def _long_enough(flags: Flags, class_code: Codes, search: _Search) -> Flags:
    """Tell which rows are True for as long as a look at their class takes."""
    dwell_min = np.array([c.dwell_minutes for c in search.circumstances.preferences.classes])
    return np.asarray(longest_run_steps(flags) * STEP_MIN >= dwell_min[class_code])


def longest_run_steps(flags: Flags) -> Codes:
    """Count the steps from the first to the last of each row's longest run of True.

    Parameters
    ----------
    flags : ndarray of bool
        Shape (N, T).

    Returns
    -------
    ndarray of int
        Shape (N,); 0 for a single True or none.
    """
    steps = np.arange(flags.shape[1])
    last_shut = np.maximum.accumulate(np.where(flags, -1, steps), axis=1)
    return np.asarray(np.maximum((steps - last_shut).max(axis=1) - 1, 0))


def _target_outlook(search: _Search, target: Wanted, grid: SkyGrid) -> TargetOutlook:
    watch = watch_targets(target, search.ephemeris, grid, search.circumstances)
    if not watch.targets:
        why = hindrance(watch.windows, watch.tracks, 0, span="that night")
        return TargetOutlook((), None, why)
    windows = grid.spans(watch.open[0])
    if not _long_enough(watch.open, target.class_code, search)[0]:
        return TargetOutlook(windows, None, "its window is too short for a look")
    return TargetOutlook(windows, _best_moment(watch, grid, search.circumstances), None)


def _best_moment(watch: Watch, grid: SkyGrid, circumstances: Circumstances) -> TargetMoment:
    """Find when the one target that is watched comes out best."""
    step, quality = best_step(watch, 0, circumstances)
    disc_arcsec = _disc_arcsec(watch.targets[0])
    if disc_arcsec is not None:
        quality += np.log10(disc_arcsec)  # twice the disc, twice as fine what it shows
    good = quality >= quality[step] - STILL_GOOD_DEX
    return TargetMoment(
        at=grid.instant(step),
        altitude_deg=float(watch.moments.altitude_deg[0, step]),
        moon_altitude_deg=float(grid.moon_altitude_deg[step]),
        moon_separation_deg=float(watch.tracks.moon_separation_deg[0, step]),
        grade=grade_word(float(watch.margin_dex[0, step])),
        quality_dex=float(quality[step]),
        good_minutes=float(np.count_nonzero(good[:-1] & good[1:]) * STEP_MIN),
        disc_arcsec=disc_arcsec,
    )


def _disc_arcsec(target: Target) -> float | None:
    is_beyond = target.kind is Kind.PLANET and target.id not in INNER
    return target.major_arcmin * 60.0 if is_beyond and target.major_arcmin else None
