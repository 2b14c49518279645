"""The journal as text of 80 columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, tzinfo

from planner.journal.records import (
    ID_SHOWN,
    JournalEntry,
    JournalSession,
    logged_words,
    seeing_at,
    session_zone,
    transparency_at,
)
from planner.journal.store.history import Former
from planner.output.words import arc, clock_of, double_date, item
from planner.text import WIDTH, cell_width, fit, plain_line, plain_lines, text_of, wrap

INDENT = " " * 7
TARGET_WIDTH, TRAIN_WIDTH = 26, 19

Pairs = Sequence[tuple[JournalEntry, JournalSession]]


def list_text(pairs: Pairs, *, earlier: int, removed_at: Mapping[str, datetime]) -> str:
    """Write entries under the nights to which they belong.

    Parameters
    ----------
    pairs : sequence of (JournalEntry, JournalSession)
        In order of time.
    earlier : int
        How many more there are before them.
    removed_at : mapping of str to datetime
        By id, when an entry was removed; empty when none was.
    """
    lines: list[str] = []
    told = None
    for entry, session in pairs:
        if session.id != told:
            lines += [*([""] if lines else []), *_session_lines(session)]
            told = session.id
        lines += _entry_lines(entry, session)
        if entry.id in removed_at:
            local = removed_at[entry.id].astimezone(session_zone(session))
            lines.append(f"{INDENT}removed {local:%Y-%m-%d %H:%M}")
    if earlier:
        lines += ["", f"{earlier} earlier ones; --count and --since show more."]
    return text_of(lines)


def session_text(session: JournalSession, entries: Sequence[JournalEntry]) -> str:
    """Write one session with its entries."""
    zone = session_zone(session)
    end = clock_of(session.end.astimezone(zone)) if session.end else ""
    lines = [
        *_session_lines(session),
        *item("Time", f"{clock_of(session.start.astimezone(zone))}-{end}"),
        *(item("With", plain_line(", ".join(session.companions))) if session.companions else []),
        *(["", *_prose(session.comments)] if session.comments else []),
        *([""] if entries else []),
    ]
    return text_of([*lines, *(line for entry in entries for line in _entry_lines(entry, session))])


def _session_lines(session: JournalSession) -> list[str]:
    clauses = [f"{double_date(session.evening)}, {plain_line(session.site)}"]
    clauses += sky_clauses(session, session.seeing, session.transparency)
    return wrap("; ".join(clauses), rest="  ")


def sky_clauses(session: JournalSession, seeing: str | None, transparency: int | None) -> list[str]:
    """Say what the sky was like, as far as it was noted."""
    sky, star = session.sky_mag_arcsec2, session.faintest_star_mag
    return [
        *([f"seeing {seeing}"] if seeing else []),
        *([f"transparency {transparency} of 5"] if transparency else []),
        *([f"sky {sky:.1f} mag/arcsec2"] if sky is not None else []),
        *([f"stars to {star:.1f}"] if star is not None else []),
        *([plain_line(session.weather)] if session.weather.strip() else []),
    ]


def _entry_lines(entry: JournalEntry, session: JournalSession) -> list[str]:
    train = entry.train
    power = f"{train.magnification:.0f}x" if train.magnification else ""
    result = f"{fit(entry.outcome.value, 9)} {entry.rating or ' '}"
    glass = plain_line(logged_words(train)) or "-"
    when = f"{_clock(entry.at, session)}  {plain_line(entry.target.name)}"
    line = (
        f"{fit(when, len(INDENT) + TARGET_WIDTH)} "
        f"{fit(glass, TRAIN_WIDTH)} {power:>5} {result} {entry.id[:ID_SHOWN]}"
    )
    words = plain_line(entry.note or entry.why_skipped)
    return [line, *([INDENT + fit(words, WIDTH - len(INDENT)).rstrip()] if words else [])]


def _clock(at: datetime, session: JournalSession) -> str:
    return clock_of(at.astimezone(session_zone(session)))


def entry_text(entry: JournalEntry, session: JournalSession, history: Sequence[Former]) -> str:
    """Write all that the journal has of one entry, and what it was before."""
    target, zone = entry.target, session_zone(session)
    local = entry.at.astimezone(zone)
    kind = f" ({target.kind})" if target.kind and target.kind != target.name else ""
    result = entry.outcome.value + (f", rated {entry.rating} of 5" if entry.rating else "")
    lines = [
        *wrap(plain_line(target.name + kind)),
        *item("Night", f"{double_date(session.evening)}, {plain_line(session.site)}"),
        *item("Time", f"{clock_of(local)} {plain_line(session.timezone)}, {entry.at:%H:%M} UT"),
        *item("With", _train_words(entry)),
        *(item("Planned", _planned(entry, zone)) if entry.planned_train else []),
        *item("Outcome", result),
        *(item("Why", plain_line(entry.why_skipped)) if entry.why_skipped else []),
        *item("Sky", "; ".join(_sky(entry, session)) or "not noted"),
        *(item("Sketch", plain_line(entry.sketch)) if entry.sketch else []),
        *item("Id", entry.id),
    ]
    if entry.note:
        lines += ["", *_prose(entry.note)]
    if history:
        lines += ["", "Corrected", *_corrections(entry, history, zone)]
    return text_of(lines)


def _sky(entry: JournalEntry, session: JournalSession) -> list[str]:
    return sky_clauses(session, seeing_at(entry, session), transparency_at(entry, session))


def _train_words(entry: JournalEntry) -> str:
    train = entry.train
    clauses = [plain_line(train.telescope), plain_line(logged_words(train)) or "no eyepiece noted"]
    if train.magnification:
        clauses.append(f"{train.magnification:.0f}x")
    if train.exit_pupil_mm:
        clauses.append(f"exit pupil {train.exit_pupil_mm:.1f} mm")
    if train.true_field_deg:
        clauses.append(f"field {arc(train.true_field_deg * 60.0)}")
    return ", ".join(clause for clause in clauses if clause)


def _planned(entry: JournalEntry, zone: tzinfo) -> str:
    when = f" at {clock_of(entry.planned_at.astimezone(zone))}" if entry.planned_at else ""
    return plain_line(entry.planned_train) + when


def _prose(text: str) -> list[str]:
    return [line for part in plain_lines(text) for line in wrap(_broken(part))]


def _broken(text: str) -> str:
    """Break words that no line holds, such as long addresses."""
    pieces = []
    for word in text.split(" "):
        while cell_width(word) > WIDTH:
            pieces.append(word[: WIDTH // 2])  # at most two cells each
            word = word[WIDTH // 2 :]  # noqa: PLW2901
        pieces.append(word)
    return " ".join(pieces)


def _corrections(entry: JournalEntry, history: Sequence[Former], zone: tzinfo) -> Iterable[str]:
    """Say what each correction replaced."""
    after = [*(former.record for former in history[1:]), entry]
    for former, newer in zip(history, after, strict=True):
        was = "; ".join(_differences(former.record, newer))
        until = f"{former.changed_at.astimezone(zone):%Y-%m-%d %H:%M}"
        yield from wrap(f"until {until} {was}", first="- ", rest="  ")


def _differences(old: JournalEntry, new: JournalEntry) -> Iterable[str]:
    if old.target != new.target:
        yield f"target {plain_line(old.target.name)}"
    if old.train != new.train:
        yield f"with {_train_words(old)}"
    for name in JournalEntry.__dataclass_fields__:
        value = getattr(old, name)
        if name in {"target", "train"} or value == getattr(new, name):
            continue
        shown = f'"{plain_line(value)}"' if isinstance(value, str) else value
        yield f"{name.replace('_', ' ')} {'none' if value in {None, ''} else shown}"
