"""Writes what came of a look into the journal, and keeps what could not be written."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from planner.journal.errors import JournalError
from planner.journal.logged import logged_target, logged_train
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTrain,
    Outcome,
)
from planner.journal.store import journal_path, new_id, open_journal
from planner.kit import train_words
from planner.night import Night
from planner.night_field import NightField
from planner.session_state import SessionState
from planner.view import Look, Plan
from targets.catalogue import load_catalogue
from targets.model import Target


@dataclass(frozen=True, slots=True)
class Answer:
    """What the observer says of a look: outcome, rating 1 to 5 or None, a line of text, and why.

    ``why_skipped`` is empty but for looks that were given up.
    """

    outcome: Outcome
    rating: int | None = None
    note: str = ""
    why_skipped: str = ""


@dataclass(frozen=True, slots=True)
class Conditions:
    """Seeing, I to V, and transparency, 1 to 5, of the night; None where it was passed over."""

    seeing: str | None = None
    transparency: int | None = None


class Logbook:
    """The journal of one night.

    Parameters
    ----------
    data : Path
        The program's folder.
    night : Night
    observer : str
        Name.
    """

    def __init__(self, data: Path, night: Night, observer: str) -> None:
        self._path, self._night, self._observer = journal_path(data), night, observer
        self.pending: tuple[JournalEntry, ...] = ()
        self._session: JournalSession | None = None
        self._kept = self._asked = False

    def wants_conditions(self) -> bool:
        """Whether seeing and transparency of this night are not known and were not asked for."""
        if self._asked:
            return False
        session = self._find()
        return session is None or (session.seeing is None and session.transparency is None)

    def entries(self, target_id: str) -> tuple[JournalEntry, ...]:
        """Give what there is of a target; nothing when the journal cannot be read."""
        if not self._path.exists():
            return ()
        try:
            with open_journal(self._path) as journal:
                return tuple(journal.entries(target_id=target_id))
        except JournalError:
            return ()

    def write(
        self,
        field: NightField,
        plan: Plan,
        state: SessionState,
        target_id: str,
        answer: Answer,
        conditions: Conditions | None,
        now: datetime,
    ) -> tuple[str, ...]:
        """Write an entry, and those that could not be written before.

        Returns
        -------
        tuple of str
            Sentences: what was written, or why it was not.
        """
        self._asked = self._asked or conditions is not None
        session = self._session_with(conditions, now)
        entry = _entry(field, plan, state, target_id, answer, session, now)
        self.pending = (*self.pending, entry)
        try:
            with open_journal(self._path) as journal:
                if self._kept:
                    if conditions is not None:
                        journal.change_session(
                            session.id,
                            changed_at=now,
                            seeing=session.seeing,
                            transparency=session.transparency,
                        )
                    journal.add_all([], self.pending)
                else:
                    journal.add_all([session], self.pending)
                remarks = journal.remarks
        except JournalError as error:
            kept = f"{len(self.pending)} kept here, written with the next one."
            return (f"{error} The entry is not in the journal yet: {kept}",)
        self._kept, self.pending = True, ()
        rating = f", rated {answer.rating}" if answer.rating else ""
        return (*remarks, f"In the journal: {entry.target.name}, {answer.outcome}{rating}")

    def end(self, now: datetime) -> None:
        """Note when the night's session ended; without entries there is none."""
        session = self._find()
        if session is None or not self._kept or self.pending:
            return
        with suppress(JournalError), open_journal(self._path) as journal:
            journal.change_session(session.id, changed_at=now, end=max(now, session.start))

    def _find(self) -> JournalSession | None:
        """Find this night's session in the journal, once."""
        if self._session is None and self._path.exists():
            try:
                with open_journal(self._path) as journal:
                    mine = [s for s in journal.sessions() if self._is_mine(s)]
            except JournalError:
                return None
            if mine:
                self._session, self._kept = mine[-1], True
        return self._session

    def _is_mine(self, session: JournalSession) -> bool:
        return (session.evening, session.site) == (self._night.date, self._night.site.name)

    def _session_with(self, conditions: Conditions | None, now: datetime) -> JournalSession:
        """Give the session, begun if there is none, with what is newly known of the sky."""
        session = self._find()
        if session is None:
            site = self._night.site
            session = JournalSession(
                id=new_id(),
                evening=self._night.date,
                site=site.name,
                timezone=site.timezone,
                start=now,
                latitude_deg=site.latitude_deg,
                longitude_deg=site.longitude_deg,
                elevation_m=site.elevation_m,
                sky_mag_arcsec2=site.sky_mag_arcsec2 if site.sky_source == "measured" else None,
                observer=self._observer,
            )
        if conditions is not None:
            session = replace(
                session, seeing=conditions.seeing, transparency=conditions.transparency
            )
        self._session = session
        return session


def _entry(
    field: NightField,
    plan: Plan,
    state: SessionState,
    target_id: str,
    answer: Answer,
    session: JournalSession,
    now: datetime,
) -> JournalEntry:
    look, planned = state.look_at(target_id), _planned(plan, target_id)
    is_used = look is not None and answer.outcome is not Outcome.SKIPPED
    column = field.column_of.get(look.train) if look and is_used else None
    train = field.circumstances.table.trains[column] if column is not None else None
    return JournalEntry(
        id=new_id(),
        session_id=session.id,
        at=min(now, look.end) if look and look.start <= now else now,
        target=logged_target(_target(field, target_id)),
        train=logged_train(train) if train else LoggedTrain(),
        outcome=answer.outcome,
        planned_train=train_words(planned.view.train) if planned else "",
        planned_at=planned.start if planned else None,
        why_skipped=answer.why_skipped,
        rating=answer.rating,
        note=answer.note,
    )


def _planned(plan: Plan, target_id: str) -> Look | None:
    return next((look for look in plan.looks if look.target.id == target_id), None)


def _target(field: NightField, target_id: str) -> Target:
    row = field.row_of.get(target_id)
    if row is not None:
        return field.roster.targets[row]
    catalogue = load_catalogue()
    return catalogue.target(catalogue.index_of(target_id))
