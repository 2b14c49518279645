"""What the observer says of a look, made into an entry of the journal."""

from __future__ import annotations

from datetime import datetime

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTrain,
    Outcome,
    logged_target,
    logged_train,
    new_id,
)
from planner.model.kit import train_words
from planner.model.plan import Look, Plan
from planner.session.night import SurveyedNight
from planner.session.state import SessionState
from planner.text import cut
from targets.catalogue.catalogue import load_catalogue
from targets.frozen import frozen
from targets.model import Target

# Cells of what is told of an entry.
MOST_TOLD = 120
SHORT_OUTCOMES = {Outcome.SEEN: "seen", Outcome.SUSPECTED: "susp.", Outcome.NOT_SEEN: "unseen"}


@frozen
class Answer:
    """What the observer says of a look: outcome, rating 1 to 5 or None, a line of text, and why.

    ``why_skipped`` is empty but for looks that were given up.
    """

    outcome: Outcome
    rating: int | None = None
    note: str = ""
    why_skipped: str = ""


def entry_for(
    surveyed: SurveyedNight,
    plan: Plan,
    state: SessionState,
    target_id: str,
    answer: Answer,
    session: JournalSession,
    now: datetime,
) -> JournalEntry:
    """Make the entry of a look; what was planned stands beside what was used."""
    look, planned = state.look_at(target_id), _planned(plan, target_id)
    is_used = look is not None and answer.outcome is not Outcome.SKIPPED
    column = surveyed.column_of.get(look.train) if look and is_used else None
    train = surveyed.circumstances.table.trains[column] if column is not None else None
    return JournalEntry(
        id=new_id(),
        session_id=session.id,
        at=min(now, look.end) if look and look.start <= now else now,
        target=logged_target(_target(surveyed, target_id)),
        train=logged_train(train) if train else LoggedTrain(),
        outcome=answer.outcome,
        planned_train=train_words(planned.view.train) if planned else "",
        planned_at=planned.start if planned else None,
        why_skipped=answer.why_skipped,
        rating=answer.rating,
        note=answer.note,
    )


def entry_words(entry: JournalEntry) -> str:
    """Say what an entry says: ``Saturn, seen, rated 4: a gap in the rings``."""
    rating = f", rated {entry.rating}" if entry.rating else ""
    note = f": {entry.note}" if entry.note else ""
    return f"{entry.target.name}, {entry.outcome.words}{rating}{note}"


def told_words(entry: JournalEntry) -> str:
    """Say on two lines at most what an entry says: a long note leaves room for other news."""
    return cut(entry_words(entry), MOST_TOLD)


def outcome_words(entry: JournalEntry) -> str:
    """Say in six letters at most what an entry says: ``seen 4``."""
    words = SHORT_OUTCOMES.get(entry.outcome, "")
    return f"{words} {entry.rating}" if entry.rating and len(words) <= len("seen") else words


def _planned(plan: Plan, target_id: str) -> Look | None:
    return next((look for look in plan.looks if look.target.id == target_id), None)


def _target(surveyed: SurveyedNight, target_id: str) -> Target:
    row = surveyed.row_of.get(target_id)
    if row is not None:
        return surveyed.roster.targets[row]
    catalogue = load_catalogue()
    return catalogue.target(catalogue.index_of(target_id))
