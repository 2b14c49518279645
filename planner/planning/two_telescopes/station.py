"""A telescope in its place, with what it shows of the targets of a session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from planner.ephemeris.kernel import Ephemeris
from planner.ephemeris.sky_grid import SkyGrid
from planner.planning.candidates import best_trains, candidates_of, with_companions
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.roster import Roster, survey_roster
from planner.planning.scheduling.candidates import Candidates, Session, Slot
from planner.planning.survey import moment_at
from planner.planning.two_telescopes.showing import (
    STRENGTH,
    WORSE_COUNTS,
    Showing,
    better_by,
    lessons_of,
    showing_of,
)
from targets.arrays import Codes, Flags, Floats
from targets.catalogue.catalogue import Catalogue
from targets.frozen import frozen


@frozen
class Station:
    """A telescope and N targets, in the T steps of a session.

    ``columns`` and ``share`` are the train of each target and its score but for the visibility,
    ``counts`` what a look counts here, less where the other telescope shows it better; all (N,).
    ``candidates`` are the targets as the ordering sees them; ``seconds`` as of `WithCompanions`.
    """

    circumstances: Circumstances
    session: Session
    roster: Roster
    columns: Codes
    share: Floats
    counts: Floats
    candidates: Candidates
    seconds: dict[int, int]

    @property
    def best(self) -> Floats:
        """The most that a look at each target is worth, (N,)."""
        worth = np.where(self.candidates.open, self.candidates.quality, 0.0)
        return np.asarray(worth.max(axis=1, initial=0.0))

    def with_trains(self, rows: Codes, steps: Codes, free: Flags | None = None) -> Station:
        """Return the same with the best trains of some rows at steps of theirs.

        ``free`` tells which trains can be had for each, (M, K).
        """
        if not rows.size:
            return self
        columns, share = self.columns.copy(), self.share.copy()
        columns[rows], share[rows] = best_trains(
            self.roster, self.circumstances, rows, steps, free=free
        )
        candidates = candidates_of(
            self.roster, self.circumstances, columns, share, finding_min=self.candidates.finding_min
        )
        return replace(
            self, columns=columns, share=share, candidates=_weighed(candidates, self.counts)
        )

    def for_slots(self, slots: Sequence[Slot]) -> Station:
        """Return the same with the best trains for the times of some looks."""
        step_min = self.session.step_min
        steps = [round((slot.start_min + slot.end_min) / 2.0 / step_min) for slot in slots]
        rows = np.array([slot.row for slot in slots], dtype=np.intp)
        return self.with_trains(rows, np.array(steps, dtype=np.intp))

    def taken_by(self, rows: Codes) -> Codes:
        """Return rows with those of the targets that get a view in the looks at them."""
        beside = [self.seconds[row] for row in rows.tolist() if row in self.seconds]
        return np.concatenate([rows, np.array(beside, dtype=np.intp)])


@frozen
class Stations:
    """Two telescopes and the same N targets.

    ``lesson`` and ``shown_by`` are those of `lessons_of`; ``teaches`` how much of it is worth
    comparing, (N,).
    """

    each: tuple[Station, Station]
    lesson: Codes
    shown_by: Codes
    teaches: Floats

    def with_station(self, which: int, station: Station) -> Stations:
        """Return the same with one of them changed."""
        one, other = self.each
        return replace(self, each=(station, other) if which == 0 else (one, station))


def set_up(
    catalogue: Catalogue,
    ephemeris: Ephemeris,
    grid: SkyGrid,
    rows: Codes,
    circumstances: tuple[Circumstances, Circumstances],
    sessions: tuple[Session, Session],
    wishes: Wishes,
) -> Stations:
    """Survey the same targets through both telescopes.

    Parameters
    ----------
    catalogue, ephemeris, grid
        The sky, and the steps of the session.
    rows : ndarray of int
        Of the catalogue, (N,).
    circumstances, sessions
        Of each telescope.
    wishes : Wishes
    """
    rosters = [
        survey_roster(
            catalogue, ephemeris, grid, rows, one, min_altitude_deg=wishes.min_altitude_deg
        )
        for one in circumstances
    ]
    altitude = rosters[0].tracks.altitude_deg
    is_open = rosters[0].windows.open | rosters[1].windows.open
    step = np.argmax(np.where(is_open, altitude, -90.0), axis=1)
    found = [
        _surveyed(roster, one, step) for roster, one in zip(rosters, circumstances, strict=True)
    ]
    (_, _, first), (_, _, second) = found
    better = better_by(first, second)
    lesson, shown_by = lessons_of(rosters[0].targets, first, second)
    stations = tuple(
        _station(roster, one, session, columns, share, np.where(better == worse, WORSE_COUNTS, 1.0))
        for roster, one, session, (columns, share, _), worse in zip(
            rosters, circumstances, sessions, found, (1, -1), strict=True
        )
    )
    return Stations(
        (stations[0], stations[1]), lesson, shown_by, STRENGTH[lesson] * rosters[0].wanted
    )


def _surveyed(
    roster: Roster, circumstances: Circumstances, step: Codes
) -> tuple[Codes, Floats, Showing]:
    every = np.arange(len(roster.targets))
    columns, share = best_trains(roster, circumstances, every, step)
    moment = moment_at(roster.moments, step)
    ratings = circumstances.rate(roster.target_table, moment)
    return columns, share, showing_of(circumstances, moment, ratings, columns)


def _station(
    roster: Roster,
    circumstances: Circumstances,
    session: Session,
    columns: Codes,
    share: Floats,
    counts: Floats,
) -> Station:
    shared = with_companions(
        roster, candidates_of(roster, circumstances, columns, share), circumstances
    )
    return Station(
        circumstances,
        session,
        shared.roster,
        columns,
        share,
        counts,
        _weighed(shared.candidates, counts),
        shared.seconds,
    )


def _weighed(candidates: Candidates, counts: Floats) -> Candidates:
    return replace(candidates, quality=candidates.quality * counts[:, None])
