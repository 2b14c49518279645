"""Works out for each look of the journal how far its target was above the ordinary eye's threshold.

The plan's own model is asked, for the telescope, the filter, the altitude, the Moon and the sky of
that look.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from planner.config.preferences import Preferences
from planner.config.settings import Settings
from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.look_skies import LookSkies, joined_skies, skies_of_looks
from planner.formulas.extinction import extinction_loss_mag
from planner.formulas.photometry import light_ratio
from planner.formulas.sky_brightness import sky_luminance_cd_m2
from planner.formulas.visibility_limit import light_gain
from planner.journal.eye_chance import seen_chance
from planner.journal.eye_grids import JudgedLooks
from planner.journal.records import Outcome
from planner.journal.store.reader import JournalReader
from planner.matcher.lens import Lens, Moment
from planner.matcher.target_classes import TargetTable, target_table_of
from planner.matcher.train_table import AMPLIFIER_TRANSMISSION, FILTER_CODES
from planner.matcher.visibility import margins_dex
from planner.model.own_eye import Surprise
from planner.request.own_eye.records import CHANCES, EyeRecord, eye_records
from targets.arrays import Codes, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen

# Farther than this above the threshold nobody misses a target, and so far below nobody sees it
# [mag]: our choice, beyond what eyes differ by.
TELLING_MAG = 2.5
# For the slope of the margins with what telescopes pass [mag].
GLASS_STEP_MAG = 0.1
TOO_EASY, TOO_HARD = "at what nobody could miss", "at what nobody could see"
DAYLIGHT_DEG = -6.0
# Lower than this the air's losses are anybody's guess [deg].
LEAST_ALTITUDE_DEG = 5.0
# For telescopes that the configuration does not know (any more).
USUAL_TRANSMISSION = 0.80
# Only pairs ask for it, and none is among the looks.
USUAL_APERTURE_MM = 100.0


@frozen(eq=False)
class EyeLooks:
    """What a journal tells of the eye: N looks that tell something, and why others do not.

    Parameters
    ----------
    judged : JudgedLooks
        Margins and outcomes, with telescopes and whether stars or a glow were seen, ``(N,)``.
    ids, names : tuple of str
        Of the entries and their targets.
    at : tuple of str
        When, in ISO 8601, UTC.
    odd : tuple of Surprise
        Looks at what nobody could miss that was not seen, or the other way round.
    scene : LookScene or None
        What the margins were worked out from; None without looks.
    left_out : tuple of (str, int)
        Reasons, and how many looks they leave out.
    """

    judged: JudgedLooks
    ids: tuple[str, ...]
    names: tuple[str, ...]
    at: tuple[str, ...]
    left_out: tuple[tuple[str, int], ...]
    odd: tuple[Surprise, ...] = ()
    scene: LookScene | None = None


@frozen(eq=False)
class LookScene:
    """What N looks were at, under what sky and through what.

    Parameters
    ----------
    azimuth_deg : ndarray
        Of the targets, from north through east [deg], ``(N,)``.
    """

    records: Sequence[EyeRecord]
    table: TargetTable
    moment: Moment
    lens: Lens
    azimuth_deg: Floats

    def of_rows(self, rows: Codes) -> LookScene:
        """Return some of the looks."""
        return LookScene(
            [self.records[row] for row in rows.tolist()],
            self.table.of_rows(rows),
            self.moment.of_rows(rows),
            self.lens.of_rows(rows),
            self.azimuth_deg[rows],
        )

    def margin_mag(self, preferences: Preferences) -> Floats:
        """Return how far the targets were above the ordinary eye's threshold [mag], ``(N,)``."""
        return margins_dex(self.table, self.moment, self.lens, preferences)[:, 0] * 2.5


def eye_looks(
    journal: JournalReader,
    settings: Settings,
    preferences: Preferences,
    *,
    ephemeris: Ephemeris,
    catalogue: Catalogue,
) -> EyeLooks:
    """Return what a journal tells of the observer's eye.

    Parameters
    ----------
    journal : JournalReader
        Open.
    settings : Settings
        Whose eye, and which sites and telescopes are known by their names.
    preferences : Preferences
        Tells by which model each class of target is seen.
    ephemeris, catalogue
        The sky, and what is in it.

    Raises
    ------
    JournalError
        When the journal cannot be read.
    """
    records, left_out = eye_records(journal, settings, ephemeris, catalogue)
    pupil_mm = settings.observer.dark_pupil_mm
    return _telling(records, left_out, preferences, pupil_mm, ephemeris)


