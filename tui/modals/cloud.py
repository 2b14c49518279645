"""Where cloud stands: a small map of the sky to choose a part from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.session.cloud_sectors import ALL_SKY, BANDS, DIRECTIONS, inside
from planner.session.state import Closure, CloudKind
from tui.modals.asking import Asking
from tui.night.answers import CloudChoice

POINTS = tuple(name for name in DIRECTIONS if len(name) <= 2)
HEIGHTS = ("high", "middle", "low")
KINDS = {"s": CloudKind.SOLID, "t": CloudKind.THIN, "h": CloudKind.HAZE}
KIND_WORDS = {
    CloudKind.SOLID: "solid: nothing is seen through it",
    CloudKind.THIN: "thin: faint targets drop out",
    CloudKind.HAZE: "haze: a little light is lost",
}
# Cells of the names of the heights, with their degrees.
LABEL = 13
# The thickest first: it hides what the others only dim.
MARKS = {CloudKind.SOLID: "##", CloudKind.THIN: "//", CloudKind.HAZE: ".."}
# How long a cloud may be expected to stay [min].
STAYS_MIN = (None, 15, 30, 60, 120)
STAY_WORDS = tuple(f"for {m} min" if m else "until further notice" for m in STAYS_MIN)


class CloudScreen(Asking[CloudChoice]):
    """Choose a direction and a height, or half of the sky, or all of it.

    Parameters
    ----------
    closures : sequence of Closure
        What is closed now.
    at : str
        The direction to begin with.
    """

    title_text = "Cloud: which part of the sky?"

    def __init__(self, closures: Sequence[Closure], at: str = "S") -> None:
        super().__init__()
        self._closures = closures
        self._column = POINTS.index(at) if at in POINTS else 0
        self._row = len(HEIGHTS)  # all heights
        self._kind = CloudKind.SOLID
        self._stay = 0

    def body(self) -> tuple[Sequence[str], range | None]:
        """Draw the map: a column for each direction, a row for each height, and one for all."""
        head = " " * LABEL + "".join(f"{point:^6}" for point in POINTS)
        degrees = " " * LABEL + "".join(f"{k * 45:^6}" for k in range(len(POINTS)))
        rows = [self._map_row(name, number) for number, name in enumerate((*HEIGHTS, "all"))]
        return [
            head, degrees, *rows, "",
            "Now closed: ## solid  // thin  .. haze",
            f"This cloud is {KIND_WORDS[self._kind]};",
            f"it stays {STAY_WORDS[self._stay]}.",
            "Left, Right, Up, Down; Enter closes what is in [ ], o opens it;",
            "a all of the sky; half of it: 1 north  2 east  3 south  4 west;",
            "s solid  t thin  h haze  u how long; Esc back",
        ], None  # fmt: skip

    def _map_row(self, name: str, number: int) -> str:
        cells = []
        for column, point in enumerate(POINTS):
            mark = self._mark(point, name)
            chosen = column == self._column and number == self._row
            cells.append(f"[ {mark} ]" if chosen else f"  {mark}  ")
        low, high = BANDS[ALL_SKY if name == "all" else name]
        return f"{f'{name} {low:.0f}-{high:.0f}':<{LABEL}}" + "".join(cells)

    def _mark(self, point: str, band: str) -> str:
        """Show how the middle of a part is closed: by the thickest of what is there."""
        first, last = DIRECTIONS[point]
        azimuth = (first + ((last - first) % 360.0) / 2.0) % 360.0
        if band == "all":
            return "--"
        altitude = sum(BANDS[band]) / 2.0
        place = np.array([azimuth]), np.array([altitude])
        kinds = {closure.kind for closure in self._closures if inside(closure, *place)[0]}
        return next((mark for kind, mark in MARKS.items() if kind in kinds), " .")

    def press(self, key: str, character: str | None) -> bool:
        """Move on the map, say how thick, or close."""
        halves = {"1": "north half", "2": "east half", "3": "south half", "4": "west half"}
        if key in {"left", "right"}:
            self._column = (self._column + (1 if key == "right" else -1)) % len(POINTS)
        elif key in {"up", "down"}:
            self._row = (self._row + (1 if key == "down" else -1)) % (len(HEIGHTS) + 1)
        elif key == "enter":
            band = (*HEIGHTS, ALL_SKY)[self._row]
            return self._close(POINTS[self._column], band)
        elif character == "o":
            return self._close(POINTS[self._column], (*HEIGHTS, ALL_SKY)[self._row], opens=True)
        elif character == "a":
            return self._close(ALL_SKY, ALL_SKY)
        elif character in halves:
            return self._close(halves[character], ALL_SKY)
        elif character == "u":
            self._stay = (self._stay + 1) % len(STAYS_MIN)
        elif character in KINDS:
            self._kind = KINDS[character]
        else:
            return False
        self.redraw()
        return True

    def _close(self, direction: str, band: str, *, opens: bool = False) -> bool:
        stays = STAYS_MIN[self._stay]
        self.answer(CloudChoice(direction, band, self._kind, stays, opens))
        return True
