"""The sheet for guests as a page."""

from __future__ import annotations

from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Telescope
from planner.model.plan import Plan
from planner.output.guests import SAFETY, guest_facts, guests_title
from planner.output.pages.page import page
from planner.output.words import span


def guests_html(plan: Plan, *, guests: int, telescope: Telescope, ephemeris: Ephemeris) -> str:
    """Write the sheet as a page that stands alone; see `planner.output.guests.guests_text`."""
    site = plan.night.site
    return page(
        "guests.html.j2",
        cautions=SAFETY,
        title=guests_title(plan, guests),
        notes=plan.notes,
        looks=[
            (
                span(look.start, look.end, site),
                look.target.name,
                guest_facts(look, site, telescope, ephemeris),
            )
            for look in plan.looks
        ],
    )
