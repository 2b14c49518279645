"""How long a plan takes, where the time goes, and how much memory it needs.

Run ``pytest -m benchmark -s tests/benchmarks/test_bench_planning.py`` to see the figures.
"""

from __future__ import annotations

import cProfile
import json
import pstats
import subprocess
import sys
from datetime import date, timedelta
from time import perf_counter

import pytest

from planner.config.conditions import conditions_tonight
from planner.config.preferences import default_preferences
from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from targets.catalogue.catalogue import load_catalogue

MOST_MEMORY_MB = 300.0
STAGES = (
    "shortlist",
    "survey_roster",
    "find_windows",
    "sky_behind",
    "rate_trains",
    "order_looks",
    "_looks",
    "omissions",
)
# What a person does who plans a night: nothing of the test suite is loaded.
ONE_PLAN = """
import json
from datetime import date, timedelta
from time import perf_counter
def peak_mb():  # its own; what getrusage tells counts the program that started it too
    lines = open("/proc/self/status", encoding="ascii").read().splitlines()
    return next(int(line.split()[1]) / 1000.0 for line in lines if line.startswith("VmHWM"))

begun = perf_counter()
from planner.ephemeris.almanac import find_night
from planner.config.conditions import conditions_tonight
from planner.ephemeris.kernel import load_ephemeris
from planner.planning.plan import plan_night
from planner.planning.circumstances import Wishes
from planner.config.preferences import default_preferences
from planner.config.settings import example_settings
from planner.planning.circumstances import Circumstances
from planner.matcher.trains import make_trains
from planner.matcher.train_table import tabulate_trains
from targets.catalogue.catalogue import load_catalogue
imported = perf_counter()
settings = example_settings(today=date(2026, 3, 1))
site, telescope = settings.sites[0], settings.kit.telescopes[0]
catalogue, ephemeris = load_catalogue(), load_ephemeris()
loaded = perf_counter()
night = find_night(ephemeris, site, date(2026, 12, 8))
plan = plan_night(
    catalogue, ephemeris, night,
    start=night.civil_dusk, end=night.civil_dusk + timedelta(hours=14),
    circumstances=Circumstances(
        settings.observer, telescope, tabulate_trains(make_trains(telescope, settings.kit)),
        conditions_tonight(site, settings.observer), default_preferences(),
    ),
    wishes=Wishes(),
)
print(json.dumps({
    "peak_mb": peak_mb(),
    "looks": len(plan.looks),
    "import_s": imported - begun, "load_s": loaded - imported, "plan_s": perf_counter() - loaded,
}))
"""


@pytest.mark.benchmark
@pytest.mark.skipif(sys.platform != "linux", reason="the unit of the peak differs elsewhere")
def test_a_plan_in_a_fresh_process_stays_small() -> None:
    """The longest night, from the start of Python to the plan, in less than 300 MB."""
    done = subprocess.run([sys.executable, "-c", ONE_PLAN], capture_output=True, check=True)
    told = json.loads(done.stdout)
    print(
        f"\nfresh process, 14 h: peak {told['peak_mb']:.0f} MB, imports {told['import_s']:.2f} s,"
        f" catalogue and ephemeris {told['load_s']:.2f} s, plan {told['plan_s']:.2f} s,"
        f" {told['looks']} looks"
    )
    assert told["looks"] > 0
    assert told["peak_mb"] < MOST_MEMORY_MB


@pytest.mark.benchmark
@pytest.mark.parametrize("hours", [0.25, 4.0, 14.0])
def test_where_the_time_of_a_plan_goes(hours: float) -> None:
    """Prints the stages; the profiler makes each somewhat slower than it is."""
    settings = example_settings(today=date(2026, 3, 1))
    site, telescope = settings.sites[0], settings.kit.telescopes[0]
    catalogue, ephemeris = load_catalogue(), load_ephemeris()
    circumstances = Circumstances(
        settings.observer,
        telescope,
        tabulate_trains(make_trains(telescope, settings.kit)),
        conditions_tonight(site, settings.observer),
        default_preferences(),
    )
    night = find_night(ephemeris, site, date(2026, 12, 8))
    start = night.start + timedelta(hours=5)

    def plan() -> int:
        found = plan_night(
            catalogue,
            ephemeris,
            night,
            start=start,
            end=start + timedelta(hours=hours),
            circumstances=circumstances,
            wishes=Wishes(),
        )
        return len(found.looks)

    plan()
    begun = perf_counter()
    looks = plan()
    whole_s = perf_counter() - begun
    profile = cProfile.Profile()
    profile.runcall(plan)
    spent = {name: entry[3] for (_, _, name), entry in pstats.Stats(profile).stats.items()}  # type: ignore[attr-defined]
    print(f"\n{hours:g} h: {looks} looks in {whole_s * 1e3:.0f} ms; under the profiler, in ms:")
    print("  " + ", ".join(f"{name} {spent.get(name, 0.0) * 1e3:.0f}" for name in STAGES))
    assert looks > 0
