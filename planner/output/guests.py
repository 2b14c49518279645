"""A sheet to read from when guests look: what each target is, in facts alone."""

from __future__ import annotations

from collections.abc import Iterator

from planner.ephemeris.bodies import observe_body
from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Telescope, train_words
from planner.model.pace import MINUTES_A_GUEST
from planner.model.plan import Look, Plan
from planner.model.site import Site
from planner.output.appearance.what_to_see import MOON_ARCMIN, look_for
from planner.output.night_words import note_words
from planner.output.words import SUN_CAUTION, compass, double_date, span
from planner.text import WIDTH, counted, fit, text_of, wrap
from targets.catalogue.parallax import cluster_distance_ly
from targets.model import Kind, Target
from targets.naming.constellations import NAMES

# Light takes so long for an astronomical unit [min] (IAU 2012, Resolution B2, and c).
LIGHT_MIN_PER_AU = 499.004784 / 60.0
KM_PER_AU = 149_597_870.7
# From this height of the eyepiece on children need a step (common practice: a child of seven has
# its eyes at some 110 cm).
CHILD_EYES_CM = 110.0
# On the sky what is narrower than this is not compared with the Moon [Moons].
LEAST_MOONS = 0.05
SAFETY = (
    SUN_CAUTION,
    (
        "Before dark: show steps, cables and tripod legs, and mark them with red light; say where "
        "to stand and to wait. A step for children stands firm and has somebody beside it."
    ),
    (
        "Laser pointers: only where local rules allow them, never toward aircraft, vehicles, "
        "animals or people; one person holds it, the host."
    ),
)


def guests_text(plan: Plan, *, guests: int, telescope: Telescope, ephemeris: Ephemeris) -> str:
    """Write the sheet in lines of at most 80 cells.

    Parameters
    ----------
    plan : Plan
        Made for guests.
    guests : int
        How many.
    ephemeris : Ephemeris
        For how far away bodies are.
    """
    site = plan.night.site
    lines = [*wrap(guests_title(plan, guests)), ""]
    for caution in SAFETY:
        lines += wrap(caution, first="! ", rest="  ")
    for note in plan.notes:
        lines += wrap(note)
    for look in plan.looks:
        lines += ["", fit(f"{span(look.start, look.end, site)}  {look.target.name}", WIDTH)]
        for fact in guest_facts(look, site, telescope, ephemeris):
            lines += wrap(fact, first="  - ", rest="    ")
    return text_of(lines)


def guests_title(plan: Plan, guests: int) -> str:
    """Return for when, where and whom a sheet is, and how long each of them looks."""
    where = f"{double_date(plan.night.date)}, {plan.night.site.name}"
    return f"{where}, for {counted(guests, 'guest')}, {MINUTES_A_GUEST:g} minutes each"


def guest_facts(
    look: Look, site: Site, telescope: Telescope, ephemeris: Ephemeris
) -> tuple[str, ...]:
    """Return what to tell of a look: what it is, how far, what to look for, and how."""
    return (
        *_what(look.target),
        *_far(look, site, ephemeris),
        *look_for(look, site, counts_stars=True),
        *([note_words(look.notes, site)] if look.notes else []),
        *_how(look, telescope),
    )


def _what(target: Target) -> Iterator[str]:
    where = ""
    if target.constellation and target.kind not in {Kind.MOON, Kind.LUNAR_FEATURE}:
        where = f" in {NAMES[target.constellation]}"
    if target.kind is not Kind.MOON:
        yield f"{target.kind}{where}"
    if target.kind in {Kind.MOON, Kind.DOUBLE_STAR} or not target.major_arcmin:
        return
    moons = target.major_arcmin / MOON_ARCMIN
    if moons >= LEAST_MOONS:
        yield f"on the sky {moons:.1f} times as wide as the Moon"


def _far(look: Look, site: Site, ephemeris: Ephemeris) -> Iterator[str]:
    """Say how far it is, where the ephemeris or a measured parallax tells."""
    target = look.target
    if target.kind in {Kind.PLANET, Kind.MOON}:
        middle = look.start + (look.end - look.start) / 2
        seen = observe_body(ephemeris, site, target.id, [middle])
        distance_au = float(seen.distance_au[0])
        minutes = distance_au * LIGHT_MIN_PER_AU
        age = f"{minutes:.0f} minutes" if minutes >= 2.0 else f"{minutes * 60.0:.1f} seconds"
        yield f"{_rounded(distance_au * KM_PER_AU)} km away; its light is {age} old"
    distance_ly = cluster_distance_ly(target)
    if distance_ly is not None:
        yield f"some {_rounded(distance_ly)} light years away, by its parallax (OpenNGC)"


def _rounded(number: float) -> str:
    """Write a number with two digits that count: ``610``, ``1,300,000,000``."""
    digits = len(str(int(number)))
    step = 10 ** max(digits - 2, 0)
    return f"{round(number / step) * step:,}"


def _how(look: Look, telescope: Telescope) -> Iterator[str]:
    train = look.view.train
    yield (
        f"{train_words(train)}, {train.magnification:.0f}x; {look.altitude_deg:.0f} deg high in "
        f"the {compass(look.azimuth_deg).split()[0]}"
    )
    height_cm = telescope.eyepiece_at_cm(look.altitude_deg)
    if height_cm is not None:
        step = "; children need a step" if height_cm > CHILD_EYES_CM else ""
        yield f"the eyepiece is {height_cm:.0f} cm above the ground{step}"
