"""All that a session needs to know of its night, worked out once and never changed."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import field, replace
from datetime import datetime, timedelta

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Train
from planner.model.night import Night
from planner.planning.candidates import LEAST_SEEN, candidates_of, with_companions
from planner.planning.circumstances import STEP_MIN, Circumstances, Wishes
from planner.planning.roster import Roster, rows_of_roster, session_grid, survey_roster
from planner.planning.scheduling.candidates import Candidates
from planner.planning.season import culminations_deg
from planner.planning.shortlist import shortlist
from planner.planning.survey import moment_at, sky_behind
from planner.planning.windows import altitude_floors_deg
from planner.session.state import TrainKey
from targets.arrays import Codes, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen

# More targets than these are not carried through a session, for every move looks through all of
# them; what an observer gets to see in the longest night are some fifty.
MOST_TARGETS = 300


@frozen
class SurveyedNight:
    """N targets through the T steps of a night from the start of the session on.

    Parameters
    ----------
    start : datetime
        First step (UTC).
    wishes : Wishes
        What the observer asks of the plan.
    rows : ndarray of int
        The targets' rows in the catalogue, (N,).
    wanted_alone : ndarray
        How much each is wanted where no other look shows it too, (N,).
    row_of : mapping of str to int
        Where a target is among them, by its identity.
    floors_deg : ndarray
        How high each has to stand [deg], (N,).
    columns : ndarray of int
        The train that suits each best when it is highest in its window, (N,).
    shares : ndarray
        Score of each train for each target but for the visibility, (N, K).
    candidates : Candidates
        What they promise from the first step on, each in the train that suits it best.
    column_of : mapping of TrainKey to int
        Where a train stands in the table.
    kit : str
        Fingerprint of the telescope and its trains.
    known : dict
        What `in_trains` has found already, by row and train.
    """

    roster: Roster
    circumstances: Circumstances
    start: datetime
    wishes: Wishes
    rows: Codes
    wanted_alone: Floats
    row_of: Mapping[str, int]
    floors_deg: Floats
    columns: Codes
    shares: Floats
    candidates: Candidates
    column_of: Mapping[TrainKey, int]
    kit: str
    known: dict[tuple[int, int], Candidates] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    @property
    def night(self) -> Night:
        """Which night, where."""
        return self.roster.grid.night

    @property
    def end(self) -> datetime:
        """Last step (UTC)."""
        return self.instant((len(self.roster.grid.unix_s) - 1) * STEP_MIN)

    def minute(self, instant: datetime) -> float:
        """Return an instant in minutes after the first step."""
        return (instant - self.start) / timedelta(minutes=1)

    def instant(self, minute: float) -> datetime:
        """Return the instant (UTC) so many minutes after the first step."""
        return self.start + timedelta(minutes=minute)

    def dwell(self, target_id: str) -> timedelta:
        """Return how long a look at a target usually takes."""
        classes = self.circumstances.preferences.classes
        code = self.roster.target_table.class_code[self.row_of[target_id]]
        return timedelta(minutes=self.circumstances.pace.dwell_min(classes[code].dwell_minutes))

    @property
    def finding_min(self) -> float:
        """What it usually takes to find a target [min]."""
        telescope = self.circumstances.telescope
        return self.circumstances.pace.finding_min(
            driven=telescope.driven, pointing=telescope.pointing
        )

    def in_trains(self, rows: Codes, columns: Codes) -> Candidates:
        """Return what some targets promise from the first step on in trains that are asked for.

        Parameters
        ----------
        rows, columns : ndarray of int
            M targets, one at least, and the train of each, (M,).
        """
        asked = list(zip(rows.tolist(), columns.tolist(), strict=True))
        new = np.array([pair not in self.known for pair in asked])
        if new.any():
            found = candidates_of(
                rows_of_roster(self.roster, rows[new]),
                self.circumstances,
                columns[new],
                self.shares[rows[new], columns[new]],
                finding_min=self.candidates.finding_min[rows[new]],
            )
            for k, number in enumerate(np.flatnonzero(new).tolist()):
                self.known[asked[number]] = found.of_rows(np.array([k]))
        return Candidates.joined([self.known[pair] for pair in asked])

    def train_key(self, column: int) -> TrainKey:
        """Return the names of a train by its column."""
        return key_of(self.circumstances.table.trains[column])


def survey_night(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    night: Night,
    *,
    start: datetime,
    end: datetime,
    circumstances: Circumstances,
    wishes: Wishes,
    also: tuple[str, ...] = (),
) -> SurveyedNight:
    """Follow the targets of a session through the night.

    Parameters
    ----------
    start, end : datetime
        Of the session (UTC), as for `planner.planning.plan.plan_night`.
    circumstances : Circumstances
        Who looks, through what (one train at least), under what sky.
    wishes : Wishes
        What to choose from.
    also : tuple of str
        Identities of targets that are to be there whatever they promise: those that the observer
        added, and all looks of a session that is taken up again. Unknown ones are passed over.
    """
    grid = session_grid(ephemeris, night, start, max(end, night.civil_dawn or end))
    evening = grid.between(start, max(end, start))
    rows = shortlist(catalogue, evening, circumstances, rows=wishes.rows, keep_all=wishes.by_name)
    known = [catalogue.index_of(name) for name in also if name in catalogue.ids]
    rows = np.union1d(rows, np.array(known, dtype=np.intp))
    floor_deg = wishes.min_altitude_deg
    roster = survey_roster(
        catalogue, ephemeris, grid, rows, circumstances, min_altitude_deg=floor_deg
    )
    columns, shares, candidates = _rated(roster, circumstances, steps=len(evening.unix_s))
    if not wishes.by_name:
        kept = np.union1d(_most_promising(candidates), np.flatnonzero(np.isin(rows, known)))
        roster, rows, columns = rows_of_roster(roster, kept), rows[kept], columns[kept]
        shares, candidates = shares[kept], candidates.of_rows(kept)
    alone = roster.wanted
    roster, candidates, *_ = with_companions(roster, candidates, circumstances)
    trains = circumstances.table.trains
    return SurveyedNight(
        roster=roster,
        circumstances=circumstances,
        start=start,
        wishes=wishes,
        rows=rows,
        wanted_alone=alone,
        row_of={target.id: row for row, target in enumerate(roster.targets)},
        floors_deg=altitude_floors_deg(
            roster.target_table.class_code,
            circumstances.preferences,
            wishes.min_altitude_deg,
            culmination=culminations_deg(roster.targets, roster.grid.night.site),
        ),
        columns=columns,
        shares=shares,
        candidates=candidates,
        column_of={key_of(train): column for column, train in enumerate(trains)},
        kit=kit_fingerprint(circumstances),
    )


def under_another_sky(
    night: SurveyedNight, circumstances: Circumstances, *, end: datetime
) -> SurveyedNight:
    """Rate the same targets under other conditions.

    Parameters
    ----------
    circumstances : Circumstances
        The same but for the conditions.
    end : datetime
        Of the session (UTC).
    """
    old = night.roster
    moments = sky_behind(old.targets, old.tracks, old.grid, circumstances.conditions)
    roster = replace(old, moments=moments, wanted=night.wanted_alone)
    steps = int((end - night.start) / timedelta(minutes=STEP_MIN)) + 1
    found_in = night.candidates.finding_min
    columns, shares, candidates = _rated(
        roster, circumstances, steps=max(steps, 1), finding_min=found_in
    )
    roster, candidates, *_ = with_companions(roster, candidates, circumstances)
    return replace(
        night,
        roster=roster,
        circumstances=circumstances,
        columns=columns,
        shares=shares,
        candidates=candidates,
    )


def _rated(
    roster: Roster,
    circumstances: Circumstances,
    *,
    steps: int,
    finding_min: Floats | None = None,
) -> tuple[Codes, Floats, Candidates]:
    """Return the best train of each target, what each train does for it, and what that promises."""
    columns, shares = _trains(roster, circumstances, steps=steps)
    share = shares[np.arange(len(columns)), columns]
    candidates = candidates_of(roster, circumstances, columns, share, finding_min=finding_min)
    return columns, shares, candidates


def _trains(roster: Roster, circumstances: Circumstances, *, steps: int) -> tuple[Codes, Floats]:
    """Rate all trains for each target when it is highest in its window in the first steps."""
    altitude = np.where(roster.windows.open, roster.tracks.altitude_deg, -90.0)[:, :steps]
    moment = moment_at(roster.moments, np.argmax(altitude, axis=1))
    ratings = circumstances.rate(roster.target_table, moment)
    seen = np.maximum(ratings.parts["visibility"], LEAST_SEEN)
    return np.argmax(ratings.score, axis=1), np.asarray(ratings.score / seen)


def _most_promising(candidates: Candidates) -> Codes:
    """Choose the targets that may be worth a look at all, and not too many of them."""
    best = np.where(candidates.open, candidates.quality, 0.0).max(axis=1)
    top = np.argsort(-best, kind="stable")[:MOST_TARGETS]
    return np.asarray(top[best[top] > 0.0])


def key_of(train: Train) -> TrainKey:
    """Return the names of a train."""
    return TrainKey(
        eyepiece=train.eyepiece.name,
        focal_length_mm=train.focal_length_mm,
        amplifier=train.amplifier.name if train.amplifier else None,
        filter=train.filter.name if train.filter else None,
    )


def key_words(key: TrainKey) -> str:
    """Name a train as the observer does: ``12 mm 60 + 2x Barlow + O III``."""
    return " + ".join(name for name in (key.eyepiece, key.amplifier, key.filter) if name)


def kit_fingerprint(circumstances: Circumstances) -> str:
    """Return a short text that changes with the telescope or with what can be put into it."""
    parts = [repr(circumstances.telescope)]
    parts += sorted(repr(key_of(train)) for train in circumstances.table.trains)
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:16]
