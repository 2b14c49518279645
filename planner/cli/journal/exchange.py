"""``fieldstop journal export`` and ``import``."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from pathlib import Path

from planner.cli.journal.options import ExportOptions, ImportOptions
from planner.cli.result import Result
from planner.journal.exchange.formats import FORMATS, journal_pieces, read_journal
from planner.journal.exchange.lines import (
    HERE,
    LARGEST_FILE_BYTES,
    READ,
    REFUSED,
    REMOVED,
    Arrival,
    Line,
    identified,
    sort_out,
)
from planner.journal.exchange.oal_writer import count_unwritable
from planner.journal.records import JournalEntry, JournalSession, LoggedTarget, logged_target
from planner.journal.store import has_journal
from planner.journal.store.journal import Journal, open_journal
from planner.model.errors import Faults, InputError, NothingToPlanError
from planner.request.options import Surroundings, journal_file
from planner.text import counted, listed, plain_line, wrap
from targets.catalogue.catalogue import load_catalogue
from targets.files import Watched, slices, watched
from targets.naming.lookup import UnknownTarget

# Looks that are read and written at once.
AT_ONCE = 500
# Of a long file, so many lines are told; beyond them only what is refused.
MOST_TOLD = 100


def export_command(asked: ExportOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Write the whole journal for other programs.

    Raises
    ------
    NothingToPlanError
        When there is no journal yet.
    """
    if asked.form is None:
        faults.found.append(f"--format is missing; allowed is {listed(FORMATS)}.")
    faults.check()
    path, form = journal_file(asked.data, surroundings), str(asked.form)
    if not has_journal(path):
        raise NothingToPlanError(f'There is no journal at {path} yet; "journal add" begins one.')
    with open_journal(path) as journal:
        ids = journal.ids()
        sessions = journal.counted_sessions()
        journal.name_passed_over()
        talk = list(journal.remarks)
        entries = _Kept(journal, ids)
        count = count_unwritable(sessions, entries) if form == "oal" else 0
    if count:
        talk.append(
            f"{counted(count, 'record')} with characters that XML cannot hold: other programs "
            "will see the text without them; this program reads them back."
        )
    return Result(_exported(path, sessions, ids, form), asked.output, tuple(talk))


class _Kept:
    """Entries of an open journal in order of time, read when somebody goes through them.

    Parameters
    ----------
    journal : Journal
    ids : list of str
        Of the entries.
    what : str
        What is done with them, for who looks on.
    """

    def __init__(self, journal: Journal, ids: list[str], what: str = "Reading") -> None:
        self._journal, self._ids, self._what = journal, ids, what

    def __iter__(self) -> Iterator[JournalEntry]:
        for some in watched(slices(len(self._ids), AT_ONCE), self._what):
            yield from self._journal.entries_of(self._ids[some])


def _exported(
    path: Path, sessions: Sequence[JournalSession], ids: list[str], form: str
) -> Iterator[str]:
    """Write entries while they are read, so that a long journal need not be in the memory."""
    with open_journal(path) as journal:
        yield from journal_pieces(sessions, _Kept(journal, ids, "Writing"), form=form)


def import_command(asked: ImportOptions, surroundings: Surroundings, faults: Faults) -> Result:
    """Take a file of another program, or an export, into the journal.

    Returns
    -------
    Result
        A line for each entry of the file, of a long one for the first and for what is refused;
        status 2 when nothing was taken because of a fault.

    Raises
    ------
    UserError
        When the file cannot be read as a whole; the journal is as it was.
    """
    contents = [faults.attempt(_content, asked.file)]
    faults.check()
    lines = read_journal(contents.pop(), form=asked.form)
    if any(line.entry and not line.own for line in lines):
        lines = list(identified(lines, _identify()))
    return _take(lines, journal_file(asked.data, surroundings), keep_good=asked.keep_good)


def _take(lines: list[Line], path: Path, *, keep_good: bool) -> Result:
    talk: tuple[str, ...] = ()
    arrival = sort_out(lines)
    if has_journal(path):
        with open_journal(path) as journal:
            arrival = sort_out(
                lines,
                sessions=journal.sessions(),
                entries=_Kept(journal, journal.ids(), "Comparing"),
                removed=[former.record for former in journal.removed()],
            )
            talk = journal.remarks
    is_held_back = arrival.count(REFUSED) > 0 and not keep_good
    if not is_held_back and (arrival.sessions or arrival.entries):
        with open_journal(path) as journal:
            journal.add_all(arrival.sessions, Watched(arrival.entries, "Keeping"))
    text = arrival_text(arrival, held_back=is_held_back)
    return Result(text, None, talk, status=2 if is_held_back else 0)


def _content(file: str) -> bytes:
    try:
        with Path(file).open("rb") as stream:
            content = stream.read(LARGEST_FILE_BYTES + 1)
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte
        reason = getattr(error, "strerror", None) or "this is not a path"
        raise InputError([f'The file "{file}" cannot be read: {reason}.']) from None
    return content


def _identify() -> Callable[[str], LoggedTarget | None]:
    catalogue = load_catalogue()

    @cache
    def identify(name: str) -> LoggedTarget | None:
        try:
            return logged_target(catalogue.find(name))
        except UnknownTarget:
            return None

    return identify


def arrival_text(arrival: Arrival, *, held_back: bool) -> str:
    """Say what became of each line of a file, and of all.

    Parameters
    ----------
    held_back : bool
        Whether nothing was taken because something is refused.
    """
    lines, untold = list[str](), 0
    for line, fate in arrival.lines:
        if fate == REFUSED or len(lines) < MOST_TOLD:
            lines += _fate(line, fate)
        else:
            untold += 1
    lines += [f"and {untold:,} more without a fault"] if untold else []
    told = (READ, HERE, *([REMOVED] if arrival.count(REMOVED) else []), REFUSED)
    counts = ", ".join(f"{arrival.count(fate)} {fate}" for fate in told)
    taken = "The journal took what is new."
    if held_back:
        taken = (
            "The journal took nothing: it takes all or nothing. Put right what is refused, or "
            "take the rest with --keep-good."
        )
    elif not (arrival.sessions or arrival.entries):
        taken = "There was nothing new for the journal."
    return "\n".join([*lines, *wrap(f"{counts}. {taken}")]) + "\n"


def _fate(line: Line, fate: str) -> Iterable[str]:
    words = f"{fate}: {line.what}" if line.what else fate
    if line.fault:
        words += f": {line.fault}"
    said = "; ".join([words, *line.remarks])
    return wrap(plain_line(f"{line.place}, {said}."), rest="    ")
