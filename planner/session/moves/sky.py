"""The move by which the observer says what the sky and the optics are like by now."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.config.conditions import Conditions, conditions_tonight
from planner.model.site import Site
from planner.planning.candidates import best_trains
from planner.planning.circumstances import STEP_MIN, Circumstances
from planner.session.moves.moving import Acted, Moved, moved
from planner.session.night import SurveyedNight
from planner.session.state import SessionLook, SessionState, SkyReadings

# What dew on the optics takes, as if it were so much haze overhead [mag]: our choice. It is to be
# dried, and the figure is for the time until then.
DEW_MAG = 0.3


def conditions_under(
    circumstances: Circumstances, site: Site, readings: SkyReadings | None
) -> Conditions:
    """Return tonight's conditions as the observer finds them; the usual ones without readings.

    Raises ConditionsError with a sentence for every reading that cannot be.
    """
    if readings is None:
        return circumstances.conditions
    found = conditions_tonight(
        site,
        circumstances.observer,
        sky_mag_arcsec2=readings.sky_mag_arcsec2,
        seeing=readings.seeing,
        transparency=readings.transparency,
    )
    dew_mag = DEW_MAG if readings.has_dew else 0.0
    return replace(
        found,
        extinction_mag=found.extinction_mag + dew_mag,
        eye_mag=circumstances.conditions.eye_mag,
        glow_mag=circumstances.conditions.glow_mag,
    )


def circumstances_under(
    circumstances: Circumstances, site: Site, readings: SkyReadings | None
) -> Circumstances:
    """Return who looks through what under the sky that is found, by the eye that is to count.

    Raises ConditionsError with a sentence for every reading that cannot be.
    """
    if readings is not None and readings.average_eye:
        circumstances = circumstances.by_stated_eye()
    return replace(circumstances, conditions=conditions_under(circumstances, site, readings))


def judge_sky(
    night: SurveyedNight, state: SessionState, now: datetime, readings: SkyReadings
) -> Moved:
    """Say what the sky is like by now; what waits gets the eyepieces that suit it.

    Parameters
    ----------
    night : SurveyedNight
        As it is under these readings.
    """

    def act(state: SessionState) -> Acted:
        after = replace(state, readings=readings).with_looks(*_refitted(night, state))
        return after, (f"The sky now: {readings_words(readings)}",)

    return moved(night, state, now, act)


def _refitted(night: SurveyedNight, state: SessionState) -> list[SessionLook]:
    """Return the looks that wait, each in the train that is best by now; chosen ones stay."""
    looks = [x for x in state.waiting if not x.chosen and x.target_id in night.row_of]
    if not looks:
        return []
    rows = np.array([night.row_of[look.target_id] for look in looks], dtype=np.intp)
    middle = [night.minute(look.start + (look.end - look.start) / 2) / STEP_MIN for look in looks]
    steps = np.clip(np.round(middle).astype(np.intp), 0, len(night.roster.grid.unix_s) - 1)
    columns = best_trains(night.roster, night.circumstances, rows, steps)[0]
    return [
        replace(look, train=night.train_key(int(column)))
        for look, column in zip(looks, columns, strict=True)
    ]


def readings_words(readings: SkyReadings) -> str:
    """Name the readings: ``seeing III, transparency 4 of 5, 20.9 mag/arcsec2, dew``."""
    told = [
        f"seeing {readings.seeing}" if readings.seeing else "",
        f"transparency {readings.transparency} of 5" if readings.transparency else "",
        f"{readings.sky_mag_arcsec2:g} mag/arcsec2" if readings.sky_mag_arcsec2 else "",
        "dew on the optics" if readings.has_dew else "",
        "by the average eye" if readings.average_eye else "",
    ]
    return ", ".join(part for part in told if part) or "as usual"
