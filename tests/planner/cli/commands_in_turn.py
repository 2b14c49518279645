"""Runs commands one after the other in one program, and prints each one's status and last words.

``commands_in_turn.py FILE DATA...``: DATA are folders that are named with ``--data`` in turn, FILE
a list and a log to take in. The clock stands still.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
from datetime import UTC, datetime
from itertools import product
from pathlib import Path

from planner.cli.main import main
from planner.request.options import Surroundings

NOW = datetime(2026, 12, 8, 20, tzinfo=UTC)
COMMANDS = (
    "plan --date 2026-12-08 --count 1 --list bright-planetaries",
    "look M31 --date 2026-12-08",
    "nights M31 --count 1",
    "journal list",
    "journal show abc",
    "journal add M31",
    "journal edit abc --rating 3",
    "journal remove abc",
    "journal restore abc",
    "journal night --seeing II",
    "journal export --format csv",
    "journal import FILE",
    "journal report",
    "targets find ring",
    "targets list",
    "targets show mine",
    "targets add FILE --name mine",
    "targets remove mine",
)

file, *folders = map(Path, sys.argv[1:])
for data, command in product(folders, COMMANDS):
    around = Surroundings(NOW, file.parent / "none.toml", data)
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        words = [str(file) if word == "FILE" else word for word in command.split()]
        # The folder of the program itself, or one that is named.
        named = [] if command.startswith(("look", "targets")) else ["--data", str(data)]
        status = main([*words, *named], surroundings=around)
    print(json.dumps([str(data), command, status, err.getvalue()]))  # noqa: T201  # what the test reads
