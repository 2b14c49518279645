"""``fieldstop kit``: from the texts behind its options to a report on the kit."""

from __future__ import annotations

from planner.advice.audit import audit_kit
from planner.cli.result import Result, read_output
from planner.config.checks import listed
from planner.model.errors import Faults
from planner.output.contracts.plan import json_text
from planner.output.text.kit import kit_json, kit_text
from planner.request.arguments import read_format
from planner.request.options import Common, Surroundings, open_settings


def kit_command(common: Common, surroundings: Surroundings, *, with_year: bool = False) -> Result:
    """Look over the kit with one telescope.

    Raises
    ------
    InputError, SettingsError
        With a sentence for everything that is wrong with the options, or the configuration.
    NothingToPlanError
        When a year is asked for that shows nothing.
    """
    faults = Faults()
    format_ = faults.attempt(read_format, common.format)
    output = faults.attempt(read_output, common.output)
    settings, talk = open_settings(common.config, surroundings)
    telescope = faults.attempt(settings.telescope, common.telescope)
    site = faults.attempt(settings.site, common.site)
    faults.check()
    report = audit_kit(settings, telescope, site)
    others = [item.name for item in settings.kit.telescopes if item.name != telescope.name]
    if others and common.telescope is None:
        talk += (f"This is the first telescope; --telescope shows {listed(others)}.",)
    content, text = kit_json(report), kit_text(report)
    if with_year:
        from planner.cli.kit_advice import year_of_uses  # noqa: PLC0415  # slow to load

        lines, content["year"] = year_of_uses(common, surroundings)
        text += "\n".join(lines) + "\n"
    return Result(json_text(content) if format_ == "json" else text, output, talk)
