"""Finds what the journal's options mean: targets, trains and moments."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import TypeVar

import numpy as np

from planner.cli.journal.options import TrainOptions
from planner.cli.journal.readers import NONE, hint_for
from planner.config.settings import Named, Settings
from planner.ephemeris.almanac import evening_date
from planner.journal.records import LoggedTarget, LoggedTrain, logged_target, logged_train
from planner.matcher.trains import make_trains
from planner.model.errors import Faults, InputError
from planner.model.kit import Eyepiece, Kit
from planner.model.site import Site
from planner.planning.session_times import instant_of
from planner.request.target_selection import target_called
from planner.text import listed, show
from targets.catalogue.catalogue import load_catalogue
from targets.model import Kind

CLOCK_SLACK = timedelta(minutes=10)  # between the clocks of a wrist and of a computer
ZOOM_SETTING = re.compile(r"(?P<name>.+) at (?P<mm>[0-9]+(?:[.][0-9]+)?) ?mm")

Item = TypeVar("Item", bound=Named)


def read_target(text: str, kind: Kind | None, data: Path | None = None) -> LoggedTarget:
    """Read what was looked at: a target of the catalogue, or with a kind, any name at all.

    With the folder of what the program keeps, the user's own targets and comets are known too.
    """
    if kind is None:
        try:
            return logged_target(target_called(load_catalogue(), text, data=data))
        except InputError as error:
            hint = f"{error.faults[0]} With --as KIND any name is taken."
            raise InputError([hint if "Sun" not in text.title() else error.faults[0]]) from None
    name = " ".join(text.split())
    if not 1 <= len(name) <= 80:
        raise InputError(["A target's name has 1 to 80 characters."])
    return LoggedTarget(id="", name=name, kind=kind.value)


def read_train(asked: TrainOptions, settings: Settings) -> tuple[LoggedTrain, tuple[str, ...]]:
    """Put together what was looked through, with its numbers.

    Returns
    -------
    train : LoggedTrain
    remarks : tuple of str
        What is odd about it.

    Raises
    ------
    InputError
        With a sentence for every part that the kit does not have; the nearest is named.
    """
    faults = Faults()
    kit = settings.kit
    telescope = faults.attempt(settings.telescope, asked.telescope)
    eyepiece, is_set = faults.attempt(_eyepiece, kit.eyepieces, asked.eyepiece) or (None, True)
    amplifier = faults.attempt(_part, "amplifier", kit.amplifiers, asked.amplifier)
    filter_ = faults.attempt(_part, "filter", kit.filters, asked.filter)
    faults.check()
    if eyepiece is None:
        if amplifier or filter_:
            raise InputError(["--amplifier and --filter go with an --eyepiece; name that too."])
        train = LoggedTrain(
            telescope=telescope.name,
            aperture_mm=telescope.aperture_mm,
            telescope_focal_length_mm=telescope.focal_length_mm,
        )
        return train, ()
    parts = Kit((telescope,), (eyepiece,), (amplifier,) if amplifier else (),
                (filter_,) if filter_ else ())  # fmt: skip
    assembled = make_trains(telescope, parts)[-1]  # the last one has all parts
    logged = logged_train(assembled)
    remarks = tuple(
        f"By the configuration this does not go together: {fault}" for fault in assembled.faults
    )
    if is_set:
        return logged, remarks
    remark = f'{eyepiece.name} is a zoom: "{eyepiece.name} at 12 mm" would keep the power too.'
    return _at_no_setting(logged), (*remarks, remark)


def _at_no_setting(train: LoggedTrain) -> LoggedTrain:
    return replace(
        train,
        eyepiece_focal_length_mm=None,
        apparent_field_deg=None,
        magnification=None,
        exit_pupil_mm=None,
        true_field_deg=None,
    )


def _eyepiece(eyepieces: Sequence[Eyepiece], text: str | None) -> tuple[Eyepiece, bool] | None:
    """Return the eyepiece that is meant, a zoom as it was set, and whether its setting is known."""
    if text is None:
        return None
    setting = ZOOM_SETTING.fullmatch(text.strip())
    if setting and (zoom := _part("eyepiece", eyepieces, setting["name"])) and zoom.is_zoom:
        return _set_to(zoom, float(setting["mm"])), True
    eyepiece = _part("eyepiece", eyepieces, text)
    return None if eyepiece is None else (eyepiece, not eyepiece.is_zoom)


def _set_to(zoom: Eyepiece, focal_length_mm: float) -> Eyepiece:
    low, high = zoom.focal_lengths_mm
    if not low <= focal_length_mm <= high:
        raise InputError(
            [f"{zoom.name} goes from {low:g} to {high:g} mm, not to {focal_length_mm:g} mm."]
        )
    field_deg = float(np.interp(focal_length_mm, (low, high), zoom.apparent_fields_deg))
    return replace(zoom, focal_lengths_mm=(focal_length_mm,), apparent_fields_deg=(field_deg,))


def _part(what: str, items: Sequence[Item], text: str | None) -> Item | None:
    """Return the part of a name, or the only one whose name begins so; None for none."""
    if text is None or text == NONE:
        return None
    word = " ".join(text.split()).casefold()
    exact = [item for item in items if item.name.casefold() == word]
    found = exact or [item for item in items if word and item.name.casefold().startswith(word)]
    if len(found) == 1:
        return found[0]
    names = [item.name for item in found or items]
    if found:
        raise InputError([f"--{what} {show(text)} may be {listed(names)}."])
    raise InputError([f"No {what} is called {show(text)}; {hint_for(text, names)}"])


def read_at(
    moment: time | datetime | None, evening: date | None, site: Site, now: datetime
) -> tuple[datetime, date]:
    """Return when one looked (UTC), and the evening of that night.

    Parameters
    ----------
    moment : time, datetime or None
        By the site's clock where it has no offset; None for now.
    evening : date or None
        The night that a time of day is in; without it the last time that the clock showed it.
    now : datetime
        Aware.

    Raises
    ------
    InputError
        If it is still to come, or is in another night than that of ``evening``.
    """
    if moment is None and evening is not None:
        raise InputError(["--date needs --at: the time of the night at which you looked."])
    if isinstance(moment, time):
        at = _at_clock(moment, evening, site, now)
    else:
        at = now.astimezone(UTC) if moment is None else instant_of(moment, site)
    night = evening_date(at, site)
    if moment is not None and evening not in {None, night}:
        given = moment.isoformat()
        raise InputError([f"--at {given} is in the night of {night}, not of --date {evening}."])
    if at > now + CLOCK_SLACK:
        local = at.astimezone(site.zone)
        raise InputError([f"{local:%Y-%m-%d %H:%M} is still to come; a journal holds what was."])
    return at, night


def _at_clock(clock: time, evening: date | None, site: Site, now: datetime) -> datetime:
    usual = evening_date(now, site) if evening is None else evening
    at = _instant(clock, usual, site)
    if evening is None and at > now + CLOCK_SLACK:
        return _instant(clock, usual - timedelta(days=1), site)
    return at


def _instant(clock: time, evening: date, site: Site) -> datetime:
    day = evening if clock >= time(12) else evening + timedelta(days=1)
    return instant_of(datetime.combine(day, clock), site)  # in site time


def planned_moment(clock: time | None, evening: date, site: Site) -> datetime | None:
    """Return when a plan had a look (UTC): a time of day in the night of an evening."""
    return None if clock is None else _instant(clock, evening, site)


def read_since(text: date | None, site: Site) -> datetime | None:
    """Return the noon before an evening (UTC)."""
    return None if text is None else _instant(time(12), text, site)
