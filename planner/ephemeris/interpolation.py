"""The sky of one night as polynomials in time.

The ephemeris is asked at 13 instants; in between, the site's axes, its velocity and the bodies
are interpolated. Over 25 hours that is exact to a few milliarcseconds, the Moon included.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.polynomial import chebyshev
from skyfield.constants import C_AUDAY

from planner.ephemeris.kernel import Ephemeris, apparent_place
from planner.ephemeris.minor_bodies import minor_body
from planner.model.site import Site
from targets.arrays import Floats
from targets.elements import Elements
from targets.frozen import frozen

_NODES = 13


@frozen(eq=False)
class Motion:
    """Where the site's axes point and where bodies stand, at any instant of a span of time.

    Parameters
    ----------
    start_s, end_s : float
        The span [s since 1970 UTC].
    equator, sidereal_rad, velocity_c : ndarray
        Chebyshev coefficients, ``(13, 9)``, ``(13, 1)`` and ``(13, 3)``: rotation from ICRS to
        the true equator of date, sidereal angle of Greenwich [rad], and the observer's velocity
        over that of light.
    bodies_au : dict of str to ndarray
        Chebyshev coefficients ``(13, 3)`` of the apparent topocentric places [au].
    """

    site: Site
    start_s: float
    end_s: float
    equator: Floats
    sidereal_rad: Floats
    velocity_c: Floats
    bodies_au: dict[str, Floats]

    def velocity(self, unix_s: Floats) -> Floats:
        """Return the observer's velocity over that of light, ``(T, 3)`` in ICRS axes."""
        return self._basis(unix_s) @ self.velocity_c

    def place_au(self, body: str, unix_s: Floats) -> Floats:
        """Return the apparent topocentric place of a body [au], ``(T, 3)`` in ICRS axes."""
        return self._basis(unix_s) @ self.bodies_au[body]

    def altitude_deg(self, body: str, unix_s: Floats) -> Floats:
        """Return the true altitude of a body's centre [deg], ``(T,)``."""
        return altitude_deg(self.axes(unix_s), self.place_au(body, unix_s))

    def axes(self, unix_s: Floats) -> Floats:
        """Return the unit vectors to north, east and up, ``(T, 3, 3)`` in ICRS axes."""
        basis = self._basis(unix_s)
        equator = (basis @ self.equator).reshape(-1, 3, 3)
        turn = (basis @ self.sidereal_rad)[:, 0] + np.radians(self.site.longitude_deg)
        return local_axes(turn, self.site.latitude_deg) @ equator

    def _basis(self, unix_s: Floats) -> Floats:
        span = (2.0 * unix_s - self.start_s - self.end_s) / (self.end_s - self.start_s)
        return np.asarray(chebyshev.chebvander(span, _NODES - 1))


def fit_motion(
    ephemeris: Ephemeris,
    site: Site,
    *,
    start: datetime,
    end: datetime,
    bodies: Sequence[str],
    orbits: Mapping[str, Elements] | None = None,
) -> Motion:
    """Ask the ephemeris at a few instants between two and lay polynomials through the answers.

    Parameters
    ----------
    start, end : datetime.datetime
        The span, aware; about a day at most.
    bodies : sequence of str
        Whose places are wanted.
    orbits : mapping of str to Elements, optional
        Orbits of those among them that are comets or minor planets.

    Returns
    -------
    Motion
        Good between ``start`` and ``end``.
    """
    span = (start, end)
    ahead = None if orbits else _asked_ahead(ephemeris, site, span, bodies)
    if ahead is not None:
        return ahead
    return fit_motions(ephemeris, site, spans=[span], bodies=bodies, orbits=orbits)[0]


def fit_motions(
    ephemeris: Ephemeris,
    site: Site,
    *,
    spans: Sequence[tuple[datetime, datetime]],
    bodies: Sequence[str],
    orbits: Mapping[str, Elements] | None = None,
) -> list[Motion]:
    """Do the same for many spans, and ask the ephemeris once: a tenth of the work for a year."""
    asked = _answers(ephemeris, site, tuple(spans))
    places = {name: asked.place_au(name, (orbits or {}).get(name)) for name in bodies}
    return [asked.motion(span, places) for span in range(len(spans))]


def ask_ahead(
    ephemeris: Ephemeris,
    site: Site,
    *,
    spans: Sequence[tuple[datetime, datetime]],
    bodies: Sequence[str],
) -> None:
    """Ask the ephemeris once for what `fit_motion` is going to want of each of many spans.

    The answers are kept until others have been asked for twice.
    """
    asked = _Answers(ephemeris, site, spans)
    for name in bodies:
        asked.place_au(name, None)
    _AHEAD.append((ephemeris, {(site, span): number for number, span in enumerate(spans)}, asked))


