"""``fieldstop targets add``: reads a file, says of every line what became of it, keeps a list."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path

from planner.cli.result import Result
from planner.cli.targets.options import AddListOptions
from planner.ephemeris.bodies import find_constellations
from planner.ephemeris.minor_targets import age_doubt
from planner.model.errors import InputError
from planner.output.contracts.targets import reading_json
from planner.output.contracts.writing import json_text
from planner.output.text.targets import reading_text
from planner.request.options import Surroundings, journal_file
from planner.text import show
from targets.catalogue.catalogue import load_catalogue
from targets.userlists import raw
from targets.userlists.reading import read_table
from targets.userlists.records import ListError, OwnList, Reading
from targets.userlists.store import check_free, check_name, keep_list, lists_folder, name_for

WRONG_INPUT = 2
# So much of a file shows of which format it is.
BEGIN_BYTES = 200_000


def add_command(asked: AddListOptions, surroundings: Surroundings) -> Result:
    """Read a file and keep what is in it as a list; say of every line what became of it.

    Returns
    -------
    Result
        Status 2, and nothing kept, when a line was refused and the good ones alone are not asked
        for.

    Raises
    ------
    InputError
        When the file as a whole cannot be used, or the name is taken; nothing is changed.
    """
    folder = lists_folder(journal_file(asked.data, surroundings).parent)
    path = Path(asked.file)
    source = path.name or asked.file
    try:
        name = check_name(asked.name) if asked.name is not None else name_for(path)
        check_free(folder, name)
        reading = _reading(path)
        kept, verdict = _keep(folder, name, source, reading, keep_good=asked.keep_good)
    except ListError as error:
        raise InputError([f"{show(source)}: {fault}." for fault in error.faults]) from None
    talk = _stale(reading, surroundings) if kept else ()
    report = reading_json if asked.format == "json" else reading_text
    written = report(reading, source, verdict)
    text = written if isinstance(written, str) else json_text(written)
    return Result(text, asked.output, talk, 0 if kept else WRONG_INPUT)


def _reading(path: Path) -> Reading:
    """Read a file in whatever format it has."""
    content = raw.read_bytes(path)
    if not raw.is_fits(content):
        from planner.ephemeris.mpc_files import is_element_file, read_elements  # noqa: PLC0415

        begin = ""
        with suppress(ListError):  # what is no text at all, the other reader tells
            begin = raw.decode(content[:BEGIN_BYTES], [])
        if is_element_file(begin):
            return read_elements(raw.decode(content, []))
    return read_table(content, load_catalogue(), find_constellations)


def _keep(
    folder: Path, name: str, source: str, reading: Reading, *, keep_good: bool
) -> tuple[bool, str]:
    """Keep what was read if that is what the user wants, and say what was done."""
    entries = reading.entries
    lines = "1 line" if len(reading.refused) == 1 else f"{len(reading.refused):,} lines"
    if not entries:
        return False, "Nothing is kept: no line gives a target."
    if reading.refused and not keep_good:
        return False, (
            f"Nothing is kept, because of {lines} refused: mend the file, or keep the rest"
            f" ({_number(len(entries))}) with --keep-good."
        )
    kept = OwnList(name, source, entries, reading.orbits)
    keep_list(folder, kept)
    without = f", without {lines} refused" if reading.refused else ""
    use = (
        "the bright ones join every plan"
        if reading.orbits
        else f'"fieldstop plan --list {name}" plans with it'
    )
    return True, f"Kept {count_words(kept)} as list {name}{without}; {use}."


def _stale(reading: Reading, surroundings: Surroundings) -> tuple[str, ...]:
    """Warn of old elements, once for the whole file."""
    entries = reading.entries if reading.orbits else ()
    own = [entry.own for entry in entries if entry.own is not None]
    doubts = [
        (target, doubt)
        for target in own
        if target.elements is not None
        and (doubt := age_doubt(target.kind, target.elements, surroundings.now)) is not None
    ]
    if not doubts:
        return ()
    target, doubt = doubts[0]
    more = f"; so with {len(doubts) - 1:,} more" if len(doubts) > 1 else ""
    return (f"{target.name}: {doubt}{more}. Newer elements put it right.",)


def count_words(kept: OwnList) -> str:
    """Say how many targets a list has."""
    if kept.orbits:
        plural = "body" if len(kept.entries) == 1 else "bodies"
        return f"{len(kept.entries):,} {plural} with orbits"
    return _number(len(kept.entries))


def _number(count: int) -> str:
    return "1 target" if count == 1 else f"{count:,} targets"
