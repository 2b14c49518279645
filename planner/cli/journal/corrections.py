"""``fieldstop journal edit`` and ``night``: what is corrected or added afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

from planner.cli.journal.arguments import planned_moment, read_at, read_target, read_train
from planner.cli.journal.entries import check_there
from planner.cli.journal.options import EditOptions, NightOptions, TrainOptions
from planner.cli.journal.readers import changes_of
from planner.cli.result import Result
from planner.config.settings import Settings
from planner.ephemeris.almanac import evening_date
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTrain,
    new_session,
    session_zone,
)
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import Faults, InputError
from planner.model.site import Site
from planner.output.text.journal import entry_text, session_text
from planner.request.options import Surroundings, journal_file, open_settings


def edit_command(asked: EditOptions, surroundings: Surroundings) -> Result:
    """Correct an entry; what it was stays in the journal.

    Raises UserError with a sentence for everything that is wrong; nothing is changed then.
    """
    settings, talk = open_settings(asked.config, surroundings)
    path = journal_file(asked.data, surroundings)
    check_there(path)
    with open_journal(path) as journal:
        entry = journal.entry(asked.entry_id)
        session = journal.session(entry.session_id)
        changes, remarks = _changes(entry, session, asked, settings, surroundings.now)
        new = journal.amend(entry.id, changed_at=surroundings.now, **changes)
        text = entry_text(new, session, journal.history(new.id))
        talk += (*journal.remarks, *remarks)
    return Result(text, talk=talk)


def _changes(
    entry: JournalEntry,
    session: JournalSession,
    asked: EditOptions,
    settings: Settings,
    now: datetime,
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Find what is to be corrected, by the names of the fields of an entry, and remarks on it."""
    faults = Faults()
    place, evening = _place(session, settings), session.evening
    changes = changes_of(asked.results)
    remarks: tuple[str, ...] = ()
    if asked.target:
        changes["target"] = faults.attempt(read_target, asked.target, asked.kind)
    if asked.results.planned_at is not None:
        changes["planned_at"] = planned_moment(asked.results.planned_at, evening, place)
    if asked.at is not None:
        when = faults.attempt(read_at, asked.at, evening, place, now)
        faults.check()
        changes["at"] = when[0]
    if asked.train.is_given:
        train = _completed(asked.train, entry.train, settings)
        used = faults.attempt(read_train, train, settings)
        faults.check()
        changes["train"], remarks = used
    faults.check()
    if asked.kind is not None and not asked.target:
        raise InputError(["--as goes with --target: name what was looked at."])
    if not changes:
        raise InputError(['Nothing to correct is given; "--help" tells what there is.'])
    return changes, remarks


def _completed(asked: TrainOptions, train: LoggedTrain, settings: Settings) -> TrainOptions:
    """Take what is not given from the entry as it stands, a zoom with its setting."""
    zooms = {item.name for item in settings.kit.eyepieces if item.is_zoom}
    eyepiece = train.eyepiece
    if eyepiece in zooms and train.eyepiece_focal_length_mm:
        eyepiece += f" at {train.eyepiece_focal_length_mm:g} mm"
    return TrainOptions(
        telescope=_first(asked.telescope, train.telescope),
        eyepiece=_first(asked.eyepiece, eyepiece),
        amplifier=_first(asked.amplifier, train.amplifier),
        filter=_first(asked.filter, train.filter),
    )


def _first(text: str | None, former: str) -> str | None:
    return text if text is not None else former or None


def _place(session: JournalSession, settings: Settings) -> Site:
    """A site with the clocks of a session's own, which the configuration may have no more."""
    return replace(settings.site(), timezone=getattr(session_zone(session), "key", "UTC"))


def night_command(asked: NightOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Note what holds for a whole session: sky, weather, company, its end.

    Raises UserError with a sentence for everything that is wrong; nothing is changed then.
    """
    settings, talk = open_settings(asked.config, surroundings)
    site = faults.attempt(settings.site, asked.site)
    faults.check()
    evening = asked.evening or evening_date(surroundings.now, site)
    changes = changes_of(asked.session)
    for name, clock in (("start", asked.begin), ("end", asked.until)):
        if clock is not None:
            changes[name] = faults.attempt(_instant, clock, evening, site, surroundings.now)
    faults.check()
    path = journal_file(asked.data, surroundings)
    with open_journal(path) as journal:
        session = _noted(journal, settings, site, evening, changes, surroundings.now)
        text = session_text(session, journal.entries(session_id=session.id))
        talk += journal.remarks
    return Result(text, talk=talk)


def _noted(
    journal: Journal,
    settings: Settings,
    site: Site,
    evening: date,
    changes: dict[str, Any],
    now: datetime,
) -> JournalSession:
    """Change the session of an evening, or begin it."""
    session = journal.session_of_evening(evening, site.name)
    if session is not None:
        _check_span(replace(session, **changes))
        return journal.change_session(session.id, changed_at=now, **changes)
    if "start" not in changes and evening != evening_date(now, site):
        raise InputError(
            [f"The journal has no session of {evening} at {site.name}; --from begins one."]
        )
    session = new_session(site, evening, now, observer=settings.observer.name)
    session = replace(session, **changes)
    _check_span(session)
    journal.add_session(session)
    return session


def _instant(clock: time, evening: date, site: Site, now: datetime) -> datetime:
    """Return when a clock showed that time in a night that was."""
    return read_at(clock, evening, site, now)[0]


def _check_span(session: JournalSession) -> None:
    if session.end is not None and session.end < session.start:
        raise InputError(["A session ends after its start; mend --from or --until."])
