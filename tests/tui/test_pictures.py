"""Whole screens as they were when a person last looked at them: what moved shows in the difference.

These are drift tests: they tell that a screen has changed, not that it is right. Delete a picture
to have it drawn anew by the next run, and look at it before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tui.app import NightApp

PICTURES = Path(__file__).parent / "pictures"
# What should be seen, and the keys that lead there from dusk on a moonless December evening.
SCREENS = {
    # Both clocks, twilight, the Moon; looks in time order, the first one next and marked; under the
    # line how long Saturn could wait; no cloud, nothing skipped; the keys at the foot.
    "night": [],
    # The west is closed, and said to be: what stands there is shut, what is new in the east is
    # told, a break has an end, the looks below the screen are counted.
    "west-closed": ["c", "4"],
    # A round field with Saturn small in its middle, N and E on its rim as a telescope with two
    # mirrors shows them, numbers and reasons beside it; its altitude sinks below the line of 30.
    "saturn-in-hand": [*["down"] * 6, "enter"],
    # Three bands of altitude by eight directions, the east half shaded, the cursor below the west,
    # where the chosen look stands.
    "cloud-map": ["c", "2", "c"],
    # Outcome and rating known, seeing asked for.
    "log": ["d", "s", "4"],
}


@pytest.mark.parametrize("name", SCREENS)
def test_the_screen_looks_as_it_did(
    evening: Any, press: Any, shown: Callable[[NightApp], str], name: str
) -> None:
    """Line by line, at 80 by 24; blanks at the ends of lines do not count."""
    path = PICTURES / f"{name}.txt"

    async def story(pilot: Any, app: NightApp) -> None:
        await press(pilot, app, *SCREENS[name])
        lines = [line.rstrip() for line in shown(app).splitlines()]
        if not path.exists():
            path.write_text("\n".join(lines) + "\n", "utf-8")
            pytest.fail(f"{path.name} was drawn anew: look at it, then run this again")
        assert lines == path.read_text("utf-8").splitlines()

    evening.tell(story)
