"""The journal's file: how it is kept, found again and put right; here what loads no database."""

from pathlib import Path

from targets.files import is_missing

FILE_NAME = "journal.sqlite"
# What a journal can be made of when its file is gone: its log, its newest copy, one just rescued.
_BESIDE = ("-wal", ".rescued")
NEWEST_BACKUP = "journal.backup-1.sqlite"


def has_journal(path: Path) -> bool:
    """Whether there is a journal, or beside its place what one can be made of.

    Also where one may not look: opening it says why.
    """
    places = (path, *(path.with_name(path.name + ending) for ending in _BESIDE))
    return not all(map(is_missing, (*places, path.with_name(NEWEST_BACKUP))))