def _asked_ahead(
    ephemeris: Ephemeris, site: Site, span: tuple[datetime, datetime], bodies: Sequence[str]
) -> Motion | None:
    for whose, numbers, asked in _AHEAD:
        number = numbers.get((site, span)) if whose is ephemeris else None
        if number is not None and asked.knows(bodies):
            return asked.motion(number, {name: asked.place_au(name, None) for name in bodies})
    return None


class _Answers:
    """What the ephemeris answers at the nodes of some spans; no body is asked for twice."""

    def __init__(
        self, ephemeris: Ephemeris, site: Site, spans: Sequence[tuple[datetime, datetime]]
    ) -> None:
        nodes = chebyshev.chebpts2(_NODES)
        self.site = site
        self.ends_s = np.array([(start.timestamp(), end.timestamp()) for start, end in spans])
        start_s, end_s = self.ends_s[:, :1], self.ends_s[:, 1:]
        times = ephemeris.times(((start_s + end_s + nodes * (end_s - start_s)) / 2.0).ravel())
        self._ephemeris = ephemeris
        self._observer = ephemeris.observer(site, times)
        self._solve = np.linalg.inv(chebyshev.chebvander(nodes, _NODES - 1))
        self._places: dict[str, Floats] = {}
        self.equator = self._fitted(times.M.reshape(9, -1))
        self.velocity_c = self._fitted(self._observer.velocity.au_per_d / C_AUDAY)
        turns = np.unwrap(np.radians(times.gast * 15.0).reshape(len(spans), _NODES), axis=1)
        self.sidereal_rad = self._fitted(turns.reshape(1, -1))

    def knows(self, bodies: Sequence[str]) -> bool:
        """Tell whether all of these bodies have been asked for."""
        return self._places.keys() >= set(bodies)

    def motion(self, span: int, places: Mapping[str, Floats]) -> Motion:
        """Return what was answered for one span."""
        start_s, end_s = self.ends_s[span]
        return Motion(
            site=self.site,
            start_s=float(start_s),
            end_s=float(end_s),
            equator=self.equator[span],
            sidereal_rad=self.sidereal_rad[span],
            velocity_c=self.velocity_c[span],
            bodies_au={name: place[span] for name, place in places.items()},
        )

    def place_au(self, name: str, orbit: Elements | None) -> Floats:
        """Return the coefficients of a body's place, (spans, 13, 3)."""
        if orbit is not None:
            return self._place_of(minor_body(self._ephemeris, orbit))
        if name not in self._places:
            self._places[name] = self._place_of(self._ephemeris.body(name))
        return self._places[name]

    def _place_of(self, body: Any) -> Floats:
        return self._fitted(apparent_place(self._observer.observe(body)).xyz.au)

    def _fitted(self, values: Floats) -> Floats:
        """Return coefficients, (spans, 13, n), of values at all nodes, (n, spans x 13)."""
        at_nodes = values.reshape(len(values), len(self.ends_s), _NODES)
        return np.asarray(self._solve @ at_nodes.transpose(1, 2, 0))


_AHEAD: deque[tuple[Ephemeris, dict[tuple[Site, tuple[datetime, datetime]], int], _Answers]] = (
    deque(maxlen=2)
)


@lru_cache(maxsize=8)
def _answers(
    ephemeris: Ephemeris, site: Site, spans: tuple[tuple[datetime, datetime], ...]
) -> _Answers:
    return _Answers(ephemeris, site, spans)


def altitude_deg(axes: Floats, places: Floats) -> Floats:
    """Return the true altitude [deg] of places ``(T, 3)`` of any length, ``(T,)``."""
    along = np.einsum("tj,tj->t", axes[:, 2], places)
    return np.asarray(np.degrees(np.arcsin(along / np.linalg.norm(places, axis=1))))


def azimuth_deg(axes: Floats, places: Floats) -> Floats:
    """Return the azimuth from north through east [deg] of places ``(T, 3)``, ``(T,)``."""
    north, east = np.einsum("taj,tj->at", axes[:, :2], places)
    return np.asarray(np.degrees(np.arctan2(east, north)) % 360.0)


def local_axes(turn_rad: Floats, latitude_deg: float) -> Floats:
    """Return north, east and up in the equator of date, for local sidereal angles ``(T,)``."""
    sin_lat, cos_lat = np.sin(np.radians(latitude_deg)), np.cos(np.radians(latitude_deg))
    sin_turn, cos_turn, zero = np.sin(turn_rad), np.cos(turn_rad), np.zeros_like(turn_rad)
    north = [-sin_lat * cos_turn, -sin_lat * sin_turn, zero + cos_lat]
    east = [-sin_turn, cos_turn, zero]
    up = [cos_lat * cos_turn, cos_lat * sin_turn, zero + sin_lat]
    return np.moveaxis(np.array([north, east, up]), -1, 0)
