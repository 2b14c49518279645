"""Writes what the journal tells of the eye, and what was predicted against what was seen."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.journal.records import ID_SHOWN
from planner.journal.site_sky import SiteSky
from planner.model.own_eye import EyeChoice, EyeReport, SkyToward
from planner.text import fit, plain_line, wrap

LABEL = 10
BAR = 40
MOST_PARTS, MOST_SURPRISES, MOST_CHOICES = 8, 5, 5


def eye_lines(report: EyeReport) -> Iterator[str]:
    """Write a report; nothing while the looks tell too little."""
    if report.eye is None:
        return
    yield from _item("Eye", report.eye.words)
    if report.left_out:
        told = ", ".join(f"{count} {reason}" for reason, count in report.left_out)
        yield from _item("", f"left out: {told}")
    for name, eye in report.parts[:MOST_PARTS]:
        depth = f"{eye.deeper_mag:+.1f} +- {eye.told_sd_mag:.1f} mag"
        yield f"{' ' * LABEL}{fit(plain_line(name), 24)} {depth}, {eye.looks} looks"
    for glass in report.eye.glass:
        name = fit(plain_line(glass.telescope), 24)
        yield from _item("", f"{name} {glass.words}, {glass.looks} looks")
    yield from _toward(report.toward)
    yield from _choices(report.choices)
    yield ""
    yield f"{'Predicted':<{LABEL}} {'looks':>5} {'seen':>5}  a bar as long as seen, | as predicted"
    for band in report.bands:
        yield (
            f"{band.expected:>{LABEL - 1}.0%}  {band.looks:>5} {band.seen:>5.0%}  "
            f"{bar(band.seen, band.expected)}"
        )
    for surprise in report.surprises[:MOST_SURPRISES]:
        outcome = "seen" if surprise.seen else "not seen"
        yield from _item(
            "Surprise",
            f"{surprise.target} on {surprise.at[:10]}: {outcome}, with a chance of "
            f"{surprise.chance:.0%} to be seen ({surprise.entry_id[:ID_SHOWN]})",
        )


def _toward(skies: Sequence[SkyToward]) -> Iterator[str]:
    """Tell the skies of each site and half year on one line: the sides, and how sure it is."""
    groups: dict[tuple[str, str], list[SkyToward]] = {}
    for sky in skies:
        groups.setdefault((sky.site, sky.months), []).append(sky)
    for (site, months), group in groups.items():
        sides = ", ".join(
            f"{sky.toward} {sky.sky_mag_arcsec2:.1f} +- {sky.sd_mag:.1f} ({sky.looks})"
            for sky in group
        )
        told = f"{site or 'unknown site'}, {months}, by what is seen toward {sides}"
        yield from _item("Sky", f"{told}: mag/arcsec2, from so many looks")


def _choices(choices: Sequence[EyeChoice]) -> Iterator[str]:
    for number, one in enumerate(choices[:MOST_CHOICES]):
        told = (
            f"{one.used} for {one.planned}: seen {one.seen:g} of {one.looks}, "
            f"{one.expected_planned:.1f} expected in what was planned: {one.verdict}"
        )
        yield from _item("" if number else "Chosen", told)


def sky_lines(skies: Sequence[SiteSky]) -> Iterator[str]:
    """Write the skies of sites, by meter and by the faintest stars, a paragraph each."""
    for number, sky in enumerate(skies):
        told = [
            f"{value:.1f} mag/arcsec2 by {source} ({nights} night{'' if nights == 1 else 's'})"
            for value, source, nights in (
                (sky.meter_mag_arcsec2, "meter", sky.meter_nights),
                (sky.star_mag_arcsec2, "the faintest star seen", sky.star_nights),
            )
            if value is not None
        ]
        doubt = f"; doubtful: {', '.join(sky.doubtful)}" if sky.doubtful else ""
        name = sky.site or "unknown site"
        yield from _item("" if number else "Sky", f"{name}, {sky.months}: {', '.join(told)}{doubt}")


def bar(seen: float, expected: float) -> str:
    """Draw a share as a bar of ``#``, another as a ``|`` in it: ``#######|##``."""
    cells = list("#" * round(seen * BAR)) + [" "] * (BAR - round(seen * BAR))
    cells[min(round(expected * BAR), BAR - 1)] = "|"
    return "".join(cells).rstrip()


def _item(label: str, text: str) -> list[str]:
    return wrap(plain_line(text), first=label.ljust(LABEL), rest=" " * LABEL)
