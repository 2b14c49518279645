"""``fieldstop kit``: from its options to a report on the kit."""

from __future__ import annotations

from itertools import dropwhile

from planner.advice.audit import audit_kit
from planner.cli.kit.options import KitOptions
from planner.cli.result import Result
from planner.model.errors import Faults
from planner.output.contracts.kit import kit_json
from planner.output.contracts.writing import json_text
from planner.output.text.kit import kit_text
from planner.request.options import Surroundings, open_settings
from planner.text import items_of, listed


def kit_command(
    asked: KitOptions, surroundings: Surroundings, faults: Faults | None = None
) -> Result:
    """Look over the kit with one telescope.

    Raises
    ------
    UserError
        With a sentence for everything that is wrong.
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
    content, text = kit_json(report), kit_text(report)
    lines: list[str] = []
    if asked.year:
        from planner.cli.kit.advice import year_of_uses  # noqa: PLC0415  # slow to load

        lines, content["year"] = year_of_uses(asked, surroundings)
        text += "\n".join(lines) + "\n"
    if asked.format == "html":
        from planner.output.pages.kit import kit_html  # noqa: PLC0415  # slow to load
        from targets.catalogue.catalogue import load_catalogue  # noqa: PLC0415  # slow to load

        uses = dropwhile(lambda line: not line.startswith("- "), lines)
        text = kit_html(report, load_catalogue(), items_of(uses))
    return Result(json_text(content) if asked.format == "json" else text, asked.output, talk)
