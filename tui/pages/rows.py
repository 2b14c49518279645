"""The lines of the night's list and of its head, as text; pure functions of what they show."""

from __future__ import annotations

from datetime import UTC, datetime

from planner.model.kit import FilterKind, train_words
from planner.model.plan import Grade
from planner.output.words import clock, compass, double_date
from planner.session.clock import TAKEN_AS_DONE
from planner.session.look_list import (
    LookLine,
    Present,
    darkness_words,
    moon_words,
    present_of,
)
from planner.session.night import key_words
from planner.session.state import Pause, PauseKind, Status
from planner.session.words import cloud_words
from planner.text import cell_width, cut, fit, wrap
from targets.frozen import frozen
from tui.night.scene import Scene
from tui.pages.least_size import hidden_words

# What is still to be said of a look.
REASONS = {
    TAKEN_AS_DONE: "over for long, taken as done: d says what came of it",
    "vetoed": "kept out for tonight",
}
# Of what is over it is told what came of it, not how easily it would be seen.
OVER = {Status.DONE, Status.SKIPPED}
# Lines of what has changed.
MOST_SAID = 4
# In the place of a grade that must not be known before the look.
LESSON = "you?"
SHORT_GRADES = {Grade.VERY_HARD: "v.hard", Grade.UNLIKELY: "unlik.", Grade.UNKNOWN: "?"}
SHORT_KINDS = {
    "open cluster": "open cl", "globular cluster": "globular", "planetary nebula": "planetary",
    "emission nebula": "emission", "reflection nebula": "reflectn", "supernova remnant": "remnant",
    "dark nebula": "dark neb", "double star": "double", "galaxy group": "gx group",
    "star cloud": "st cloud", "lunar feature": "lunar",
}  # fmt: skip


@frozen
class Widths:
    """Cells of each column; what is left goes to target, kind and eyepiece."""

    target: int
    kind: int
    train: int


SHORT_FILTERS = {
    FilterKind.BROADBAND: "BB", FilterKind.NARROWBAND: "NB", FilterKind.OIII: "OIII",
    FilterKind.HBETA: "Hb", FilterKind.NEUTRAL: "grey", FilterKind.COLOUR: "col",
}  # fmt: skip
# Room in which kinds need not be shortened.
LONG_KINDS = 12
# Cells that the other columns and the gaps take.
FIXED = 38


