"""``fieldstop kit``: from its options to a report on the kit."""

from __future__ import annotations

from itertools import dropwhile
from typing import TYPE_CHECKING

from planner.advice.audit import KitReport, audit_kit
from planner.cli.kit.options import KitOptions
from planner.cli.result import Result
from planner.model.errors import Faults, NothingToPlanError
from planner.output.contracts.kit import addition_json, kit_json
from planner.output.contracts.writing import json_text
from planner.output.text.kit import kit_text
from planner.request.options import Surroundings, open_settings
from planner.text import items_of, listed

if TYPE_CHECKING:
    from planner.cli.kit.advice import YearOfKit


def kit_command(
    asked: KitOptions, surroundings: Surroundings, faults: Faults | None = None
) -> Result:
    """Look over the kit with one telescope.

    Raises
    ------
    NothingToPlanError
        When a year is asked for that shows nothing.
    """
    faults = faults or Faults()
    settings, talk = open_settings(asked.config, surroundings)
    telescope = faults.attempt(settings.telescope, asked.telescope)
    site = faults.attempt(settings.site, asked.site)
    faults.check()
    report = audit_kit(settings, telescope, site)
    others = [item.name for item in settings.kit.telescopes if item.name != telescope.name]
    if others and asked.telescope is None:
        talk += (f"This is the first telescope; --telescope shows {listed(others)}.",)
    from planner.cli.kit.advice import year_of_kit  # noqa: PLC0415  # slow to load

    try:
        year = year_of_kit(report, asked, surroundings)
    except NothingToPlanError as error:
        if asked.year:
            raise
        talk, year = (*talk, f"By its numbers alone: {error}"), None
    if asked.format == "html":
        from planner.output.pages.kit import kit_html  # noqa: PLC0415  # slow to load
        from targets.catalogue.catalogue import load_catalogue  # noqa: PLC0415  # slow to load

        uses = items_of(
            dropwhile(lambda line: not line.startswith("- "), year.uses if year else [])
        )
        text = kit_html(report, load_catalogue(), verdict_of(report, year), uses)
    elif asked.format == "json":
        content = kit_json(report) | {
            "year_faults": list(year.faults) if year else None,
            "best_addition": addition_json(year.best) if year and year.best else None,
        }
        text = json_text(content | ({"year": year.content} if asked.year and year else {}))
    else:
        text = kit_text(report, verdict_of(report, year))
        text += "\n".join(year.uses) + "\n" if asked.year and year else ""
    return Result(text, asked.output, talk)


def verdict_of(report: KitReport, year: YearOfKit | None) -> tuple[str, ...]:
    """Return all sentences on the kit as a whole; that there is nothing to note, if so."""
    faults = (*report.faults, *(year.faults if year else ()))
    most = year.most if year else ""
    if faults:
        return (*faults, most) if most else faults
    return (f"Nothing to note. {most}".rstrip(),)
