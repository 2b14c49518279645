"""Nights of the practice table: sites, kits, and what holds of a plan."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import date, time
from pathlib import Path

from planner.config.settings import read_settings
from planner.ephemeris.kernel import load_ephemeris
from planner.model.plan import Plan, ViewRole
from planner.planning.circumstances import Wishes
from planner.planning.plan import plan_night
from planner.planning.session_times import session_times
from planner.request.circumstances import circumstances_of, night_of
from planner.request.options import Readings
from targets.catalogue.catalogue import load_catalogue

REFERENCES = Path(__file__).parents[2] / "references"
SITES = {
    "78N": (78.2, 15.6, "Arctic/Longyearbyen"),
    "60N": (60.0, 25.0, "Europe/Helsinki"),
    "50N": (50.0, 10.0, "Europe/Berlin"),
    "33N": (33.0, -111.0, "America/Phoenix"),
    "34S": (-34.0, 18.6, "Africa/Johannesburg"),
}
# Invented kits: aperture, focal length, focuser, eyepieces (focal length, field, barrel), filters.
KITS = {
    "90": (
        90, 660, "1.25in", [(32, 50, "1.25in"), (15, 62, "1.25in"), (7, 60, "1.25in")], [],
    ),
    "114 one": (114, 900, "1.25in", [(25, 50, "1.25in")], []),
    "130": (
        130, 650, "1.25in", [(26, 55, "1.25in"), (12, 60, "1.25in"), (6, 58, "1.25in")], [],
    ),
    "200": (
        200, 1200, "2in",
        [(34, 70, "2in"), (19, 66, "1.25in"), (12, 60, "1.25in"), (7, 65, "1.25in")],
        ["narrowband"],
    ),
    "250 many": (
        250, 1250, "2in",
        [
            (35, 69, "2in"), (27, 70, "2in"), (21, 82, "2in"), (17, 68, "1.25in"),
            (13, 74, "1.25in"), (9, 72, "1.25in"), (7, 70, "1.25in"), (5, 66, "1.25in"),
        ],
        ["oiii", "narrowband", "hbeta"],
    ),
    "300": (
        300, 1500, "2in",
        [(31, 76, "2in"), (17, 72, "1.25in"), (11, 70, "1.25in"), (6, 65, "1.25in")],
        ["oiii", "narrowband"],
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Expectation:
    """A row of the table."""

    site: str
    date: str
    kit: str
    sky: float
    until: str
    rule: str
    names: tuple[str, ...]


def expectations(table: str) -> list[Expectation]:
    """All rows of a table."""
    text = (REFERENCES / table).read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return [
        Expectation(
            row["site"], row["date"], row["kit"], float(row["sky"]), row["until"],
            row["rule"], tuple(filter(None, row["names"].split("|"))),
        )
        for row in csv.DictReader(lines)
    ]  # fmt: skip


def configuration(site: str, kit: str, sky: float) -> str:
    """The configuration of a site with a kit."""
    latitude, longitude, zone = SITES[site]
    aperture, focal, focuser, eyepieces, filters = KITS[kit]
    barrels = ("1.25in",) if focuser == "1.25in" else ("1.25in", "2in")
    here = (
        f'[observer]\ndark_pupil_mm = 6.5\n[[site]]\nname = "Here"\nlatitude_deg = {latitude}\n'
        f'longitude_deg = {longitude}\ntimezone = "{zone}"\nsky_mag_arcsec2 = {sky}\n'
        f'elevation_m = 200\nextinction_mag = 0.22\n[[telescope]]\nname = "Tube"\n'
        f'aperture_mm = {aperture}\nfocal_length_mm = {focal}\nfocuser = "{focuser}"\n'
        'mount = "altazimuth"\ndriven = false\n'
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


def plan_of(site: str, evening: str, kit: str, sky: float, until: str = "") -> Plan:
    """Plan the night of a row."""
    settings = read_settings(configuration(site, kit, sky), source="kit", today=date(2027, 1, 1))
    site, circumstances = circumstances_of(settings, site=None, telescope=None, readings=Readings())
    ephemeris = load_ephemeris()
    night = night_of(ephemeris, site, evening=date.fromisoformat(evening), now=None)
    times = session_times(night, until=time.fromisoformat(until) if until else None)
    return plan_night(
        load_catalogue(), ephemeris, night,
        start=times.start, end=times.end, circumstances=circumstances, wishes=Wishes(),
    )  # fmt: skip


def holds(plan: Plan, rule: str, names: tuple[str, ...]) -> bool:
    """Whether a plan is as a row of a table says."""
    word, *numbers = rule.split()
    low, high = [*map(float, numbers), math.inf, math.inf][:2]
    judge = {
        "any": lambda: _named(plan, names) >= low,
        "none": lambda: not _named(plan, names),
        "kind": lambda: sum(kind in names for kind in [*_kinds(plan), *_second(plan)]) >= low,
        "most": lambda: sum(kind in names for kind in _kinds(plan)) <= low,
        "variety": lambda: len(set(_kinds(plan))) >= low,
        "looks": lambda: low <= len(plan.looks) <= high,
        "filter": lambda: sum(one.view.train.filter is not None for one in plan.looks) >= low,
        "above": lambda: all(
            one.altitude_deg >= low
            for one in plan.looks
            if one.target.id in set.union(*map(known, names))
        ),
        "before": lambda: _in_this_order(plan, *names),
    }
    return judge[word]()


def _named(plan: Plan, names: tuple[str, ...]) -> int:
    """How many of the names are shown."""
    return sum(bool(known(name) & shown(plan)) for name in names)


def _kinds(plan: Plan) -> list[str]:
    return [str(look.target.kind) for look in plan.looks]


def _second(plan: Plan) -> list[str]:
    """Kinds of the second targets of looks."""
    both = [one for one in plan.looks if any(v.role is ViewRole.BESIDE for v in one.views)]
    return [str(load_catalogue().find(look.in_field[0]).kind) for look in both]


def _in_this_order(plan: Plan, first: str, second: str) -> bool:
    ids = [look.target.id for look in plan.looks]
    one, other = (next(iter(known(name))) for name in (first, second))
    return not {one, other} <= set(ids) or ids.index(one) < ids.index(other)


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
