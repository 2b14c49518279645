"""The kit in numbers, as lines to read."""

from __future__ import annotations

from tui.night.request import Request


def kit_lines(asked: Request) -> list[str]:
    """Return the kit's numbers, its faults, and what each eyepiece is for in a year."""
    from planner.cli.kit.audit import kit_command  # noqa: PLC0415  # slow to load
    from planner.cli.kit.options import KitOptions  # noqa: PLC0415

    wanted = KitOptions(year=True, config=asked.config, site=asked.site, telescope=asked.telescope)
    return "".join(kit_command(wanted, asked.surroundings).text).splitlines()
