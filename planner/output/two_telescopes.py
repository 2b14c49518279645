"""Writes a plan with two telescopes as text: two columns in 80, the hours running down."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import zip_longest

from planner.model.kit import Train, train_words
from planner.model.plan import Look, Plan
from planner.model.site import Site
from planner.output.appearance.what_to_see import look_for
from planner.output.night_words import (
    grade_word,
    in_field_words,
    latest_start,
    note_words,
    turn_words,
)
from planner.output.text.finding import finding_line
from planner.output.text.plan import entries_in_order, left_out_lines
from planner.output.together_words import pair_facts, together_words
from planner.output.words import SUN_CAUTION, arc, compass, double_date, item, span
from planner.planning.circumstances import Circumstances
from planner.text import WIDTH, fit, wrap
from targets.frozen import frozen

GAP = "  "
COLUMN_WIDTH = (WIDTH - len(GAP)) // 2
REST = "  "
BREAK = "break: warm up, rest the eyes"


@frozen
class Row:
    """What stands side by side: looks of both telescopes that overlap, or a time without a look.

    That of the one observer is ``whole``: it takes both columns.
    """

    cells: tuple[Look | str, Look | str]
    whole: bool = False


def plan_of_two_text(
    plan: Plan, *, circumstances: tuple[Circumstances, Circumstances], session: str
) -> str:
    """Write a plan with two telescopes.

    Parameters
    ----------
    plan : Plan
    circumstances : (Circumstances, Circumstances)
        Of each telescope.
    session : str
        A clause that says how its start and end were found.

    Returns
    -------
    str
        Lines of at most 80 cells; apart from the user's own names plain ASCII.
    """
    site = plan.night.site
    facts = pair_facts(plan, circumstances[0])
    facts.append(("Session", f"{span(plan.start, plan.end, site)}, {session}"))
    lines = [double_date(plan.night.date), *(one for fact in facts for one in item(*fact))]
    lines += [line for note in plan.news for line in item("Note", note)]
    if plan.looks:
        lines += ["", _side_by_side(*(telescope.name for telescope in plan.telescopes))]
        lines.append(_side_by_side("-" * COLUMN_WIDTH, "-" * COLUMN_WIDTH))
    for row in rows_of(plan):
        if row.whole:
            lines += [str(row.cells[0]), ""]
            continue
        cells = [_cell(cell, site) for cell in row.cells]
        lines += [*(_side_by_side(*pair) for pair in zip_longest(*cells, fillvalue="")), ""]
    lines += [*left_out_lines(plan.left_out)[1:], "", *wrap(SUN_CAUTION)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def rows_of(plan: Plan) -> Iterator[Row]:
    """Return looks and breaks in order of time; what overlaps through both is one row."""
    waiting: _Placed | None = None
    for cell in _cells_in_order(plan):
        if waiting is not None and _go_together(waiting, cell):
            yield _row(waiting, cell)
            waiting = None
            continue
        if waiting is not None:
            yield _row(waiting)
        waiting = cell
    if waiting is not None:
        yield _row(waiting)


@frozen
class _Placed:
    """What stands in a column; -1 for both of them."""

    start: datetime
    column: int
    cell: Look | str


def _cells_in_order(plan: Plan) -> list[_Placed]:
    """Return looks, breaks and, of one observer, times without a look."""
    site, first = plan.night.site, plan.telescopes[0].name
    cells = [
        _Placed(look.start, int(look.view.train.telescope.name != first), look)
        for look in plan.looks
    ]
    if plan.observers == 1:
        cells += [
            _Placed(start, -1, f"{span(start, end, site)}  {entry}")
            for start, end, entry in entries_in_order(plan)
            if isinstance(entry, str)
        ]
    else:
        cells += [
            _Placed(start, which, f"{span(start, end, site)}  {BREAK}")
            for (start, end), which in zip(plan.breaks, plan.break_of, strict=True)
        ]
    return sorted(cells, key=lambda one: (one.start, one.column))


def _go_together(one: _Placed, other: _Placed) -> bool:
    """Whether two neighbours in time are of both telescopes, and overlap or compare."""
    if {one.column, other.column} != {0, 1}:
        return False
    before, after = one.cell, other.cell
    if not isinstance(before, Look):
        return False
    same = isinstance(after, Look) and after.target.id == before.target.id
    return same or other.start < before.end


def _row(*cells: _Placed) -> Row:
    beside: list[Look | str] = ["", ""]
    for one in cells:
        beside[max(one.column, 0)] = one.cell
    return Row((beside[0], beside[1]), cells[0].column < 0)


def _side_by_side(left: str, right: str) -> str:
    return f"{fit(left, COLUMN_WIDTH)}{GAP}{fit(right, COLUMN_WIDTH)}" if right else left


def _cell(cell: Look | str, site: Site) -> list[str]:
    """Write a look for its column."""
    if isinstance(cell, str):
        return _wrapped([cell]) if cell else []
    look, train = cell, cell.view.train
    wait = f"  can wait until {latest_start(look.slack, site, look.start)}" if look.slack else ""
    found = finding_line(look.finding) if look.finding else ""
    shown = bool(look.together and look.together.found_in)
    return [
        fit(f"{span(look.start, look.end, site)}{wait}", COLUMN_WIDTH),
        fit(look.target.name, COLUMN_WIDTH),
        *_wrapped(
            [
                f"{look.target.kind}, {look.altitude_deg:.0f} deg {compass(look.azimuth_deg)}",
                train_words(train),
                _optics(train, look),
                *together_words(look.together, site),
                *([f"find: {found}"] if found and not shown else []),
                turn_words(look.views),
                *([f"look for: {', '.join(facts)}"] if (facts := look_for(look, site)) else []),
                in_field_words(look),
                look.memory,
                note_words(look.notes, site),
            ]
        ),
    ]


def _optics(train: Train, look: Look) -> str:
    about = "" if train.true_field_is_exact else "~"
    field = f"{about}{arc(train.true_field_arcmin)} field"
    return f"{train.magnification:.0f}x, {field}, {grade_word(look.view.grade)}"


def _wrapped(clauses: Sequence[str]) -> list[str]:
    return [
        line for clause in clauses if clause for line in wrap(clause, width=COLUMN_WIDTH, rest=REST)
    ]
