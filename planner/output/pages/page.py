"""Fills the templates: every page stands alone and needs nothing else."""

from __future__ import annotations

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from planner.output.words import SUN_CAUTION

DARK_CAUTION = (
    "In the dark: know where steps, cables and tripod legs are, dress for standing still, tell "
    "somebody where you are. Where local rules say more, they come first."
)


def page(
    template: str, *, cautions: tuple[str, ...] = (SUN_CAUTION, DARK_CAUTION), **values: Any
) -> str:
    """Return a page: HTML without a script and without anything that is loaded from elsewhere.

    On paper it is black on white; on a screen deep red on black until the reader asks for the day
    face.
    """
    return _environment().get_template(template).render(cautions=cautions, **values)


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("planner.output.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
