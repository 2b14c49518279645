"""The options of the commands under ``fieldstop targets``."""

from __future__ import annotations

from pathlib import Path

from planner.cli.declared import Option, argument, flag, given, words
from planner.cli.options import FORMAT, OUTPUT
from planner.request.arguments import as_text, read_folder
from targets.frozen import frozen

DATA = Option("--data", "DIR", "Folder of the lists; else the usual.", read_folder)


@frozen(kw_only=True)
class ListsOptions:
    """The options of ``targets list``."""

    data: Path | None = given(DATA)
    format: str = given(FORMAT, "text")
    output: Path | None = given(OUTPUT)


@frozen(kw_only=True)
class FindOptions(ListsOptions):
    """The options of ``targets find``."""

    text: str = words("WORDS", "A part of a name.")


@frozen(kw_only=True)
class ShowListOptions(ListsOptions):
    """The options of ``targets show``."""

    name: str = argument("NAME", "Of the list.")


@frozen(kw_only=True)
class AddListOptions:
    """The options of ``targets add``."""

    file: str = argument(
        "FILE",
        "A name in each line; a table (CSV, ECSV, VOTable, FITS); or elements of comets or"
        " minor planets as the Minor Planet Center publishes them. At most 1,000,000 rows, 20,000"
        " lines of elements, of which 3,000 bodies within reach of telescopes.",
    )
    name: str | None = given(Option("--name", "NAME", "Of the list; else the file's.", as_text))
    keep_good: bool = flag("--keep-good", "Keep the good lines though others are refused.")
    data: Path | None = given(DATA)
    format: str = given(FORMAT, "text")
    output: Path | None = given(OUTPUT)


@frozen(kw_only=True)
class RemoveOptions:
    """The options of ``targets remove``."""

    name: str = argument("NAME", "Of the list.")
    data: Path | None = given(DATA)
