"""``fieldstop journal edit`` and ``night``: what is corrected or added afterwards."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import Any

from planner.cli.journal.arguments import (
    read_at,
    read_planned_at,
    read_results,
    read_scale,
    read_seeing,
    read_target,
    read_train,
    read_words,
)
from planner.cli.journal.entries import check_there
from planner.cli.journal.texts import AddTexts, NightTexts, ResultTexts, TrainTexts
from planner.cli.result import Result
from planner.config.conditions import SKY_MAG_RANGE
from planner.config.settings import Settings
from planner.ephemeris.almanac import evening_date
from planner.journal.records import JournalEntry, JournalSession, LoggedTrain, new_session
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import Faults, InputError
from planner.model.site import Site
from planner.output.text.journal import entry_text, session_text, session_zone
from planner.request.arguments import read_clock, read_date, read_number
from planner.request.options import Common, Surroundings, journal_file, open_settings

FAINTEST_STAR_MAG = (0.0, 9.0)


def edit_command(
    common: Common,
    entry_id: str,
    texts: AddTexts,
    train: TrainTexts,
    results: ResultTexts,
    data: str | None,
    surroundings: Surroundings,
) -> Result:
    """Correct an entry; what it was stays in the journal.

    Raises
    ------
    InputError, SettingsError
        With a sentence for everything that is wrong; nothing is changed then.
    """
    settings, talk = open_settings(common.config, surroundings)
    path = journal_file(data, surroundings)
    check_there(path)
    with open_journal(path) as journal:
        entry = journal.entry(entry_id)
        session = journal.session(entry.session_id)
        changes, remarks = _changes(
            entry, session, texts, train, results, settings, surroundings.now
        )
        new = journal.amend(entry.id, changed_at=surroundings.now, **changes)
        text = entry_text(new, session, journal.history(new.id))
        talk += (*journal.remarks, *remarks)
    return Result(text, talk=talk)


def _changes(
    entry: JournalEntry,
    session: JournalSession,
    texts: AddTexts,
    train: TrainTexts,
    results: ResultTexts,
    settings: Settings,
    now: datetime,
) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Read what is to be corrected, by the names of the fields of an entry, and remarks on it."""
    faults = Faults()
    place, evening = _place(session, settings), session.evening
    changes = faults.attempt(read_results, results)
    faults.check()
    remarks: tuple[str, ...] = ()
    if texts.target:
        changes["target"] = faults.attempt(read_target, texts.target, texts.kind)
    if texts.planned_at is not None:
        changes["planned_at"] = faults.attempt(read_planned_at, texts.planned_at, evening, place)
    if texts.at is not None:
        when = faults.attempt(read_at, texts.at, evening, place, now)
        faults.check()
        changes["at"] = when[0]
    if train.given:
        used = faults.attempt(read_train, _completed(train, entry.train, settings), settings)
        faults.check()
        changes["train"], remarks = used
    faults.check()
    if texts.kind is not None and not texts.target:
        raise InputError(["--as goes with --target: name what was looked at."])
    if not changes:
        raise InputError(['Nothing to correct is given; "--help" tells what there is.'])
    return changes, remarks


def _completed(texts: TrainTexts, train: LoggedTrain, settings: Settings) -> TrainTexts:
    """Take what is not given from the entry as it stands, a zoom with its setting."""
    zooms = {item.name for item in settings.kit.eyepieces if item.is_zoom}
    eyepiece = train.eyepiece
    if eyepiece in zooms and train.eyepiece_focal_length_mm:
        eyepiece += f" at {train.eyepiece_focal_length_mm:g} mm"
    return TrainTexts(
        telescope=_first(texts.telescope, train.telescope),
        eyepiece=_first(texts.eyepiece, eyepiece),
        amplifier=_first(texts.amplifier, train.amplifier),
        filter=_first(texts.filter, train.filter),
    )


def _first(text: str | None, former: str) -> str | None:
    return text if text is not None else former or None


def _place(session: JournalSession, settings: Settings) -> Site:
    """A site with the clocks of a session's own, which the configuration may have no more."""
    return replace(settings.site(), timezone=getattr(session_zone(session), "key", "UTC"))


def night_command(
    common: Common, texts: NightTexts, data: str | None, surroundings: Surroundings
) -> Result:
    """Note what holds for a whole session: sky, weather, company, its end.

    Raises
    ------
    InputError, SettingsError
        With a sentence for everything that is wrong; nothing is changed then.
    """
    settings, talk = open_settings(common.config, surroundings)
    faults = Faults()
    site = faults.attempt(settings.site, common.site)
    evening = faults.attempt(read_date, common.date)
    place = settings.site() if faults.found else site
    evening = evening or evening_date(surroundings.now, place.zone)
    changes = faults.attempt(_night_values, texts)
    path = faults.attempt(journal_file, data, surroundings)
    faults.check()
    for name, option, clock in (("start", "--from", texts.begin), ("end", "--until", texts.end)):
        if clock is not None:
            changes[name] = faults.attempt(
                _clock_at, option, clock, evening, place, surroundings.now
            )
    faults.check()
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
    if "start" not in changes and evening != evening_date(now, site.zone):
        raise InputError(
            [f"The journal has no session of {evening} at {site.name}; --from begins one."]
        )
    session = new_session(site, evening, now, observer=settings.observer.name)
    session = replace(session, **changes)
    _check_span(session)
    journal.add_session(session)
    return session


def _night_values(texts: NightTexts) -> dict[str, Any]:
    """Read what is given, by the names of the fields of a session."""
    faults = Faults()
    low, high = SKY_MAG_RANGE
    faint, fainter = FAINTEST_STAR_MAG
    values = {
        "seeing": (texts.seeing, faults.attempt(read_seeing, texts.seeing)),
        "transparency": (
            texts.transparency,
            faults.attempt(read_scale, "--transparency", texts.transparency),
        ),
        "sky_mag_arcsec2": (
            texts.sky,
            faults.attempt(read_number, "--sky", texts.sky, low=low, high=high, unit="mag/arcsec2"),
        ),
        "faintest_star_mag": (
            texts.faintest,
            faults.attempt(
                read_number, "--faintest", texts.faintest, low=faint, high=fainter, unit="mag"
            ),
        ),
        "weather": (texts.weather, faults.attempt(read_words, "--weather", texts.weather)),
        "comments": (texts.comments, faults.attempt(read_words, "--comments", texts.comments)),
        "companions": (texts.companions or None, texts.companions),
    }
    faults.check()
    return {name: value for name, (text, value) in values.items() if text is not None}


def _clock_at(option: str, text: str, evening: date, site: Site, now: datetime) -> datetime:
    """Read a time of day in a night that was."""
    read_clock(option, text)
    return read_at(text, evening, site, now)[0]


def _check_span(session: JournalSession) -> None:
    if session.end is not None and session.end < session.start:
        raise InputError(["A session ends after its start; mend --from or --until."])
