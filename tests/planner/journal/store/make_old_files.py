"""Makes the journals of older versions in ``files/``; run once, when a version is given out.

They hold one session and two entries, the second of which was corrected in version 2 and later.
"""

from __future__ import annotations

import json
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

from planner.journal.store.schema import APPLICATION_ID, STEPS, statements

SESSION = {
    "id": "a" * 32,
    "evening": "2024-02-10",
    "site": "Hill",
    "timezone": "Europe/Zurich",
    "start": "2024-02-10T18:00:00.000000+00:00",
    "seeing": "II",
    "companions": '["Ann"]',
}
ENTRY = {
    "session_id": "a" * 32,
    "target_id": "NGC1976",
    "target_name": "M42 Orion Nebula",
    "target_kind": "emission nebula",
    "train_telescope": "Ten inch",
    "train_eyepiece": "26 mm 62",
    "train_magnification": 49.0,
    "outcome": "seen",
}


def make(path: Path, version: int) -> None:
    """Make the file of a version."""
    path.unlink(missing_ok=True)
    with closing(sqlite3.connect(path)) as db, db:
        for step in STEPS[:version]:
            for statement in statements(step):
                db.execute(statement)
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute(f"PRAGMA user_version = {version}")
        insert(db, "session", SESSION)
        for number in (1, 2):
            at = f"2024-02-10T19:0{number}:00.000000+00:00"
            note = "green, \U0001f52d wings" if number == 2 else "Trapezium: 4 stars"
            insert(db, "entry", ENTRY | {"id": str(number) * 32, "at": at, "note": note})
        if version > 1:
            correct(db)


def insert(db: sqlite3.Connection, table: str, values: dict[str, object]) -> None:
    """Put a row into a table."""
    names, marks = ", ".join(values), ", ".join("?" * len(values))
    db.execute(f"INSERT INTO {table} ({names}) VALUES ({marks})", tuple(values.values()))  # noqa: S608


def correct(db: sqlite3.Connection) -> None:
    """Correct the second entry, as that version did."""
    db.row_factory = sqlite3.Row
    row = dict(db.execute("SELECT * FROM entry WHERE id = ?", ("2" * 32,)).fetchone())
    revision = row.pop("revision")
    changed_at = "2024-02-11T09:00:00.000000+00:00"
    db.execute(
        "INSERT INTO former VALUES (?, ?, ?, ?)", (row["id"], revision, changed_at, json.dumps(row))
    )
    db.execute("UPDATE entry SET rating = 5, revision = 1 WHERE id = ?", (row["id"],))


if __name__ == "__main__":
    for version in map(int, sys.argv[1:]):
        make(Path(__file__).parent / "files" / f"version-{version}.sqlite", version)
