"""``fieldstop journal add``."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from planner.cli.journal.arguments import planned_moment, read_at, read_target, read_train
from planner.cli.journal.entries import entry_words
from planner.cli.journal.options import AddOptions
from planner.cli.journal.readers import changes_of
from planner.cli.result import Result
from planner.config.settings import Settings
from planner.journal.records import ID_SHOWN, JournalEntry, Outcome, new_id, new_session
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import Faults
from planner.model.site import Site
from planner.request.options import Surroundings, journal_file, open_settings
from planner.text import plain_line

# Looks at one target that are closer may be one look, written twice.
DUPLICATE = timedelta(minutes=1)


def add_command(asked: AddOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Add a look to the journal, and to the session of its evening and site.

    Raises UserError with a sentence for everything that is wrong; nothing is added then.
    """
    faulty = bool(faults.found)
    settings, talk = open_settings(asked.config, surroundings)
    path = journal_file(None if faulty else asked.data, surroundings)
    sites = Faults()
    site = sites.attempt(settings.site, asked.site)
    place = settings.site() if sites.found else site
    faults.found += sites.found
    target = faults.attempt(read_target, asked.target, None if faulty else asked.kind, path.parent)
    used = faults.attempt(read_train, asked.train, settings)
    if not faulty:
        when = faults.attempt(read_at, asked.at, asked.evening, place, surroundings.now)
    faults.check()
    values = changes_of(asked.results)
    planned_at = planned_moment(values.pop("planned_at", None), when[1], site)
    entry = JournalEntry(
        id=new_id(),
        session_id="",
        at=when[0],
        target=target,
        train=used[0],
        outcome=Outcome.SEEN,
        planned_at=planned_at,
    )
    entry = replace(entry, **values)
    with open_journal(path) as journal:
        twin = _just_written(journal, entry)
        entry = _added(journal, entry, settings, site, when[1])
        talk += (*journal.remarks, *used[1], *(_twin_words(twin) if twin else ()))
    return Result(f"{entry_words(entry, site.zone)}\n", talk=talk)


def _just_written(journal: Journal, entry: JournalEntry) -> JournalEntry | None:
    """Return a look at the same target less than a minute away, if there is one."""
    target = entry.target
    near = journal.entries(
        since=entry.at - DUPLICATE,
        target_id=target.id or None,
        target_name=None if target.id else target.name,
    )
    return next((one for one in near if abs(one.at - entry.at) < DUPLICATE), None)


def _twin_words(twin: JournalEntry) -> tuple[str, str]:
    name, digits = plain_line(twin.target.name), twin.id[:ID_SHOWN]
    return (
        f"The journal had a look at {name} within the same minute, {digits}: was it the same look?",
        f'"fieldstop journal remove {digits}" takes that one out.',
    )


def _added(
    journal: Journal, entry: JournalEntry, settings: Settings, site: Site, evening: date
) -> JournalEntry:
    """Keep an entry with the session of its evening, or with a new one that takes its sky."""
    session = new_session(site, evening, entry.at, observer=settings.observer.name)
    session = replace(session, seeing=entry.seeing, transparency=entry.transparency)
    return journal.add_to_evening(entry, session)
