"""Writes what came of a look into the journal, and keeps what could not be written."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from planner.journal.records import (
    JournalEntry,
    JournalSession,
    Outcome,
    new_id,
)
from planner.journal.store import has_journal
from planner.journal.store.errors import JournalError
from planner.journal.store.journal import Journal, journal_path, open_journal
from planner.model.night import Night
from planner.model.plan import Plan
from planner.session.night import SurveyedNight
from planner.session.state import SessionState, SkyReadings
from tui.night.log_entry import Answer, entry_for, entry_words, outcome_words, told_words

# Begins the name by which a night knows a change of an entry; its id follows.
CHANGED = "changed "
# What can be changed.
SAID = ("outcome", "rating", "note", "why_skipped")


def change_of(entry_id: str, known: Sequence[str]) -> str:
    """Name a change of an entry apart from those that are known."""
    return f"{CHANGED}{len(known)} {entry_id}"


class Logbook:
    """The journal of one night.

    Parameters
    ----------
    data : Path
        The program's folder.
    observer : str
        Name.
    """

    def __init__(self, data: Path, night: Night, observer: str) -> None:
        self._path, self._night, self._observer = journal_path(data), night, observer
        self.pending: tuple[JournalEntry, ...] = ()
        self._session: JournalSession | None = None
        # Whether the journal has the session; whether it was asked for, and has, its conditions.
        self._kept = self._asked = False
        self._is_told = True
        self._withdrawn: dict[str, JournalEntry] = {}

    def wants_conditions(self) -> bool:
        """Whether seeing and transparency of this night are not known and were not asked for."""
        if self._asked:
            return False
        session = self._find()
        return session is None or (session.seeing is None and session.transparency is None)

    def entries(self, target_id: str) -> tuple[JournalEntry, ...]:
        """Return what there is of a target; nothing when the journal cannot be read."""
        if not has_journal(self._path):
            return ()
        try:
            with open_journal(self._path) as journal:
                return tuple(journal.entries(target_id=target_id))
        except JournalError:
            return ()

    def outcomes(self) -> dict[str, str]:
        """Return what came of this night's looks, in some letters, by target: ``seen 4``."""
        session = self._find()
        entries: tuple[JournalEntry, ...] = ()
        if session is not None and self._kept:
            with suppress(JournalError), open_journal(self._path) as journal:
                entries = tuple(journal.entries(session_id=session.id))
        told = sorted((*entries, *self.pending), key=lambda entry: entry.at)
        return {entry.target.id: outcome_words(entry) for entry in told if entry.target.id}

    def write(
        self,
        surveyed: SurveyedNight,
        plan: Plan,
        state: SessionState,
        target_id: str,
        answer: Answer,
        conditions: SkyReadings | None,
        now: datetime,
    ) -> tuple[JournalEntry, tuple[str, ...]]:
        """Write an entry, and those that could not be written before.

        Returns
        -------
        JournalEntry
        tuple of str
            Sentences: that it was written, or why it was not.
        """
        self._asked = self._asked or conditions is not None
        session = self._session_with(conditions, now)
        entry = entry_for(surveyed, plan, state, target_id, answer, session, now)
        self._is_told = self._is_told and conditions is None
        self.pending = (*self.pending, entry)
        return entry, self.write_pending(now)

    def write_pending(self, now: datetime) -> tuple[str, ...]:
        """Write what is not in the journal yet; say what was written, or why it was not."""
        if self._session is None or not (self.pending or not self._is_told):
            return ()
        try:
            with open_journal(self._path) as journal:
                self._meet(journal)
                if self._kept and not self._is_told:
                    journal.change_session(self._session.id, changed_at=now, **self._sky())
                if self.pending:
                    journal.add_all([] if self._kept else [self._session], self.pending)
                    self._kept = True
                remarks = journal.remarks
        except JournalError as error:
            return (f"{error} {len(self.pending)} not in the journal yet; tried again by itself.",)
        written, self.pending = self.pending, ()
        self._is_told = self._is_told or self._kept
        return (*remarks, *(f"In the journal: {told_words(entry)}" for entry in written))

    def note_sky(self, conditions: SkyReadings, now: datetime) -> tuple[str, ...]:
        """Keep what the sky is like, with the night's session; it is not asked for again."""
        self._asked = True
        if conditions == SkyReadings():
            return ()
        self._session_with(conditions, now)
        self._is_told = False
        return self.write_pending(now) if self._kept else ()

    def _sky(self) -> dict[str, str | int]:
        """Return what is known of the sky; what nobody said leaves what is there."""
        session = self._session
        found = {"seeing": session.seeing, "transparency": session.transparency} if session else {}
        return {name: value for name, value in found.items() if value is not None}

    def _meet(self, journal: Journal) -> None:
        """Find the evening's session in the journal as it is now: others write there too."""
        session = self._session
        mine = [one for one in journal.sessions() if self._is_mine(one)]
        if session is None or any(one.id == session.id for one in mine):
            self._kept = session is not None
            return
        self._kept = bool(mine)
        if mine:  # a command began this evening: one evening has one session
            self._session = replace(mine[-1], **self._sky())  # type: ignore[arg-type]
            self.pending = tuple(replace(e, session_id=mine[-1].id) for e in self.pending)
            self._is_told = not self._sky()

    def farewell(self, now: datetime) -> tuple[str, ...]:
        """End the night's session, and give what could not be written, in words."""
        failed = self.write_pending(now) if self.pending else ()
        if not self.pending:
            self._end(now)
            return ()
        lost = (f"not in the journal: {entry_words(entry)}" for entry in self.pending)
        return (*failed, *lost)

    def amend(
        self, entry: JournalEntry, answer: Answer, now: datetime
    ) -> tuple[bool, tuple[str, ...]]:
        """Change what was said of a look; say so, or why it stays as it was.

        Also tells whether the journal knows what the entry was before.
        """
        changes = {"outcome": answer.outcome, "rating": answer.rating, "note": answer.note}
        if answer.why_skipped or answer.outcome is not Outcome.SKIPPED:
            changes["why_skipped"] = answer.why_skipped
        if all(getattr(entry, name) == value for name, value in changes.items()):
            return False, (f"In the journal as it was: {told_words(entry)}",)
        if entry in self.pending:
            new = replace(entry, **changes)  # type: ignore[arg-type]
            self.pending = tuple(new if one is entry else one for one in self.pending)
            return False, self.write_pending(now)
        try:
            with open_journal(self._path) as journal:
                new = journal.amend(entry.id, changed_at=now, **changes)
        except JournalError as error:
            return False, (f"{error} The entry stays as it was.",)
        return True, (f"Changed in the journal: {told_words(new)}",)

    def take_back(self, ids: Iterable[str], now: datetime) -> tuple[str, ...]:
        """Take entries out again; say so, or why they stay."""
        said: list[str] = []
        for entry_id in ids:
            if entry_id.startswith(CHANGED):
                said.append(self._exchanged(entry_id, now))
                continue
            waiting = next((one for one in self.pending if one.id == entry_id), None)
            if waiting is not None:
                self.pending = tuple(one for one in self.pending if one is not waiting)
                self._withdrawn[entry_id] = waiting
                said.append(f"{waiting.target.name} will not be written into the journal.")
            else:
                said.append(self._without(entry_id, now))
        return tuple(said)

    def bring_back(self, ids: Iterable[str], now: datetime) -> tuple[str, ...]:
        """Bring entries back that were taken out; say so, or why they stay out."""
        said: list[str] = []
        for entry_id in ids:
            if entry_id.startswith(CHANGED):
                said.append(self._exchanged(entry_id, now))
                continue
            waiting = self._withdrawn.pop(entry_id, None)
            if waiting is not None:
                self.pending = (*self.pending, waiting)
                said += self.write_pending(now)
            else:
                said.append(self._with(entry_id))
        return tuple(said)

    def _exchanged(self, change: str, now: datetime) -> str:
        """Let an entry be what it was before its last change; that change can come back so, too."""
        entry_id = change.rsplit(maxsplit=1)[-1]
        try:
            with open_journal(self._path) as journal:
                former = journal.history(entry_id)[-1].record
                changes = {name: getattr(former, name) for name in SAID}
                entry = journal.amend(entry_id, changed_at=now, **changes)
        except (JournalError, IndexError) as error:
            return f"{error} The entry stays as it is."
        return f"In the journal again: {told_words(entry)}"

    def _without(self, entry_id: str, now: datetime) -> str:
        try:
            with open_journal(self._path) as journal:
                entry = journal.remove_entry(entry_id, removed_at=now)
        except JournalError as error:
            return f"{error} The entry stays in the journal."
        return f"Out of the journal again: {entry.target.name}"

    def _with(self, entry_id: str) -> str:
        try:
            with open_journal(self._path) as journal:
                entry = journal.restore_entry(entry_id)
        except JournalError as error:
            return f"{error} The entry stays out of the journal."
        return f"In the journal again: {told_words(entry)}"

    def written_elsewhere(self, known: Iterable[str]) -> tuple[JournalEntry, ...]:
        """Return this night's entries that the night does not know, the earliest first.

        The program was ended between writing one and keeping the night, or the entry was made by
        a command.
        """
        session = self._find()
        if session is None or not self._kept:
            return ()
        try:
            with open_journal(self._path) as journal:
                found = journal.entries(session_id=session.id)
                return tuple(sorted((e for e in found if e.id not in set(known)),
                                    key=lambda entry: entry.at))  # fmt: skip
        except JournalError:
            return ()

    def _end(self, now: datetime) -> None:
        """Note when the night's session ended; without entries there is none."""
        session = self._find()
        if session is None or not self._kept:
            return
        with suppress(JournalError), open_journal(self._path) as journal:
            journal.change_session(session.id, changed_at=now, end=max(now, session.start))

    def _find(self) -> JournalSession | None:
        """Find this night's session in the journal, once."""
        if self._session is None and has_journal(self._path):
            try:
                with open_journal(self._path) as journal:
                    mine = [s for s in journal.sessions() if self._is_mine(s)]
            except JournalError:
                return None
            if mine:
                self._session, self._kept, self._is_told = mine[-1], True, True
        return self._session

    def _is_mine(self, session: JournalSession) -> bool:
        return (session.evening, session.site) == (self._night.date, self._night.site.name)

    def _session_with(self, conditions: SkyReadings | None, now: datetime) -> JournalSession:
        """Return the session, begun if there is none, with what is newly known of the sky."""
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
                session,
                seeing=conditions.seeing or session.seeing,
                transparency=conditions.transparency or session.transparency,
            )
        self._session = session
        return session
