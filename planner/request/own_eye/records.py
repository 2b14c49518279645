"""Reads the looks of a journal that can tell something about the observer's eye.

What the journal does not keep is taken from the configuration: the sky of a site by its name, the
glass of a telescope by its name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from typing import Any

from planner.config.conditions import HAZE_MAG, usual_extinction_mag
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris
from planner.journal.own_eye import NO_MEASURE
from planner.journal.records import JournalSession, Outcome
from planner.journal.store.reader import JournalReader
from planner.model.kit import FilterKind, Observer, Telescope
from planner.model.site import Site
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen
from targets.model import Kind, Target

COLUMNS = (
    "id", "at", "session_id", "target_id", "target_name", "target_kind", "target_ra_deg",
    "target_dec_deg", "target_major_arcmin", "target_minor_arcmin", "target_magnitude",
    "train_telescope", "train_aperture_mm", "train_magnification", "train_exit_pupil_mm",
    "train_amplifier", "train_filter", "train_filter_kind", "outcome", "transparency",
    "planned_train", "train_eyepiece",
)  # fmt: skip
# Eyes change with the years, and a plan must not wait for old journals: the latest so many count.
MOST_LOOKS = 400
CHANCES = {Outcome.SEEN: 1.0, Outcome.SUSPECTED: 0.5, Outcome.NOT_SEEN: 0.0}
# The observer's name in the example of a configuration, and so in journals begun with it.
NOBODY = Observer().name


@frozen
class EyeRecord:
    """A look beside its session, its target and its sky."""

    values: Mapping[str, Any]
    site: Site
    sky_mag_arcsec2: float
    extinction_mag: float
    target: Target
    telescope: Telescope | None
    unix_s: float


def eye_records(
    journal: JournalReader, settings: Settings, ephemeris: Ephemeris, catalogue: Catalogue
) -> tuple[list[EyeRecord], Counter[str]]:
    """Return the latest looks that may tell something about the eye, in order of time.

    Parameters
    ----------
    journal : JournalReader
        Open.
    settings : Settings
        Whose eye, and which sites and telescopes are known by their names.
    ephemeris, catalogue
        The sky, and what is in it.

    Returns
    -------
    records : list of EyeRecord
        At most ``MOST_LOOKS``.
    left_out : Counter of str
        Why later ones than the first of these tell nothing, and how many.

    Raises
    ------
    JournalError
        When the journal cannot be read.
    """
    sessions = {session.id: session for session in journal.sessions()}
    records: list[EyeRecord] = []
    left_out = Counter[str]()
    for row in reversed(journal.columns(*COLUMNS)):
        values = dict(zip(COLUMNS, row, strict=True))
        found = _record(values, sessions, settings, ephemeris, catalogue)
        if isinstance(found, str):
            left_out[found] += 1
        else:
            records.append(found)
        if len(records) == MOST_LOOKS:
            break
    return records[::-1], left_out


def _record(
    values: Mapping[str, Any],
    sessions: Mapping[str, JournalSession],
    settings: Settings,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
) -> EyeRecord | str:
    """Return a look with what belongs to it, or why it tells nothing."""
    session = sessions.get(values["session_id"])
    try:
        instant = datetime.fromisoformat(values["at"])
    except ValueError:
        return "without a date"
    why_not = _why_not(values, session, settings)
    if why_not or session is None:
        return why_not
    site, target = _site(session, settings), _target(values, catalogue)
    if site is None or not ephemeris.first_night < instant.date() < ephemeris.last_night:
        return "under an unknown sky"
    if target.ra_deg is None or target.dec_deg is None:
        return "at a target without a place"
    haze = values["transparency"] or session.transparency or max(HAZE_MAG)
    telescopes = {telescope.name: telescope for telescope in settings.kit.telescopes}
    return EyeRecord(
        values=values,
        site=site,
        sky_mag_arcsec2=session.sky_mag_arcsec2 or site.sky_mag_arcsec2,
        extinction_mag=usual_extinction_mag(site) + HAZE_MAG[haze],
        target=target,
        telescope=telescopes.get(values["train_telescope"]),
        unix_s=instant.timestamp(),
    )


def _why_not(values: Mapping[str, Any], session: JournalSession | None, settings: Settings) -> str:
    """Say why a look tells nothing about the eye, by what is noted of it; empty when it may."""
    kind, filter_kind = values["target_kind"], values["train_filter_kind"]
    reasons = {
        "without an outcome": values["outcome"] not in CHANCES,
        "by another observer": session is None
        or session.observer not in {"", NOBODY, settings.observer.name},
        "at what no threshold decides": kind not in list(Kind) or kind in NO_MEASURE,
        "without a known eyepiece": not (
            (values["train_magnification"] or 0.0) > 0.0
            and (values["train_exit_pupil_mm"] or 0.0) > 0.0
        ),
        "through an unknown filter": bool(values["train_filter"])
        and filter_kind not in list(FilterKind),
    }
    return next((reason for reason, holds in reasons.items() if holds), "")


def _site(session: JournalSession, settings: Settings) -> Site | None:
    """Return the site of a session: by its name, else by its coordinates under a measured sky."""
    for site in settings.sites:
        if site.name == session.site:
            return site
    place = (session.latitude_deg, session.longitude_deg, session.sky_mag_arcsec2)
    if None in place:
        return None
    return Site(
        session.site,
        session.latitude_deg or 0.0,
        session.longitude_deg or 0.0,
        session.elevation_m or 0.0,
    )


def _target(values: Mapping[str, Any], catalogue: Catalogue) -> Target:
    """Return a target as the catalogue has it, else as it was logged."""
    with suppress(KeyError):
        return catalogue.target(catalogue.index_of(values["target_id"]))
    return Target(
        id=values["target_id"],
        name=values["target_name"],
        kind=Kind(values["target_kind"]),
        ra_deg=values["target_ra_deg"],
        dec_deg=values["target_dec_deg"],
        major_arcmin=values["target_major_arcmin"],
        minor_arcmin=values["target_minor_arcmin"],
        magnitude=values["target_magnitude"],
    )
