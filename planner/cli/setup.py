"""``fieldstop setup``: asks, checks as it goes, and writes a first configuration."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

from planner.cli.bars import stop_watching
from planner.cli.options import SetupOptions
from planner.cli.result import Result
from planner.config.settings import read_settings
from planner.config.setup.draft import draft_toml
from planner.config.setup.interview import BACK, Interview
from planner.model.errors import InputError
from planner.request.options import Surroundings
from planner.text import plain_line, wrap
from targets.files import FOR_THE_OWNER, draft_of, make_folder

WELCOME = (
    "A few questions about you, your place and your kit make the configuration. An empty answer "
    f'takes what stands in brackets, "{BACK}" goes back, Ctrl-C leaves without writing anything.'
)


def setup_command(asked: SetupOptions, surroundings: Surroundings) -> Result:
    """Ask at the terminal and write the configuration.

    Raises InputError when the answers end too early, or the file cannot be written.
    """
    path = surroundings.configuration if asked.config is None else Path(asked.config)
    if path.is_dir():
        raise InputError([f'"{path}" is a folder; give the name of a file.'])
    _tell(WELCOME)
    if path.exists():
        _tell(f"{path} is there already. It stays as it is unless you say so at the end.")
    try:
        return _asked(Interview(surroundings.now.date()), path)
    except KeyboardInterrupt:
        _tell("\nLeft: nothing was written.")
        raise


def _asked(interview: Interview, path: Path) -> Result:
    while True:
        interview = _interviewed(interview)
        text = draft_toml(interview.draft)
        read_settings(text, source="the new configuration", today=interview.today)
        _tell("")
        sys.stderr.write(text)
        _tell("")
        answer = _answer(_last_question(path)).lower()
        if answer in {"y", "yes"}:
            return Result(f"{_write(path, text)}\n")
        if answer != BACK:
            _tell("Nothing was written.")
            return Result("", status=1)
        interview = interview.before or interview


def _interviewed(interview: Interview) -> Interview:
    """Ask until all is answered."""
    while not interview.is_over:
        interview, said = interview.answered(_answer(interview.question))
        for sentence in said:
            _tell(f"  {sentence}")
    return interview


def _answer(question: str) -> str:
    """Ask one question; InputError when there is nobody to answer."""
    stop_watching()  # one may think about it as long as one likes
    sys.stderr.write("\n".join(wrap(f"{question}: ")) + " ")
    sys.stderr.flush()
    line = sys.stdin.readline()
    if not line:
        ended = f'The answers end at "{question}"; nothing was written.'
        raise InputError([f'{ended} Run "fieldstop setup" at a terminal.'])
    if not sys.stdin.isatty():
        sys.stderr.write(line)
    return line.strip()


def _last_question(path: Path) -> str:
    kept = f"; the old file is kept as {_free_path(path).name}" if path.exists() else ""
    return f"Write this to {path}{kept}? y, n, or {BACK}"


def _tell(sentence: str) -> None:
    sys.stderr.write("\n".join(wrap(plain_line(sentence))) + "\n")


def _free_path(path: Path) -> Path:
    """Return a name beside a file under which it can be kept."""
    names = (path.with_name(f"{path.name}.old{number or ''}") for number in range(1000))
    return next(name for name in names if not name.exists())


def _write(path: Path, text: str) -> str:
    """Put a file in its place whole, and keep the one that was there."""
    try:
        path = Path(os.path.realpath(path))  # a link stays one
        make_folder(path.parent)
        kept = _free_path(path) if path.exists() else None
        if kept:
            shutil.copy2(path, kept)
        with draft_of(path, text, rights=FOR_THE_OWNER) as draft:
            draft.replace(path)
    except OSError as error:
        raise InputError([f"{path} cannot be written: {error.strerror}."]) from None
    return f'Written to {path}. "fieldstop plan" uses it from now on.'
