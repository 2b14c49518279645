"""Everything that can be looked at, as columns and as targets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from targets.arrays import Floats
from targets.catalogue.stars import StarFacts
from targets.catalogue.texts import Aliases, Texts
from targets.catalogue.values import KINDS, ORIGINS
from targets.elements import Elements
from targets.frozen import frozen
from targets.lunar import LunarPlace
from targets.model import Kind, Target
from targets.naming.constellations import constellation_code

COLUMNS = (
    "ra_deg", "dec_deg", "major_arcmin", "minor_arcmin", "position_angle_deg", "magnitude",
    "companion_magnitude", "visual_rating", "bulge_share", "core_radius_arcmin", "concentration",
    "kind_code", "size_origin_code", "magnitude_origin_code", "constellation",
)  # fmt: skip


@frozen(slots=False)
class Catalogue:
    """All targets: fixed objects first, then the Moon and planets, the Moon's features last.

    The arrays cannot be written to. Each has one entry per target.

    Parameters
    ----------
    ids : tuple of str
        Identifiers, see :class:`~targets.model.Target`.
    ra_deg, dec_deg : ndarray
        J2000 position [deg]; NaN for bodies that move.
    major_arcmin, minor_arcmin : ndarray
        Apparent axes [arcmin]; NaN where unknown. Without a minor axis it is a circle.
    position_angle_deg : ndarray
        Of the major axis, from north through east [deg], 0 <= angle < 180, of a pair < 360; NaN
        where it is unknown or means nothing.
    magnitude : ndarray
        Total V; NaN where unknown, and for nebulae other than planetaries.
    companion_magnitude : ndarray
        V of a pair's fainter star; NaN for what is no pair, and where unknown.
    visual_rating : ndarray
        1 (very hard) .. 5 (showpiece); NaN where nobody has judged.
    bulge_share : ndarray
        Share of a galaxy's light in its bulge, 0 .. 1; NaN where its type is not known.
    core_radius_arcmin, concentration : ndarray
        Of globular clusters: core radius [arcmin], and log10 of tidal over core radius; else NaN.
    kind_code : ndarray of int8
        Index into :data:`~targets.catalogue.values.KINDS`.
    size_origin_code, magnitude_origin_code : ndarray of int8
        Index into :data:`~targets.catalogue.values.ORIGINS`.
    constellation : ndarray of str
        Three-letter abbreviation; empty for bodies that move.
    texts : Texts
        Names, sources and notes; :meth:`target` puts them together.
    stars : mapping of int to StarFacts
        Epochs, orbits and ranges of double and variable stars. Separations and angles in the
        columns are those of the epoch; `pair_at` moves them to a night.
    lunar : mapping of int to LunarPlace
        Places of the Moon's features on it.
    elements : mapping of int to Elements
        Of comets and minor planets that a user has added; see :mod:`targets.catalogue.joining`.
    """

    ids: tuple[str, ...]
    ra_deg: Floats
    dec_deg: Floats
    major_arcmin: Floats
    minor_arcmin: Floats
    position_angle_deg: Floats
    magnitude: Floats
    companion_magnitude: Floats
    visual_rating: Floats
    bulge_share: Floats
    core_radius_arcmin: Floats
    concentration: Floats
    kind_code: NDArray[np.int8]
    size_origin_code: NDArray[np.int8]
    magnitude_origin_code: NDArray[np.int8]
    constellation: NDArray[np.str_]
    texts: Texts
    stars: Mapping[int, StarFacts]
    lunar: Mapping[int, LunarPlace] = field(default_factory=dict)
    elements: Mapping[int, Elements] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Lock the arrays: the catalogue is shared by everyone in the process."""
        for column in COLUMNS:
            getattr(self, column).flags.writeable = False

    def __len__(self) -> int:
        """Return the number of targets."""
        return len(self.ids)

    @cached_property
    def moves(self) -> NDArray[np.bool_]:
        """Which targets take their place from the ephemeris."""
        return np.isnan(self.ra_deg)

    def of_kind(self, *kinds: Kind) -> NDArray[np.bool_]:
        """Tell which targets are of one of these kinds."""
        return np.isin(self.kind_code, [KINDS.index(kind) for kind in kinds])

    def in_constellation(self, text: str) -> NDArray[np.bool_]:
        """Tell which targets are in a constellation.

        Raises UnknownConstellation when ``text`` is neither an abbreviation nor a name.
        """
        return np.asarray(self.constellation == constellation_code(text))

    def messier(self) -> NDArray[np.intp]:
        """Return the indices of M1 .. M110 in this order."""
        return _in_order(self.texts.messier)

    def caldwell(self) -> NDArray[np.intp]:
        """Return the indices of C1 .. C109 in this order."""
        return _in_order(self.texts.caldwell)

    def index_of(self, identifier: str) -> int:
        """The index of the target with exactly this identifier; KeyError if there is none."""
        return self._index_of_id[identifier]

    def find_index(self, text: str) -> int:
        """Return the index of the target that a person names; see :meth:`find`."""
        return self.texts.index.find(text)

    def find(self, text: str) -> Target:
        """Return the target that a person names.

        Parameters
        ----------
        text : str
            A designation in any usual spelling (``M 31``, ``ngc0224``, ``Caldwell 14``), or a
            common name (``the ring nebula``, ``jupiter``).

        Returns
        -------
        Target
            The one that is meant; for a duplicate number or a part, the target that has it.

        Raises
        ------
        UnknownTarget
            With a sentence: what is near, or why the number is no target.
        """
        return self.target(self.find_index(text))

    def target(self, index: int) -> Target:
        """Return one target; IndexError outside ``0 .. len - 1``."""
        if not 0 <= index < len(self):
            raise IndexError(f"target {index} is not in 0 .. {len(self) - 1}")
        rating, facts = self.visual_rating[index], self.stars.get(index, _NO_STAR)
        return Target(
            id=self.ids[index],
            name=self.texts.name(index),
            kind=KINDS[self.kind_code[index]],
            constellation=str(self.constellation[index]) or None,
            ra_deg=_known(self.ra_deg[index]),
            dec_deg=_known(self.dec_deg[index]),
            major_arcmin=_known(self.major_arcmin[index]),
            minor_arcmin=_known(self.minor_arcmin[index]),
            position_angle_deg=_known(self.position_angle_deg[index]),
            magnitude=_known(self.magnitude[index]),
            companion_magnitude=_known(self.companion_magnitude[index]),
            bulge_share=_known(self.bulge_share[index]),
            core_radius_arcmin=_known(self.core_radius_arcmin[index]),
            concentration=_known(self.concentration[index]),
            visual_rating=None if np.isnan(rating) else int(rating),
            size_origin=ORIGINS[self.size_origin_code[index]],
            magnitude_origin=ORIGINS[self.magnitude_origin_code[index]],
            size_source=self.texts.size_source.get(index),
            magnitude_source=self.texts.magnitude_source.get(index),
            aliases=Aliases(self.texts, index),
            note=self.texts.note.get(index),
            epoch_yr=facts.epoch_yr,
            orbit=facts.orbit,
            magnitude_range=facts.magnitude_range,
            proper_motion=facts.proper_motion,
            lunar=self.lunar.get(index),
            elements=self.elements.get(index),
            own_note=self.texts.own_note.get(index),
        )

    @cached_property
    def _index_of_id(self) -> dict[str, int]:
        return {identifier: index for index, identifier in enumerate(self.ids)}


_NO_STAR = StarFacts()


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _in_order(of_number: dict[int, int]) -> NDArray[np.intp]:
    return np.array([of_number[number] for number in sorted(of_number)], dtype=np.intp)
