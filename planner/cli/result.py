"""Hands the result of a command over: to standard output, or to a new file."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TextIO

from planner.cli.bars import make_way, stop_watching_for
from planner.model.errors import InputError
from targets.characters import harmless
from targets.files import AS_USUAL, draft_of
from targets.frozen import frozen

STANDARD_OUTPUT = "-"


@frozen
class Result:
    """What a command comes to.

    Parameters
    ----------
    text : str or iterable of str
        The data, whole or in pieces that are made while they are written.
    output : Path or None
        The file to write; None for standard output.
    talk : tuple of str
        Sentences for standard error.
    status : int
        0 done, 1 nothing could be planned.
    """

    text: str | Iterable[str]
    output: Path | None = None
    talk: tuple[str, ...] = ()
    status: int = 0


def read_output(option: str, text: str) -> Path | None:
    """Read where to write; None for standard output.

    Raises InputError when something is there already, or the folder is missing.
    """
    if text == STANDARD_OUTPUT:
        return None
    path = Path(text)
    try:
        if "\0" in text:
            fault = "cannot be made: this is not a path"
        elif not path.name or path.is_dir():
            fault = "is a folder; give the name of a new file"
        elif os.path.lexists(path):
            fault = "is there already and is not overwritten; give another name"
        elif not path.parent.is_dir():
            fault = f'cannot be made: there is no folder "{path.parent}"'
        else:
            return path
    except OSError as error:
        fault = f"cannot be made: {error.strerror}"
    raise InputError([f'{option} "{text}" {fault}.'])


def deliver(outcome: Result) -> None:
    """Say what there is to say, and write the data.

    Raises
    ------
    InputError
        When the file or standard output cannot be written; no half-written file is left.
    BrokenPipeError
        When nobody reads standard output any more.
    """
    for sentence in outcome.talk:
        say(sentence)
    if outcome.output is None:
        write_standard_output(outcome.text)
    else:
        write_new_file(outcome.output, outcome.text)


def say(sentence: str) -> None:
    """Write a sentence to standard error, with marks for what would steer the terminal."""
    lines = map(harmless, sentence.split("\n"))
    make_way()
    try:
        sys.stderr.write("fieldstop: " + "\n".join(lines) + "\n")
        sys.stderr.flush()
    except OSError:  # nobody is told; that ends no work
        _abandon(sys.stderr)


def write_standard_output(text: str | Iterable[str]) -> None:
    """Write to standard output, characters that it does not know as question marks."""
    reconfigure = getattr(sys.stdout, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
    with suppress(OSError, ValueError):
        stop_watching_for(sys.stdout.fileno())
    try:
        for piece in [text] if isinstance(text, str) else text:
            sys.stdout.write(piece)
        sys.stdout.flush()
    except BrokenPipeError:
        abandon_standard_output()
        raise
    except OSError as error:
        abandon_standard_output()
        raise InputError([f"Standard output cannot be written: {error.strerror}."]) from None


# Terminals whose letters have no Braille among them (common practice).
WITHOUT_DOTS = ("linux", "vt", "ansi", "cons", "wsvt", "dumb", "unknown")


def takes_dots(output: Path | None, *, has_dots: bool) -> bool:
    """Whether Braille dots can be written: to a file, or to an output that knows Unicode.

    A terminal has to have such letters too, as `terminal_has_dots` tells.
    """
    encoding = getattr(sys.stdout, "encoding", None) or "ascii"
    knows = encoding.lower().replace("-", "").startswith("utf")
    if output is not None:
        return True
    return knows and (not sys.stdout.isatty() or has_dots)


def terminal_has_dots(environment: Mapping[str, str]) -> bool:
    """Whether a terminal with these variables shows Braille dots."""
    if environment.get("TERM", "").startswith(WITHOUT_DOTS):
        return False
    # Not LC_CTYPE: Python itself puts a Unicode locale there in place of "C" (PEP 538).
    named = environment.get("LC_ALL") or environment.get("LANG") or "C"
    return "UTF8" in named.upper().replace("-", "")


def abandon_standard_output() -> None:
    """Point standard output at nothing, so that what is left in it fails no more at the end."""
    _abandon(sys.stdout)


def _abandon(stream: TextIO) -> None:
    with suppress(OSError, ValueError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, stream.fileno())
        os.close(nothing)


def write_new_file(path: Path, text: str | Iterable[str]) -> None:
    """Write a file that is not there yet: beside its place first, then moved there whole."""
    try:
        with draft_of(path, text, rights=AS_USUAL, lasts=False) as draft:
            read_output("--output", str(path))  # it may have come to be there in the meantime
            draft.rename(path)
    except OSError as error:
        raise InputError([f'--output "{path}" cannot be written: {error.strerror}.']) from None
