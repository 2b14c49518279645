"""Says in a few words why a look has its place in the order."""

from __future__ import annotations

from planner.model.plan import Hurry
from planner.model.site import Site
from planner.output.words import clock

# A look that cannot wait longer than this is told to be the last chance [min].
LAST_CHANCE_MIN = 15.0
# A loss in half an hour that is worth a word.
TOLD_LOSS = 0.1


def hurry_words(hurry: Hurry, site: Site) -> str:
    """Give a clause: ``now or never: sinks below 20 deg at 19:12``; ``40 min to spare``.

    What comes back in the same session is not the last chance: ``nears the zenith at 17:52, back
    at 19:15``.

    Parameters
    ----------
    hurry : Hurry
        Of the look.
    site : Site
        Whose clocks are meant.
    """
    spare = f"{hurry.slack_min:.0f} min to spare"
    if hurry.closes is not None:
        told = f"{hurry.cause} at {clock(hurry.closes, site)}"
        if hurry.opens_again is not None:
            told += f", back at {clock(hurry.opens_again, site)}"
        urgent = hurry.slack_min <= LAST_CHANCE_MIN
        if urgent and hurry.opens_again is not None:
            return told
        return f"{'now or never' if urgent else spare}: {told}"
    if hurry.loss >= TOLD_LOSS:
        return f"{spare}, but {hurry.loss:.0%} less in half an hour"
    return spare
