"""A plan with two telescopes as a page: a column for each, the hours running down."""

from __future__ import annotations

from typing import Any

from planner.ephemeris.kernel import Ephemeris
from planner.model.plan import Look, Plan
from planner.output.drawing.finding import sketch_ways
from planner.output.drawing.marks import FieldDrawing
from planner.output.pages.html import look_drawing, look_entry, plan_values, session_fact
from planner.output.pages.page import page
from planner.output.together_words import pair_facts
from planner.output.two_telescopes import rows_of
from planner.planning.circumstances import Circumstances

# Drawings on paper are the smaller the more rows there are: up to so many rows, [mm], [pt].
PRINT_SIZES = ((10, 24, 10.0), (16, 20, 9.0), (100, 15, 8.5))


def plan_of_two_html(
    plan: Plan,
    circumstances: tuple[Circumstances, Circumstances],
    ephemeris: Ephemeris,
    *,
    session: str,
) -> str:
    """Write a plan with two telescopes as a page, as `planner.output.pages.html.plan_html` does.

    Parameters
    ----------
    plan : Plan
    circumstances : (Circumstances, Circumstances)
        Of each telescope.
    ephemeris : Ephemeris
    session : str
        A clause that says how its start and end were found.
    """
    site = plan.night.site
    facts = pair_facts(plan, circumstances[0])
    facts.append(session_fact(plan, session))
    drawn = _drawn(plan, circumstances, ephemeris)
    names = [telescope.name for telescope in plan.telescopes]
    numbers = {id(look): number for number, look in enumerate(plan.looks, start=1)}
    rows: list[dict[str, Any]] = []
    for row in rows_of(plan):
        cells = [
            {"number": numbers[id(cell)], **look_entry(cell, *drawn[id(cell)], site)}
            if isinstance(cell, Look)
            else {"number": 0, "words": cell.replace("--", "").strip()}
            for cell in row.cells
        ]
        rows.append({"whole": row.whole, "cells": list(zip(names, cells, strict=True))})
    return page(
        "two_telescopes.html.j2",
        **plan_values(plan, ephemeris, [field for field, _ in drawn.values()]),
        facts=facts,
        names=names,
        rows=rows,
        print_size=next((mm, pt) for most, mm, pt in PRINT_SIZES if len(rows) <= most),
    )


def _drawn(
    plan: Plan, circumstances: tuple[Circumstances, Circumstances], ephemeris: Ephemeris
) -> dict[int, tuple[FieldDrawing, FieldDrawing | None]]:
    """Draw the field of each look and the way to it, by the look."""
    found: dict[int, tuple[FieldDrawing, FieldDrawing | None]] = {}
    for one in circumstances:
        name = one.telescope.name
        looks = [look for look in plan.looks if look.view.train.telescope.name == name]
        ways = sketch_ways(looks, ephemeris, plan.night, one)
        for look, way in zip(looks, ways, strict=True):
            shown = look.together is not None and look.together.found_in
            field = look_drawing(look, one, ephemeris, plan.night.site)
            found[id(look)] = field, None if shown else way
    return found
