"""Puts together what a plan or a look needs: who, where, with what, on which night."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

from planner.config.conditions import Conditions, conditions_tonight
from planner.config.preferences import preferences_with
from planner.config.settings import Settings
from planner.ephemeris.almanac import evening_date, find_night
from planner.ephemeris.kernel import Ephemeris, OutsideEphemerisError
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.antoniadi import ANTONIADI
from planner.model.errors import Faults, InputError, NothingToPlanError
from planner.model.night import Night
from planner.model.pace import Tempo
from planner.model.site import Site
from planner.planning.circumstances import Circumstances
from planner.planning.session_times import is_over
from planner.request.options import Readings
from targets.files import is_missing


def circumstances_of(
    settings: Settings,
    *,
    site: str | None,
    telescope: str | None,
    readings: Readings,
    tempo: Tempo = Tempo.USUAL,
) -> tuple[Site, Circumstances]:
    """Find site and telescope by name, and tabulate the telescope's trains.

    Raises InputError with a sentence for every unknown name and impossible reading.
    """
    faults = Faults()
    place = faults.attempt(settings.site, site)
    usual = settings.site() if faults.found else place
    tube = faults.attempt(settings.telescope, telescope)
    conditions = faults.attempt(_conditions, settings, usual, readings)
    faults.check()
    trains = make_trains(tube, settings.kit)
    return place, Circumstances(
        observer=settings.observer,
        telescope=tube,
        table=tabulate_trains(trains),
        conditions=conditions,
        preferences=preferences_with(settings.match),
        red_spot=settings.red_spot,
        pace=settings.pace.at(tempo),
        finders=settings.kit.finders,
        misfits=tuple(train for train in trains if not train.usable),
    )


def with_forecast(
    circumstances: Circumstances,
    named: str | None,
    settings: Settings,
    *,
    site: Site,
    span: tuple[datetime, datetime],
    seeing_given: bool,
) -> tuple[Circumstances, tuple[str, ...]]:
    """Take a forecast into account, if there is one.

    Parameters
    ----------
    named : str or None
        Path of its file as the command names it; None for that of the configuration.
    site : Site
        Whose clock the file goes by.
    span : (datetime, datetime)
        The hours whose seeing counts.
    seeing_given : bool
        Whether the observer says how steady the air is, which comes before the forecast.

    Returns
    -------
    circumstances : Circumstances
    remarks : tuple of str
        A sentence where the file of the configuration is not there.

    Raises
    ------
    InputError
        With a sentence for every line that cannot be used.
    """
    path = named if named is not None or settings.forecast is None else settings.forecast
    if path is None:
        return circumstances, ()
    file = Path(path).expanduser()
    if named is None and is_missing(file):
        return circumstances, (
            f"There is no forecast at {file} (session.forecast); planned without.",
        )
    from planner.request.forecast_file import read_forecast  # noqa: PLC0415  # only when asked for

    option = "session.forecast" if named is None else "--forecast"
    forecast = read_forecast(option, file, site)
    step = None if seeing_given else forecast.seeing_between(*span)
    conditions = circumstances.conditions
    if step is not None:
        conditions = replace(conditions, seeing=ANTONIADI[step - 1])
    return replace(circumstances, forecast=forecast, conditions=conditions), ()


def _conditions(settings: Settings, site: Site, readings: Readings) -> Conditions:
    return conditions_tonight(
        site,
        settings.observer,
        sky_mag_arcsec2=readings.sky_mag_arcsec2,
        extinction_mag=readings.extinction_mag,
        seeing=readings.seeing,
        transparency=readings.transparency,
    )


def check_kit(circumstances: Circumstances) -> None:
    """Make sure that there is something to look through; NothingToPlanError if not."""
    if len(circumstances.table):
        return
    reasons = dict.fromkeys(fault for train in circumstances.misfits for fault in train.faults)
    telescope = circumstances.telescope.name
    raise NothingToPlanError(
        f"None of your eyepieces can be used with {telescope}. {' '.join(reasons)}"
    )


def night_of(ephemeris: Ephemeris, site: Site, *, evening: date | None, now: datetime) -> Night:
    """Return the night of a date, or tonight.

    Parameters
    ----------
    evening : date or None
        None for tonight: before noon still last evening's, as long as it is dark.
    now : datetime
        Aware.

    Raises
    ------
    InputError
        If there are no positions for that date.
    """
    try:
        if evening is not None:
            return find_night(ephemeris, site, evening)
        night = find_night(ephemeris, site, evening_date(now, site))
        if is_over(night, now):
            return find_night(ephemeris, site, night.date + timedelta(days=1))
    except OutsideEphemerisError as error:
        raise InputError([str(error)]) from None
    return night
