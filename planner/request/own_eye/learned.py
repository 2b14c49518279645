"""The observer's own eye, where the journal tells enough of it."""

from __future__ import annotations

from planner.config.preferences import Preferences
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris
from planner.formulas.photometry import light_ratio
from planner.formulas.visibility_limit import EXPERIENCE_MAG
from planner.journal.own_eye import EyeFit, PartFit, fit_eye
from planner.journal.store.reader import JournalReader
from planner.model.own_eye import EyePart, GlassShare, OwnEye
from planner.request.own_eye.looks import USUAL_TRANSMISSION, EyeLooks, eye_looks
from targets.catalogue.catalogue import Catalogue

# Where outcomes follow the margins less likely than not, they are not heard.
LEAST_TRUST = 0.5


def learned_eye(
    journal: JournalReader,
    settings: Settings,
    preferences: Preferences,
    *,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
) -> OwnEye | None:
    """Return the eye that a journal tells of; None while it tells too little.

    Parameters and errors as of `planner.request.own_eye.looks.eye_looks`.
    """
    looks = eye_looks(journal, settings, preferences, ephemeris=ephemeris, catalogue=catalogue)
    stated_mag = EXPERIENCE_MAG[settings.observer.experience]
    return eye_of(fit_eye(looks.judged, stated_mag=stated_mag), looks, stated_mag)


def eye_of(fit: EyeFit, looks: EyeLooks, stated_mag: float) -> OwnEye | None:
    """Return the eye that a fit gives; None where the outcomes are not heard."""
    if fit.trust < LEAST_TRUST:
        return None
    return OwnEye(
        deeper_mag=fit.mean_mag,
        sd_mag=fit.sd_mag,
        looks=len(looks.ids),
        stated_mag=stated_mag,
        left_out=looks.left_out,
        stars=_part(fit.stars),
        glows=_part(fit.glows),
        glass=tuple(
            GlassShare(name, min(float(light_ratio(-one.mean_mag)), most), one.sd_mag, one.looks)
            for name, one, most in ((n, f, _most_light(n, looks)) for n, f in fit.glass.items())
        ),
        width_mag=fit.width_mag,
    )


def _most_light(telescope: str, looks: EyeLooks) -> float:
    """Return how much more than is stated a telescope passes at most: all of the light."""
    records = looks.scene.records if looks.scene else ()
    known = (record.telescope for record in records)
    stated = (one.transmission for one in known if one is not None and one.name == telescope)
    return 1.0 / next(stated, USUAL_TRANSMISSION)


def _part(fit: PartFit | None) -> EyePart | None:
    return None if fit is None else EyePart(fit.mean_mag, fit.sd_mag, fit.looks)
