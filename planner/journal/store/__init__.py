"""The journal's file: how it is kept, found again and put right; here what loads no database."""

from pathlib import Path

from targets.files import is_missing

FILE_NAME = "journal.sqlite"
# What a journal can be made of when its file is gone: its log, its copies, one just rescued.
_BESIDE = (
    "journal.sqlite-wal", "journal.sqlite.rescued", "journal.backup-1.sqlite",
    "journal.ledger.jsonl",
)  # fmt: skip


def has_journal(path: Path) -> bool:
    """Whether there is a journal, or beside its place what one can be made of.

    Also where one may not look: opening it says why.
    """
    return not all(map(is_missing, (path, *map(path.with_name, _BESIDE))))
