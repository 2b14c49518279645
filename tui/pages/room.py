"""How much room the pages need."""

from __future__ import annotations

NARROWEST, LOWEST = 72, 18
TOO_SMALL = f"Too small: {NARROWEST} by {LOWEST} are needed."


def is_too_small(columns: int, rows: int) -> bool:
    """Whether a screen has no room for the pages: then no move is made behind them."""
    return columns < NARROWEST or rows < LOWEST
