"""Plays a cloudy evening with the built-in kit and site, and prints what changes and why.

Run it with ``python examples/cloudy_night.py``. The night, the clouds and the clock are fixed, so
that it prints the same every time.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any

from planner.config.settings import example_settings
from planner.ephemeris.almanac import find_night
from planner.ephemeris.kernel import load_ephemeris
from planner.model.plan import Plan
from planner.output.words import clock, span
from planner.planning.circumstances import Wishes
from planner.planning.plan import plan_night
from planner.planning.session_times import session_times
from planner.request.circumstances import circumstances_of
from planner.request.options import Readings
from planner.session.course import begin_session, tick
from planner.session.moves.clouds import cleared, cloud_here
from planner.session.moves.looks import done, skip
from planner.session.moves.times import running_late
from planner.session.night import SurveyedNight, key_words, survey_night
from planner.session.offers import Offer, offers_by_group
from planner.session.state import CloudKind, SessionState, Status, undo
from targets.catalogue.catalogue import load_catalogue

EVENING = date(2026, 10, 10)


def prepare() -> tuple[SurveyedNight, Plan]:
    """Plan the evening, and follow its targets through the night."""
    catalogue, ephemeris = load_catalogue(), load_ephemeris()
    settings = example_settings(today=EVENING)
    site, circumstances = circumstances_of(settings, site=None, telescope=None, readings=Readings())
    night = find_night(ephemeris, site, EVENING)
    times = session_times(night)
    what: dict[str, Any] = {
        "start": times.start,
        "end": times.end,
        "circumstances": circumstances,
        "wishes": Wishes(),
    }
    plan = plan_night(catalogue, ephemeris, night, **what)
    also = tuple(look.target.id for look in plan.looks)
    return survey_night(catalogue, ephemeris, night, **what, also=also), plan


class Evening:
    """The session, told line by line."""

    def __init__(self) -> None:
        self.night, self.plan = prepare()
        self.now: datetime = self.plan.start
        self.state, _ = begin_session(self.night, self.plan, self.now)

    def make(self, title: str, move: Callable[..., Any], *args: Any, **options: Any) -> None:
        """Make a move and print what it says."""
        self.state, words = move(self.night, self.state, self.now, *args, **options)
        print(f"\n{clock(self.now, self.night.night.site)}  {title}")
        for word in words:
            print(f"       - {word}")

    def work_until(self, minutes: float) -> None:
        """Look at one after the other, each as long as planned, until so long after the start."""
        end = self.plan.start + timedelta(minutes=minutes)
        while True:
            look = self.state.now or next(iter(self.state.waiting), None)
            if look is None or look.end > end:
                break
            self.now = max(look.start, self.now)
            self.state, _ = tick(self.night, self.state, self.now)
            self.now = max(look.end, self.now)
            self.state, _ = done(self.night, self.state, self.now)
        self.now = max(end, self.now)
        self.state, _ = tick(self.night, self.state, self.now)

    def offer(self, title: str, offers: tuple[Offer, ...]) -> None:
        """Print what could be looked at."""
        print(f"       {title}:")
        for offer in offers[:3]:
            print(f"         {offer.target.name}: {offer.reason}")


def list_looks(night: SurveyedNight, state: SessionState) -> None:
    """Print all looks with what has become of them."""
    for look in state.looks:
        if look.status is not Status.LOST:
            when = span(look.start, look.end, night.night.site)
            print(f"  {when}  {look.status:8} {look.name} ({key_words(look.train)})")


def main() -> None:
    """Play the evening."""
    evening = Evening()
    night = evening.night
    print("The plan")
    list_looks(night, evening.state)

    evening.work_until(40)
    evening.make("Cloud comes in the west", cloud_here, direction="west half")
    headings = ("Best now with what is in", "Best now with any", "Nearly lost")
    for heading, offers in zip(
        headings, offers_by_group(night, evening.state, evening.now), strict=True
    ):
        evening.offer(heading, offers)

    evening.work_until(80)
    evening.make("The west clears", cleared, direction="west half")
    evening.make("The tea was too long", running_late, 15)

    evening.work_until(130)
    evening.make("Thin cloud everywhere", cloud_here, kind=CloudKind.THIN)
    evening.make("Not this one", skip)
    evening.state, words = undo(evening.state)
    print(f"       - {words[0]}")
    evening.make("Solid cloud for half an hour", cloud_here,
                 until=evening.now + timedelta(minutes=30))  # fmt: skip
    evening.work_until(240)

    print("\nWhat came of it")
    list_looks(night, evening.state)


if __name__ == "__main__":
    main()
