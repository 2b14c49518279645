"""Takes into a plan what the journal teaches: what is preferred, the pace, the eye."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from statistics import median

from planner.config.settings import Settings
from planner.ephemeris.kernel import load_ephemeris
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import InputError
from planner.planning.circumstances import Circumstances
from planner.request.journal_leaning import MOST_TIMES, gaps_between_looks_min, leanings_for
from planner.request.own_eye.cache import eye_key, keep_eye, kept_eye
from targets.catalogue.catalogue import load_catalogue


def taught(
    circumstances: Circumstances, path: Path, settings: Settings, *, leaning: bool, own_eye: bool
) -> tuple[Circumstances, tuple[str, ...]]:
    """Return circumstances with what the journal teaches.

    Parameters
    ----------
    path : Path
        Of the journal.
    settings : Settings
        Whose journal it is.
    leaning, own_eye : bool
        Whether what is preferred counts, and whether what was seen and what was not.

    Returns
    -------
    circumstances : Circumstances
        As it was where the journal teaches nothing, or cannot be read.
    remarks : tuple of str
        Sentences for the observer.
    """
    learned, told = circumstances, tuple[str, ...]()
    try:
        with open_journal(path) as journal:
            if leaning:
                learned, told = _with_leanings(learned, journal)
            if own_eye:
                learned = _with_eye(learned, journal, settings)
            remarks = (*journal.remarks, *told)
    except InputError as error:
        return circumstances, (*error.faults, "The plan leans on no experience.")
    return learned, remarks


def _with_leanings(
    circumstances: Circumstances, journal: Journal
) -> tuple[Circumstances, tuple[str, ...]]:
    """Take what is preferred and when what was seen, and the pace, of which a sentence tells."""
    leanings = leanings_for(journal, circumstances.table.trains)
    circumstances = replace(circumstances, leanings=leanings, last_seen=journal.last_seen())
    gaps_min = gaps_between_looks_min(journal.recent_times(MOST_TIMES))
    pace = circumstances.pace.learned(gaps_min, driven=circumstances.telescope.driven)
    if pace is None:
        return circumstances, ()
    told = f"Your pace: {median(gaps_min):.0f} min from look to look, by the journal's last"
    remark = f"{told} {len(gaps_min)}; [session] in the configuration changes it."
    return replace(circumstances, pace=pace), (remark,)


def _with_eye(circumstances: Circumstances, journal: Journal, settings: Settings) -> Circumstances:
    key = eye_key(journal.path, settings)
    is_kept, eye = kept_eye(journal.path, key)
    if not is_kept:
        from planner.request.own_eye.learned import learned_eye  # noqa: PLC0415  # rarely needed

        eye = learned_eye(
            journal,
            settings,
            circumstances.preferences,
            ephemeris=load_ephemeris(),
            catalogue=load_catalogue(),
        )
        keep_eye(journal.path, key, eye)
    if eye is None:
        return circumstances
    return circumstances.with_eye(eye)