def widths_for(columns: int) -> Widths:
    """Share a screen's cells among the columns."""
    free = columns - FIXED
    kind = 9 if free < 60 else 18
    train = max(14, (free - kind) * 9 // 20)
    return Widths(target=free - kind - train, kind=kind, train=train)


def status_word(line: LookLine) -> str:
    """Say what has become of a look in four letters: colour alone tells nothing."""
    if line.is_shut:
        return "shut"
    if line.is_next:
        return "next"
    return {
        Status.WAITING: "wait",
        Status.NOW: "NOW",
        Status.DONE: "d?" if line.look.reason == TAKEN_AS_DONE else "done",
        Status.SKIPPED: "skip",
        Status.LOST: "lost",
    }[line.look.status]


def list_head(columns: int) -> str:
    """Return the heads of the columns."""
    widths = widths_for(columns)
    head = f"      time  {fit('target', widths.target)} {fit('kind', widths.kind)} "
    return f"{head}{fit('eyepiece', widths.train)}power fill up at  seen"[:columns]


def list_rows(
    line: LookLine, scene: Scene, columns: int, now: datetime, *, chosen: bool
) -> list[str]:
    """Return a look in usual print: on one line."""
    widths, site = widths_for(columns), scene.night.night.site
    power = f"{line.train.magnification:.0f}x" if line.train else "?"
    fills = "" if line.fill is None else f"{min(line.fill, 9.99):.0%}"
    present = present_of(scene.night, line.look, now)
    altitude_deg, azimuth_deg = _place(line, present)
    grade = LESSON if line.is_lesson else SHORT_GRADES.get(line.grade, line.grade)
    if line.look.status in OVER:
        grade = scene.outcomes.get(line.look.target_id, "")
    shows = f"{fills:>4} {altitude_deg:>2.0f} {_point(azimuth_deg):<3} {grade}"
    shows = present.words if present and present.is_over else shows
    kind: str = line.target.kind
    kind = SHORT_KINDS.get(kind, kind) if widths.kind < LONG_KINDS else kind
    when = clock(line.look.start, site)
    # A time that comes twice names its zone; the name gives way, so that columns stay.
    name = fit(line.look.name, widths.target + len("00:00") - len(when))
    row = (
        f"{'>' if chosen else ' '}{status_word(line):<4} {when} {name} {fit(kind, widths.kind)} "
        f"{fit(_train(line, widths.train), widths.train)} {power:>4} {shows}"
    )
    return [fit(row, columns)]


def _place(line: LookLine, present: Present | None) -> tuple[float, float]:
    """Return altitude and azimuth [deg]: of this minute while it is looked at."""
    where = present or line
    return where.altitude_deg, where.azimuth_deg


def large_rows(
    line: LookLine, scene: Scene, columns: int, now: datetime, *, chosen: bool
) -> list[str]:
    """Return a look in large print: two lines of spaced letters, and a blank one."""
    present = present_of(scene.night, line.look, now)
    altitude_deg, azimuth_deg = _place(line, present)
    left = f" {present.words}" if present else ""
    site = scene.night.night.site
    mark, when = ">" if chosen else " ", clock(line.look.start, site)
    first = f"{mark} {status_word(line)} {when} {line.look.name}"
    power = f"{line.train.magnification:.0f}x" if line.train else ""
    second = (
        f"    {_train(line, columns)} {power} {altitude_deg:.0f} up {_point(azimuth_deg)}{left}"
    )
    return [spaced(first, columns), spaced(second, columns), " " * columns]


def spaced(text: str, columns: int) -> str:
    """Set a blank after each letter where that fits, else leave the text as it is."""
    wide = " ".join(text.upper())
    return fit(wide if len(wide) <= columns else text.upper(), columns)


def _pieces(line: str, columns: int) -> list[str]:
    """Break a line that is too wide, as with a long path in it, anywhere."""
    pieces = [""]
    for letter in line:
        if cell_width(pieces[-1] + letter) > columns:
            pieces.append("  ")
        pieces[-1] += letter
    return pieces


def detail_lines(line: LookLine | None, scene: Scene, now: datetime) -> list[str]:
    """Say what more there is of the chosen look, on two lines."""
    if line is None:
        return ["Nothing is planned. a adds a target, n tells what is best now.", ""]
    present = present_of(scene.night, line.look, now)
    end = clock(line.look.due if present else line.look.end, scene.night.night.site)
    altitude_deg, azimuth_deg = _place(line, present)
    where = f"{compass(azimuth_deg)}, {altitude_deg:.0f} deg up"
    where += f", {present.words}" if present else ""
    train = train_words(line.train) if line.train else key_words(line.look.train)
    chosen = " (your choice)" if line.look.chosen else ""
    span = f"until {end}"
    if line.look.status in {Status.SKIPPED, Status.LOST}:
        span = f"was planned {clock(line.look.start, scene.night.night.site)}-{end}"
    what = f"{line.look.name} {span}, {where}"
    reason = REASONS.get(line.look.reason, line.look.reason) or line.spare
    return [what, "; ".join(part for part in (f"{train}{chosen}", reason) if part)]


def head_lines(scene: Scene, now: datetime, columns: int) -> list[str]:
    """Return what stands above the list, in two lines."""
    night, state = scene.night.night, scene.state
    local = now.astimezone(night.site.zone)
    focuser = key_words(state.focuser) if state.focuser else "nothing yet"
    left = f"{double_date(night.date)}  {night.site.name}"
    right = f"{local:%H:%M} {local:%Z}   {now.astimezone(UTC):%H:%M} UT"
    first = f"{fit(left, max(columns - len(right) - 2, 8))}  {right}"
    moon, only = moon_words(scene.night, now), "READ ONLY; " if scene.read_only else ""
    start = f"{_first_news(scene, now)}{only}{darkness_words(night, now)}"
    # What fits: the Moon's times give way first, then the Moon.
    ends = [
        f"{start}; {moon}; in the focuser: {focuser}",
        f"{start}; {moon}; in: {focuser}",
        f"{start}; {moon.split(',')[0]}; in: {focuser}",
        f"{start}; in: {focuser}",
    ]
    second = next((words for words in ends if cell_width(words) <= columns), ends[-1])
    return [fit(first, columns), fit(second, columns)]


def _first_news(scene: Scene, now: datetime) -> str:
    """Say first what wants a key: a look that is over, a session that has ended."""
    state = scene.state
    present = present_of(scene.night, state.now, now) if state.now else None
    if present is not None and present.is_over:
        return f"{present.words}; "
    is_over = state.now is None and state.end <= now < scene.night.end
    return f"ended {clock(state.end, scene.night.night.site)}: t goes on; " if is_over else ""


def clock_line(line: LookLine, scene: Scene, now: datetime, columns: int) -> str:
    """Return the time, what is left of a look, and what comes next; for the page of a target."""
    site, state, look = scene.night.night.site, scene.state, line.look
    present = present_of(scene.night, look, now)
    begins = f"begins {clock(look.start, site)}" if look.status is Status.WAITING else look.status
    told = [f"{now.astimezone(site.zone):%H:%M}"]
    if present is not None:
        told.append(f"{present.altitude_deg:.0f} deg up, {compass(present.azimuth_deg)}")
    told.append(present.words if present else begins)
    following = next((x for x in state.waiting if x.target_id != look.target_id), None)
    if state.now is not None and state.now.target_id != look.target_id:
        over = present_of(scene.night, state.now, now)
        told.append(f"now: {state.now.name}" + (f", {over.words}" if over else ""))
    if following is not None:
        told.append(f"next {clock(following.start, site)}: {following.name}")
    return fit("   ".join(told), columns)


def pause_row(pause: Pause, scene: Scene, columns: int) -> str:
    """Return a break, or a time that was lost, on one line."""
    site = scene.night.night.site
    word = "break" if pause.kind is PauseKind.BREAK else "late"
    return fit(
        f"      {clock(pause.start, site)} -- {word} until {clock(pause.end, site)}", columns
    )


def rule_line(columns: int, *, above: int, below: int) -> str:
    """Return the line under the list; it tells how many looks do not fit above and below."""
    hidden = hidden_words(above, below)
    told = f"-- {hidden} " if hidden else ""
    return f"{told:-<{columns}}"


def said_lines(scene: Scene, columns: int, *, most: int = MOST_SAID) -> list[str]:
    """Say what has changed, and what part of the sky is closed; on a few lines at most."""
    said = [words for words in (scene.warning, *scene.words) if words]
    told = [
        piece
        for words in said
        for line in wrap(words, width=columns, first="* ", rest="  ")
        for piece in _pieces(line, columns)
    ]
    closed = "; ".join(cloud_words(scene.night, closure) for closure in scene.state.closures)
    is_told = not closed or closed in " ".join(" ".join(told[:most]).split())
    cloud = [] if is_told else [cut(f"Cloud: {closed} (o opens)", columns)]
    room = most - len(cloud)
    if len(told) > room:
        start, rest = told[room - 1][:2], told[room - 1][2:]
        words = wrap(rest, width=columns - 4, first=start)[0]
        told[room - 1] = _pieces(words, columns - 4)[0] + " ..."
    return told[:room] + cloud


def _train(line: LookLine, width: int) -> str:
    """Name a train; where it does not fit, its extras in short: ``12 mm 60 +2x +OIII``."""
    if line.train is None:
        return key_words(line.look.train)
    words, train = train_words(line.train), line.train
    if len(words) <= width:
        return words
    amplifier = f" +{train.amplifier.factor:g}x" if train.amplifier else ""
    filter_ = f" +{SHORT_FILTERS[train.filter.kind]}" if train.filter else ""
    return f"{train.eyepiece.name}{amplifier}{filter_}"


def _point(azimuth_deg: float) -> str:
    return compass(azimuth_deg).split()[0]
