"""The tables that benchmarks measure: printed, and kept in ``figures.md`` beside this file."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

PLACE = Path(__file__).with_name("figures.md")
TITLE = "# Measured figures\n"


def tell(heading: str, lines: Iterable[str]) -> None:
    """Print some lines of markdown, and put them into the file in place of those it has.

    Parameters
    ----------
    heading : str
        Of the section; other sections stay as they are.
    lines : iterable of str
    """
    text = "\n".join(lines).strip()
    print(f"\n\n{text}")
    sections = dict(_sections())
    sections[heading] = text
    parts = (f"## {name}\n\n{body}\n" for name, body in sections.items())
    PLACE.write_text("\n".join([TITLE, *parts]), "utf-8")


def table(columns: Iterable[str], rows: Iterable[Iterable[str]]) -> list[str]:
    """Return a table in markdown."""
    head = list(columns)
    cells = [head, ["---"] * len(head), *rows]
    return [f"| {' | '.join(row)} |" for row in cells]


def _sections() -> Iterable[tuple[str, str]]:
    text = PLACE.read_text("utf-8") if PLACE.exists() else TITLE
    for part in text.split("\n## ")[1:]:
        name, _, body = part.partition("\n")
        yield name, body.strip()
