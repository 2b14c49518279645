"""Sessions of real nights, as the ordering sees them: seasons, both hemispheres, kits, Moon.

Sites and kits are invented or plain geography.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.config.conditions import conditions_tonight
from planner.config.preferences import default_preferences
from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import Ephemeris, load_ephemeris
from planner.matcher.train_table import tabulate_trains
from planner.matcher.trains import make_trains
from planner.model.kit import Barrel, Eyepiece, Kit, Mount, Telescope
from planner.model.site import Site
from planner.planning.circumstances import Circumstances, Wishes
from planner.planning.plan import plan_night
from planner.planning.scheduling import scheduler as ordering
from planner.planning.scheduling.candidates import Candidates, Session
from planner.planning.scheduling.pace import Pace
from targets.catalogue.catalogue import Catalogue, load_catalogue

SETTINGS = example_settings(today=date(2026, 3, 1))
SITES = {
    "51 N": Site("Garden", 51.2, -2.4, 210.0, "Europe/London", 20.9),
    "35 N": Site("High desert", 35.0, -106.0, 1500.0, "America/Denver", 21.5),
    "60 N": Site("Northern shore", 60.2, 24.9, 10.0, "Europe/Helsinki", 20.5),
    "0": Site("Equator", 0.0, -78.5, 2850.0, "America/Guayaquil", 21.5),
    "34 S": Site("Southern hills", -33.9, 150.5, 300.0, "Australia/Sydney", 21.5),
}
# Summer twilight: May to August at 51 and 60 N. Full Moon: 2026-01-03, 03-03, 05-31, 06-29, 07-29,
# 08-28, 10-26, 11-24, 12-24 (phases of the Moon as any almanac has them).
NIGHTS = (
    *(("51 N", "2026-01-15", "reflector"), ("51 N", "2026-02-01", "two eyepieces")),
    *(("51 N", "2026-03-14", "equatorial"), ("51 N", "2026-04-15", "reflector")),
    *(("51 N", "2026-05-31", "refractor"), ("51 N", "2026-06-21", "reflector")),
    *(("51 N", "2026-07-15", "twenty eyepieces"), ("51 N", "2026-08-12", "equatorial")),
    *(("51 N", "2026-09-15", "reflector"), ("51 N", "2026-10-26", "reflector")),
    *(("51 N", "2026-11-24", "two eyepieces"), ("51 N", "2026-12-08", "twenty eyepieces")),
    *(("35 N", "2026-01-03", "reflector"), ("35 N", "2026-03-20", "twenty eyepieces")),
    *(("35 N", "2026-05-15", "equatorial"), ("35 N", "2026-07-29", "reflector")),
    *(("35 N", "2026-09-11", "refractor"), ("35 N", "2026-11-09", "equatorial")),
    *(("0", "2026-04-15", "reflector"), ("0", "2026-10-10", "equatorial")),
    *(("34 S", "2026-01-18", "reflector"), ("34 S", "2026-03-16", "reflector")),
    *(("34 S", "2026-05-16", "two eyepieces"), ("34 S", "2026-06-29", "equatorial")),
    *(("34 S", "2026-08-12", "twenty eyepieces"), ("34 S", "2026-10-26", "refractor")),
    *(("34 S", "2026-12-10", "reflector"), ("60 N", "2026-02-18", "reflector")),
    *(("60 N", "2026-04-10", "equatorial"), ("60 N", "2026-05-12", "reflector")),
    *(("60 N", "2026-08-20", "equatorial"), ("60 N", "2026-10-08", "two eyepieces")),
    *(("60 N", "2026-12-24", "twenty eyepieces"),),
)


class RealSession(NamedTuple):
    """What `planner.planning.scheduling.scheduler.order_looks` was asked on a night."""

    name: str
    candidates: Candidates
    session: Session


@cache
def _sky() -> tuple[Catalogue, Ephemeris]:
    return load_catalogue(), load_ephemeris()


def _eyepieces(*focal_lengths_mm: float) -> tuple[Eyepiece, ...]:
    return tuple(
        Eyepiece(f"{f:g} mm", (f,), (60.0,), Barrel.ONE_AND_A_QUARTER, eye_relief_mm=15)
        for f in focal_lengths_mm
    )


def kit_of(name: str) -> tuple[Telescope, Kit]:
    """Return a telescope with what goes with it."""
    example = SETTINGS.kit
    reflector, refractor = example.telescopes
    driven = replace(reflector, mount=Mount.EQUATORIAL, driven=True, balance_g=None)
    return {
        "reflector": (reflector, example),
        "refractor": (refractor, example),
        "equatorial": (driven, example),
        "two eyepieces": (reflector, replace(example, eyepieces=_eyepieces(32.0, 10.0))),
        "twenty eyepieces": (
            reflector,
            replace(example, eyepieces=_eyepieces(*np.arange(4.0, 44.0, 2.0).tolist())),
        ),
    }[name]


@contextmanager
def _overheard() -> Iterator[list[Pace]]:
    """Remember what the search is asked, which is let see every target."""
    asked: list[Pace] = []
    search, tried = ordering.best_sequence, ordering.TRIED

    def listen(pace: Pace) -> NDArray[np.intp]:
        asked.append(pace)
        return search(pace)

    ordering.best_sequence, ordering.TRIED = listen, 1_000
    try:
        yield asked
    finally:
        ordering.best_sequence, ordering.TRIED = search, tried


def real_session(site: str, day: str, kit: str, *, hours: float) -> RealSession:
    """Plan from dusk, for some hours or until sunrise, and give what had to be ordered."""
    catalogue, ephemeris = _sky()
    telescope, owned = kit_of(kit)
    night = find_night(ephemeris, SITES[site], date.fromisoformat(day))
    start = night.civil_dusk or night.sunset or night.start
    with _overheard() as asked:
        plan_night(
            catalogue,
            ephemeris,
            night,
            start=start,
            end=min(start + timedelta(hours=hours), night.sunrise or night.end),
            circumstances=Circumstances(
                SETTINGS.observer,
                telescope,
                tabulate_trains(make_trains(telescope, owned)),
                conditions_tonight(SITES[site], SETTINGS.observer),
                default_preferences(),
            ),
            wishes=Wishes(),
        )
    return RealSession(f"{site:>4} {day} {kit}", asked[0].candidates, asked[0].session)
