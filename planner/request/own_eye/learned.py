"""The observer's own eye, where the journal tells enough of it."""

from __future__ import annotations

from planner.config.preferences import Preferences
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris
from planner.formulas.visibility_limit import EXPERIENCE_MAG
from planner.journal.own_eye import fit_eye
from planner.journal.store.reader import JournalReader
from planner.model.own_eye import OwnEye
from planner.request.own_eye.looks import eye_looks
from targets.catalogue.catalogue import Catalogue

# Where outcomes follow the margins less likely than not, they are not heard.
LEAST_TRUST = 0.5


def learned_eye(
    journal: JournalReader,
    settings: Settings,
    preferences: Preferences,
    *,
    pupil_mm: float,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
) -> OwnEye | None:
    """Return the eye that a journal tells of; None while it tells too little.

    Parameters and errors as of `planner.request.own_eye.looks.eye_looks`.
    """
    looks = eye_looks(
        journal,
        settings,
        preferences,
        pupil_mm=pupil_mm,
        ephemeris=ephemeris,
        catalogue=catalogue,
    )
    stated_mag = EXPERIENCE_MAG[settings.observer.experience]
    fit = fit_eye(looks.judged, stated_mag=stated_mag)
    if fit.trust < LEAST_TRUST:
        return None
    return OwnEye(fit.mean_mag, fit.sd_mag, len(looks.ids), stated_mag, looks.left_out)
