"""A screen that is painted once for all that a key brings about, and at once."""

from __future__ import annotations

from typing import TypeVar

from textual import events
from textual.await_remove import AwaitRemove
from textual.geometry import Region, Size
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget

from tui.widgets.lines import letters_of, painted_row

Answer = TypeVar("Answer")

# A part that does not say what it wants is waited for so many beats at most.
MOST_BEATS = 5


class PromptScreen(Screen[Answer]):
    """A screen whose parts have all said what they want painted before it is painted.

    The toolkit paints while it lays out, again when the parts know their places, and once more
    since the screen is on top; each time it waits for its next beat. Here a paint that is due
    waits for the parts, some beats at most, and then for nothing. It covers what is below.
    """

    _is_laying_out = _is_due = False
    _beats_waited = 0
    _drawn_for: Size | None = None

    def redraw(self) -> None:
        """Show all as it stands."""
        raise NotImplementedError

    def on_mount(self) -> None:
        """Show all for the first time."""
        self._drawn_for = self.app.size
        self.redraw()

    def on_resize(self) -> None:
        """Lay all out anew; the first layout tells the screen a size that it is drawn for."""
        if self._drawn_for != self.app.size:
            self._drawn_for = self.app.size
            self.redraw()

    def on_screen_resume(self, event: events.ScreenResume) -> None:
        """Keep the styles: the parts have them from the start, and get others with a new face."""
        event.refresh_styles = False

    def remove(self) -> AwaitRemove:
        """Leave; the screen below is laid out as it was, which the toolkit would do anew."""
        return self.app._prune(self)  # noqa: SLF001  # as the toolkit does, but for a parent

    def render_lines(self, crop: Region) -> list[Strip]:
        """Paint the ground behind the parts."""
        return [painted_row((), crop.width, letters_of(self), "", "")] * crop.height

    def _screen_resized(self, size: Size) -> None:
        if size != self._compositor.size:  # else it is the screen's own layout that tells it
            super()._screen_resized(size)

    def _refresh_layout(self, size: Size | None = None, scroll: bool = False) -> None:  # noqa: FBT001, FBT002
        self._is_laying_out = True
        try:
            super()._refresh_layout(size, scroll)
        finally:
            self._is_laying_out = False

    def _compositor_refresh(self) -> None:
        if not self._is_on_top():
            self._compositor._dirty_regions.clear()  # noqa: SLF001  # all is painted when it is on top again
            self._dirty_widgets.clear()
        elif self._is_laying_out or self.app._batch_count:  # noqa: SLF001
            self._is_due = True
            self.check_idle()
        else:
            self._is_due = False
            super()._compositor_refresh()

    async def _on_idle(self, event: events.Idle) -> None:
        """Paint what is due, once all parts have said what they want."""
        wants = self._is_due or self._layout_required or self._repaint_required
        if not self._is_on_top() or not (wants or self._dirty_widgets):
            return
        if self._is_awaited() or self.app._batch_count or self.app.message_queue_size:  # noqa: SLF001
            event.prevent_default()
            self._update_timer.resume()
        else:
            self._on_timer_update()

    def _on_timer_update(self) -> None:
        self._beats_waited += 1
        if self._is_awaited() and self._beats_waited < MOST_BEATS:
            return
        self._beats_waited = 0
        super()._on_timer_update()
        if self._is_due and self._is_on_top():
            self._compositor_refresh()

    def _is_on_top(self) -> bool:
        return self.app.screen_stack[-1:] == [self]

    def _is_awaited(self) -> bool:
        """Whether a part has yet to say what it wants painted."""
        return any(
            part._layout_required or part._repaint_required or part.message_queue_size  # noqa: SLF001
            for part in self.walk_children(Widget)
        )
