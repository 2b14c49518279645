"""How much room the pages need."""

from __future__ import annotations

NARROWEST, LOWEST = 72, 18
TOO_SMALL = f"Too small: {NARROWEST} by {LOWEST} are needed."


def is_too_small(columns: int, rows: int) -> bool:
    """Whether a screen has no room for the pages: then no move is made behind them."""
    return columns < NARROWEST or rows < LOWEST


def hidden_words(above: int, below: int) -> str:
    """Say how many lines of a list do not fit above and below; nothing when all do."""
    hidden = ((above, "above"), (below, "below"))
    return ", ".join(f"{many} more {where}" for many, where in hidden if many)
