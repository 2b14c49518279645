"""The page of the night: head, list, the look that is chosen, what has changed; as lines."""

from __future__ import annotations

from datetime import datetime

from planner.session.look_list import LookLine, is_lost
from planner.session.state import Pause
from planner.text import cut
from targets.frozen import frozen
from tui.night.scene import Scene
from tui.pages.rows import (
    detail_lines,
    head_lines,
    large_rows,
    list_head,
    list_rows,
    pause_row,
    rule_line,
    said_lines,
)

LARGE_ROWS = 3


@frozen
class NightLines:
    """Lines, and which of them belong to the look that is chosen."""

    lines: tuple[str, ...]
    chosen: range


def night_page(
    scene: Scene, chosen: LookLine | None, now: datetime, *, columns: int, rows: int, is_large: bool
) -> NightLines:
    """Lay the night out.

    Parameters
    ----------
    chosen : LookLine or None
        The look under the cursor.
    now : datetime
        Aware.
    columns, rows : int
        Room in cells.
    is_large : bool
        Whether the list is in large print.
    """
    head = head_lines(scene, now, columns)
    head += [] if is_large else [list_head(columns)]
    detail = [cut(line, columns) for line in detail_lines(chosen, scene, now)]
    said = said_lines(scene, columns)
    room = rows - len(head) - 1 - len(detail) - len(said)
    items = _items(scene, now)
    shown = _shown(items, chosen, max(room // (LARGE_ROWS if is_large else 1), 1))
    lines: list[str] = []
    marked = range(0)
    for item in items[shown.start : shown.stop]:
        drawn = _drawn(item, scene, columns, now=now, is_chosen=item is chosen, is_large=is_large)
        if item is chosen:
            marked = range(len(head) + len(lines), len(head) + len(lines) + min(len(drawn), 2))
        lines += drawn
    hidden = items[: shown.start], items[shown.stop :]
    above, below = (sum(isinstance(item, LookLine) for item in part) for part in hidden)
    lines += [""] * (room - len(lines))
    rule = rule_line(columns, above=above, below=below)
    return NightLines((*head, *lines, rule, *detail, *said), marked)


def _items(scene: Scene, now: datetime) -> list[LookLine | Pause]:
    """Put looks, and pauses that are not over, in order of time, what is lost last."""
    pauses = (pause for pause in scene.state.pauses if pause.end > now)
    items: list[LookLine | Pause] = [*scene.lines, *pauses]
    return sorted(items, key=_start)


def _start(item: LookLine | Pause) -> tuple[bool, datetime, bool]:
    if isinstance(item, Pause):
        return False, item.start, False
    return is_lost(item.look), item.look.start, True


def _shown(items: list[LookLine | Pause], chosen: LookLine | None, fit: int) -> range:
    """Tell which are shown: as many as fit, around the one that is chosen."""
    at = next((k for k, item in enumerate(items) if item is chosen), 0)
    first = max(0, min(at - fit // 2, len(items) - fit))
    return range(first, min(first + fit, len(items)))


def _drawn(
    item: LookLine | Pause,
    scene: Scene,
    columns: int,
    *,
    now: datetime,
    is_chosen: bool,
    is_large: bool,
) -> list[str]:
    if isinstance(item, Pause):
        row = pause_row(item, scene, columns)
        return [row, *[""] * (LARGE_ROWS - 1)] if is_large else [row]
    draw = large_rows if is_large else list_rows
    return draw(item, scene, columns, now, chosen=is_chosen)
