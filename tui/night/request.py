"""What is to be opened."""

from __future__ import annotations

from datetime import date

from planner.request.options import Surroundings
from targets.frozen import frozen


@frozen
class Request:
    """What is to be opened: the surroundings, and what options name."""

    surroundings: Surroundings
    config: str | None = None
    site: str | None = None
    telescope: str | None = None
    evening: date | None = None
