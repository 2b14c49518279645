"""Chooses looks because their outcome would tell most about the observer's eye."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from planner.matcher.visibility import margins_dex
from planner.model.plan import Look, Note
from planner.planning.circumstances import Circumstances
from planner.planning.roster import Roster
from planner.planning.scheduling.candidates import Candidates
from targets.arrays import Codes, Floats
from targets.catalogue.values import RATED_KINDS

MOST_LESSONS = 2
# What such a look is worth where its outcome is as open as can be: as much as a showpiece.
LESSON_WORTH = 1.0
# With less doubt than this about the outcome, of the most there can be, nothing is learned.
LEAST_DOUBT = 0.5
LESSON = Note("tells most about your eye: note whether you see it")


def doubts(roster: Roster, circumstances: Circumstances, columns: Codes) -> Floats:
    """Return how open the outcome of a look is, 0 (certain) .. 1, for N targets at T steps.

    Parameters
    ----------
    roster, circumstances
        N targets, T steps.
    columns : ndarray of int
        Train of each, (N,).

    Notes
    -----
    The variance of the outcome, four times the chance of seeing it times that of not seeing it. It
    is 0 where no threshold decides, where the brightness is unknown or an opinion, and outside the
    windows.
    """
    from planner.journal.eye_chance import WIDTH_MAG, seen_chance  # noqa: PLC0415  # rarely asked for
    from planner.journal.own_eye import EYES_SD_MAG, NO_MEASURE  # noqa: PLC0415  # the same

    lens, preferences = circumstances.lens.for_each(columns), circumstances.preferences
    margin_dex = margins_dex(roster.target_table, roster.moments, lens, preferences)
    eye_sd_mag = circumstances.eye.sd_mag if circumstances.eye else EYES_SD_MAG
    chance = seen_chance(2.5 * margin_dex, float(np.hypot(WIDTH_MAG, eye_sd_mag)), lapses=0.0)
    no_lesson = [
        target.kind in NO_MEASURE or target.kind in RATED_KINDS for target in roster.targets
    ]
    counts = roster.windows.open & ~np.array(no_lesson, dtype=bool)[:, None]
    return np.asarray(np.where(counts, np.nan_to_num(4.0 * chance * (1.0 - chance)), 0.0))


def lesson_rows(doubt: Floats, wanted: Floats) -> Codes:
    """Return the targets, two at most, that tell most; among equals those that are wanted more."""
    most = doubt.max(axis=1, initial=0.0)
    order = np.argsort(-(most * (1.0 + wanted)), kind="stable")
    return np.asarray([row for row in order if most[row] >= LEAST_DOUBT][:MOST_LESSONS], np.intp)


def with_lessons(candidates: Candidates, doubt: Floats, rows: Codes) -> Candidates:
    """Make some of the candidates worth what their outcome would tell."""
    if not rows.size:
        return candidates
    quality, is_open = candidates.quality.copy(), candidates.open.copy()
    quality[rows] = np.maximum(quality[rows], LESSON_WORTH * doubt[rows])
    is_open[rows] |= doubt[rows] >= LEAST_DOUBT
    return replace(candidates, quality=quality, open=is_open)


def marked(look: Look) -> Look:
    """Return a look with the note that its outcome is wanted."""
    return replace(look, notes=(*look.notes, LESSON))
