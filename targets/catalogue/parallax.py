"""Distances of open clusters by the parallaxes of the installed database."""

from __future__ import annotations

from targets.model import Kind, Target

LIGHT_YEARS_PER_PARSEC = 3.261563777  # IAU 2015, Resolution B2
# Smaller parallaxes are lost in the systematic errors of some hundredths [mas] of the surveys, and
# those of nebulae and galaxies in the database are of stars before or in them.
LEAST_PARALLAX_MAS = 0.3


def cluster_distance_ly(target: Target) -> float | None:
    """Return how far an open cluster is [light years]; None where no parallax tells.

    Returns
    -------
    float or None
        The inverse of the parallax that OpenNGC gives; only for open clusters nearer than some
        11,000 light years.
    """
    if target.kind is not Kind.OPEN_CLUSTER or not target.id.startswith(("NGC", "IC", "M")):
        return None
    from pyongc.exceptions import InvalidCoordinates, ObjectNotFound, UnknownIdentifier  # noqa: PLC0415
    from pyongc.ongc import Dso  # noqa: PLC0415  # loads slowly, and only guests ask

    try:
        parallax_mas = Dso(target.id).parallax
    except (InvalidCoordinates, ObjectNotFound, UnknownIdentifier):
        return None
    if parallax_mas is None or parallax_mas < LEAST_PARALLAX_MAS:
        return None
    return float(1000.0 / parallax_mas * LIGHT_YEARS_PER_PARSEC)
