"""Nights of the practice table: sites, kits, and what holds of a plan."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path

from planner.config.settings import read_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.model.plan import Plan
from planner.planning.plan import plan_night
from planner.planning.session_times import session_times
from planner.planning.wishes import Wishes
from planner.request.circumstances import night_of, occasion_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

TABLE = Path(__file__).parents[2] / "references" / "night_practice.csv"
SITES = {
    "50N": (50.0, 10.0, "Europe/Berlin"),
    "33N": (33.0, -111.0, "America/Phoenix"),
    "34S": (-34.0, 18.6, "Africa/Johannesburg"),
}
# Invented kits: focal length, focuser, drive, eyepieces (focal length, field, barrel), filters.
KITS = {
    90: (660, "1.25in", False, [(32, 50, "1.25in"), (15, 62, "1.25in"), (7, 60, "1.25in")], []),
    130: (650, "1.25in", False, [(26, 55, "1.25in"), (12, 60, "1.25in"), (6, 58, "1.25in")], []),
    200: (
        1200, "2in", False,
        [(34, 70, "2in"), (19, 66, "1.25in"), (12, 60, "1.25in"), (7, 65, "1.25in")],
        ["narrowband"],
    ),
    300: (
        1500, "2in", False,
        [(31, 76, "2in"), (17, 72, "1.25in"), (11, 70, "1.25in"), (6, 65, "1.25in")],
        ["oiii", "narrowband"],
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Expectation:
    """A row of the table."""

    site: str
    date: str
    kit: int
    sky: float
    until: str
    rule: str
    names: tuple[str, ...]


def expectations() -> list[Expectation]:
    """All rows of the table."""
    lines = [line for line in TABLE.read_text("utf-8").splitlines() if not line.startswith("#")]
    return [
        Expectation(
            row["site"], row["date"], int(row["kit"]), float(row["sky"]), row["until"],
            row["rule"], tuple(filter(None, row["names"].split("|"))),
        )
        for row in csv.DictReader(lines)
    ]  # fmt: skip


def configuration(site: str, kit: int, sky: float) -> str:
    """The configuration of a site with a kit."""
    latitude, longitude, zone = SITES[site]
    focal, focuser, driven, eyepieces, filters = KITS[kit]
    barrels = ("1.25in",) if focuser == "1.25in" else ("1.25in", "2in")
    here = (
        f'[observer]\ndark_pupil_mm = 6.5\n[[site]]\nname = "Here"\nlatitude_deg = {latitude}\n'
        f'longitude_deg = {longitude}\ntimezone = "{zone}"\nsky_mag_arcsec2 = {sky}\n'
        f'elevation_m = 200\nextinction_mag = 0.22\n[[telescope]]\nname = "Tube"\n'
        f'aperture_mm = {kit}\nfocal_length_mm = {focal}\nfocuser = "{focuser}"\n'
        f'mount = "altazimuth"\ndriven = {str(driven).lower()}\n'
    )
    glass = [
        f'[[eyepiece]]\nname = "{f} mm"\nfocal_length_mm = {f}\napparent_field_deg = {a}\n'
        f'barrel = "{barrel}"\n'
        for f, a, barrel in eyepieces
    ]
    threads = [
        f'[[filter]]\nname = "{kind} {barrel}"\nkind = "{kind}"\nbarrel = "{barrel}"\n'
        for kind in filters
        for barrel in barrels
    ]
    return "".join([here, *glass, *threads])


def plan_of(site: str, evening: str, kit: int, sky: float, until: str = "") -> Plan:
    """Plan the night of a row."""
    settings = read_settings(configuration(site, kit, sky), source="kit", today=date(2027, 1, 1))
    occasion = occasion_of(settings, site=None, telescope=None, readings=Readings())
    ephemeris = load_ephemeris()
    night = night_of(ephemeris, occasion.site, evening=date.fromisoformat(evening), now=None)
    times = session_times(night, until=time.fromisoformat(until) if until else None)
    return plan_night(
        load_catalogue(), ephemeris, night,
        start=times.start, end=times.end, circumstances=occasion.circumstances, wishes=Wishes(),
    )  # fmt: skip


def holds(plan: Plan, rule: str, names: tuple[str, ...]) -> bool:
    """Whether a plan is as a row of the table says."""
    word, *numbers = rule.split()
    if word in {"kind", "most"}:
        count = sum(str(look.target.kind) in names for look in plan.looks)
        return count >= int(numbers[0]) if word == "kind" else count <= int(numbers[0])
    if word == "looks":
        return int(numbers[0]) <= len(plan.looks) <= int(numbers[1])
    planned = shown(plan)
    count = sum(bool(known(name) & planned) for name in names)
    return count >= int(numbers[0]) if word == "any" else count == 0


def shown(plan: Plan) -> set[str]:
    """Everything that is looked at, alone or beside something."""
    ids = {look.target.id for look in plan.looks}
    catalogue = load_catalogue()
    for look in plan.looks:
        for name in look.in_field:
            ids.add(catalogue.find(name).id)
    return ids


def known(name: str) -> set[str]:
    """The id of a name."""
    return {load_catalogue().find(name).id}