def _telling(
    rows: Sequence[EyeRecord],
    reasons: Counter[str],
    preferences: Preferences,
    pupil_mm: float,
    ephemeris: Ephemeris,
) -> EyeLooks:
    """Keep the looks whose margin can be worked out and says something."""
    if not rows:
        nothing = np.empty(0)
        return EyeLooks(JudgedLooks(nothing, nothing, ()), (), (), (), _most_first(reasons))
    skies = _skies(rows, ephemeris)
    table = target_table_of([row.target for row in rows], preferences)
    scene = LookScene(
        rows, table, _moment(rows, skies), lens_of_looks(rows, pupil_mm), skies.azimuth_deg
    )
    brighter = replace(scene.lens, light_gain=scene.lens.light_gain * light_ratio(-GLASS_STEP_MAG))
    margin = scene.margin_mag(preferences)
    slope = (replace(scene, lens=brighter).margin_mag(preferences) - margin) / GLASS_STEP_MAG
    why = np.select(
        [
            skies.sun_altitude_deg > DAYLIGHT_DEG,
            skies.altitude_deg < LEAST_ALTITUDE_DEG,
            ~np.isfinite(margin),
            margin > TELLING_MAG,
            margin < -TELLING_MAG,
        ],
        [
            "by day or in bright twilight",
            "at the horizon or below",
            "at a target of unknown brightness",
            TOO_EASY,
            TOO_HARD,
        ],
        default="",
    )
    reasons.update(str(reason) for reason in why if reason)
    kept = np.flatnonzero(why == "")
    chosen = [rows[index].values for index in kept.tolist()]
    models = table.preferred("model", preferences)[kept]
    return EyeLooks(
        judged=JudgedLooks(
            margin[kept],
            np.array([CHANCES[values["outcome"]] for values in chosen]),
            [values["target_id"] or values["target_name"].casefold() for values in chosen],
            by_stars=np.asarray(models != "surface"),
            telescopes=[values["train_telescope"] for values in chosen],
            glass_slope=slope[kept],
        ),
        ids=tuple(values["id"] for values in chosen),
        names=tuple(values["target_name"] for values in chosen),
        at=tuple(values["at"] for values in chosen),
        left_out=_most_first(reasons),
        odd=tuple(_odd(rows, margin, why)),
        scene=scene.of_rows(kept),
    )


def _odd(
    rows: Sequence[EyeRecord], margin_mag: Floats, why: NDArray[np.str_]
) -> Iterator[Surprise]:
    odd = {TOO_EASY: Outcome.NOT_SEEN, TOO_HARD: Outcome.SEEN}
    for row, margin, reason in zip(rows, margin_mag, why, strict=True):
        outcome = row.values["outcome"]
        if odd.get(str(reason)) == outcome:
            chance = float(seen_chance(np.asarray(margin)))
            yield Surprise(
                entry_id=row.values["id"],
                target=row.values["target_name"],
                at=row.values["at"],
                seen=outcome == Outcome.SEEN,
                chance=chance,
            )


def _most_first(reasons: Counter[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(reasons.items(), key=lambda item: (-item[1], item[0])))


def _skies(rows: Sequence[EyeRecord], ephemeris: Ephemeris) -> LookSkies:
    """Ask for the skies of each site at once."""
    sites = list(dict.fromkeys(row.site for row in rows))
    order, parts = [], []
    for site in sites:
        here = [index for index, row in enumerate(rows) if row.site == site]
        order += here
        parts.append(
            skies_of_looks(
                ephemeris,
                site,
                unix_s=np.array([rows[index].unix_s for index in here]),
                ra_deg=np.array([rows[index].target.ra_deg for index in here], dtype=float),
                dec_deg=np.array([rows[index].target.dec_deg for index in here], dtype=float),
            )
        )
    return joined_skies(parts).of_rows(np.argsort(order))


def _moment(rows: Sequence[EyeRecord], skies: LookSkies) -> Moment:
    extinction = np.array([row.extinction_mag for row in rows])
    sky = sky_luminance_cd_m2(
        zenith_mag_arcsec2=np.array([row.sky_mag_arcsec2 for row in rows]),
        extinction_mag=extinction,
        altitude_deg=skies.altitude_deg,
        sun_altitude_deg=skies.sun_altitude_deg,
        sun_separation_deg=skies.sun_separation_deg,
        moon_altitude_deg=skies.moon_altitude_deg,
        moon_separation_deg=skies.moon_separation_deg,
        moon_phase_angle_deg=skies.moon_phase_deg,
    )
    loss = extinction_loss_mag(altitude_deg=skies.altitude_deg, extinction_mag=extinction)
    return Moment(
        skies.altitude_deg[:, None],
        np.asarray(sky)[:, None],
        np.asarray(loss)[:, None],
        seeing_step=3,  # only pairs ask for it, and none is among them
    )


def lens_of_looks(rows: Sequence[EyeRecord], pupil_mm: float) -> Lens:
    """Return the trains of the looks, ``(N, 1)``; glass that is not known as it usually is."""

    def column(name: str) -> Floats:
        return np.array([[row.values[name]] for row in rows], dtype=float)

    known = [row.telescope for row in rows]
    amplified = np.array([[bool(row.values["train_amplifier"])] for row in rows])
    gain = light_gain(
        exit_pupil_mm=column("train_exit_pupil_mm"),
        pupil_mm=pupil_mm,
        transmission=np.array([[one.transmission if one else USUAL_TRANSMISSION] for one in known])
        * np.where(amplified, AMPLIFIER_TRANSMISSION, 1.0),
        obstruction_ratio=np.array(
            [[one.obstruction_mm / one.aperture_mm if one else 0.0] for one in known]
        ),
    )
    codes = {str(kind or ""): code for code, kind in enumerate(FILTER_CODES)}
    return Lens(
        column("train_magnification"),
        np.asarray(gain),
        np.array([[codes.get(row.values["train_filter_kind"], 0)] for row in rows], dtype=np.intp),
        aperture_mm=USUAL_APERTURE_MM,
    )
