"""One of a list, or a number of minutes, or yes."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.app import ComposeResult

from planner.text import cell_width, cut, fit, wrap
from tui.modals.asking import Asking
from tui.pages.least_size import hidden_words
from tui.widgets.lines import Lines

# Lines of a list that fit a small screen.
MOST_SHOWN = 14
LINE_CELLS = 72
# What frame and gaps take of the screen's width, and what stands around a list at most.
FRAME_CELLS, OTHER_ROWS = 6, 10


class ChoiceScreen(Asking[int]):
    """Choose one of several lines: the answer is its number, from 0.

    Parameters
    ----------
    options : sequence of str
        A line each.
    hint : str
        Below the list; in its place where it is empty.
    """

    def __init__(self, title: str, options: Sequence[str], hint: str = "") -> None:
        super().__init__()
        self.title_text, self._options, self._hint = title, tuple(options), hint
        self._at, self._typed = 0, ""

    def body(self) -> tuple[Sequence[str], range | None]:
        """Show a part of the list around the one that is chosen."""
        cells = min(LINE_CELLS, self.app.size.width - FRAME_CELLS)
        if not self._options:
            hint = wrap(self._hint or "There is nothing to choose from.", width=cells)
            return [*hint, "", "Enter, Esc back"], None
        most = max(min(MOST_SHOWN, self.app.size.height - OTHER_ROWS), 3)
        first = max(0, min(self._at - most // 2, len(self._options) - most))
        shown = self._options[first : first + most]
        lines = [
            f"{'>' if k == self._at else ' '}{k + 1:>3}  {cut(words, cells - 6)}"
            for k, words in enumerate(shown, start=first)
        ]
        place = self._at - first + 2
        hint = [self._hint] if self._hint else []
        first_line, *rest = wrap(self._options[self._at], width=cells)
        whole = [first_line, *([cut(" ".join(rest), cells)] if rest else [])]
        hidden = hidden_words(first, len(self._options) - first - len(shown))
        more = f"      {hidden}" if hidden else ""
        tail = [more, *whole, "", *hint, "Up, Down, a number; Enter takes it; Esc back"]
        return [*lines, *tail], range(place, place + 1)

    def press(self, key: str, character: str | None) -> bool:
        """Move, choose by number, or take."""
        if not self._options:
            if key == "enter":
                self.answer(None)
            return key == "enter"
        if key in {"up", "down"}:
            self._at = (self._at + (1 if key == "down" else -1)) % len(self._options)
        elif key == "enter":
            self.answer(self._at)
            return True
        elif not self._type(character or ""):
            return False
        if not (character or "").isdigit():
            self._typed = ""
        self.redraw()
        return True

    def _type(self, character: str) -> bool:
        """Choose by number: two digits one after the other are one number where there is one."""
        for typed in (self._typed + character, character):
            if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(self._options):
                self._typed, self._at = typed, int(typed) - 1
                return True
        return False


class MinutesScreen(Asking[int]):
    """How many minutes: typed, or what stands there already.

    Parameters
    ----------
    usual : int
        What Enter alone means [min].
    """

    MOST = 240

    def __init__(self, title: str, usual: int) -> None:
        super().__init__()
        self.title_text, self._usual, self._typed, self._said = title, usual, "", ""

    def body(self) -> tuple[Sequence[str], range | None]:
        """Show what is typed."""
        shown = self._typed or str(self._usual)
        return [f"  {shown} min", self._said, "Digits; Enter takes it; Esc back"], None

    def press(self, key: str, character: str | None) -> bool:
        """Type, take back, or take."""
        self._said = ""
        if key == "enter":
            minutes = int(self._typed or self._usual)
            if 1 <= minutes <= self.MOST:
                self.answer(minutes)
                return True
            self._said = f"{minutes} cannot be; allowed is 1 to {self.MOST}."
        elif key == "backspace":
            self._typed = self._typed[:-1]
        elif character and character.isascii() and character.isdigit():
            self._typed = (self._typed + character)[:3]
        else:
            return False
        self.redraw()
        return True


class PagesScreen(Asking[None]):
    """Lines to read, a page at a time, on the whole width of the screen."""

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__()
        self.title_text, self._first = title, 0
        self._told: tuple[str, ...] = tuple(lines)
        self._fitted: tuple[int, tuple[str, ...]] = 0, ()

    def compose(self) -> ComposeResult:
        """Lay out the page without a box."""
        yield Lines(id="body")

    @property
    def _lines(self) -> tuple[str, ...]:
        """The lines as they fit the screen: what is wider goes on below."""
        width = self.app.size.width
        if self._fitted[0] != width:
            parts = (wrap(x, width=width) if cell_width(x) > width else (x,) for x in self._told)
            self._fitted = width, tuple(part for lines in parts for part in lines)
        return self._fitted[1]

    def show_lines(self, lines: Sequence[str]) -> None:
        """Show other lines, from the first on."""
        self._told, self._first, self._fitted = tuple(lines), 0, (0, ())
        self.redraw()

    def body(self) -> tuple[Sequence[str], range | None]:
        """Show as many as the screen holds."""
        room, lines = max(self.app.size.height - 4, 4), self._lines
        shown = lines[self._first : self._first + room]
        more = " Up, Down for more;" if len(lines) > room else ""
        return [*shown, f"{more} Esc back".strip()], None

    def press(self, key: str, character: str | None) -> bool:
        """Turn the page."""
        del character
        room, many = max(self.app.size.height - 6, 4), len(self._lines)
        steps = {"up": -5, "down": 5, "pageup": -room, "pagedown": room, "space": room,
                 "home": -many, "end": many}  # fmt: skip
        if key not in steps:
            return False
        self._first = min(max(self._first + steps[key], 0), max(many - 5, 0))
        self.redraw()
        return True


class SearchScreen(Asking[str]):
    """Find a target by typing its name; the answer is its identity.

    Parameters
    ----------
    find : callable
        Takes what is typed, gives identity and a line for each that goes with it, best first.
    """

    title_text = "Add a target: type a name or number"

    def __init__(self, find: Callable[[str], Sequence[tuple[str, str]]]) -> None:
        super().__init__()
        self._find, self._typed, self._at = find, "", 0
        self._found: Sequence[tuple[str, str]] = ()

    def body(self) -> tuple[Sequence[str], range | None]:
        """Show what is typed and what it finds."""
        lines = [
            f"{'>' if k == self._at else ' '} {fit(words, LINE_CELLS - 2)}"
            for k, (_, words) in enumerate(self._found)
        ]
        none = "Nothing goes by that name." if self._typed and not lines else ""
        place = self._at + 4
        chosen = range(place, place + 1) if lines else None
        return [
            f"  {self._typed}_", "", *(lines or [none]), "", "Up, Down; Enter takes it; Esc back"
        ], chosen  # fmt: skip

    def press(self, key: str, character: str | None) -> bool:
        """Type, move, or take."""
        if key == "enter":
            if self._found:
                self.answer(self._found[self._at][0])
            return True
        if key in {"up", "down"} and self._found:
            self._at = (self._at + (1 if key == "down" else -1)) % len(self._found)
        elif key == "backspace":
            self._type(self._typed[:-1])
        elif character and character.isprintable() and len(self._typed) < 40:
            self._type(self._typed + character)
        else:
            return False
        self.redraw()
        return True

    def _type(self, text: str) -> None:
        self._typed, self._at = text, 0
        self._found = self._find(text) if text.strip() else ()
