"""What is taken for granted of each kind of target, in one table.

Finer than kinds are the classes of ``planner/config/preferences.toml``, into which
``planner/matcher/target_classes.py`` sorts the targets.
"""

from __future__ import annotations

from targets.catalogue.values import RATED_KINDS
from targets.frozen import frozen
from targets.model import Kind


@frozen
class KindTraits:
    """How targets of a kind look, as far as the kind tells.

    Parameters
    ----------
    emits_lines : bool
        Whether it shines in the lines of a gas, which nebula filters pass.
    is_even_glow : bool
        Whether it is seen as one glow, for which the exit pupil that shows it best is sought. Not
        globular clusters, which are to be resolved into stars, nor dark nebulae, which need a
        bright field around them.
    member_mag : float or None
        A group of stars shows first by its brighter members, several and not one. They are
        typically this much fainter than the whole [mag] (our assumption, for grading only); the few
        of an asterism make up most of its light.
    drowns : float
        With what power of the sky's brightness its worth falls, beyond what the eye's threshold
        takes. With the Moon more than half lit, and in towns, nobody plans galaxies but the
        brightest (common practice; the powers are ours).
    """

    emits_lines: bool = False
    is_even_glow: bool = False
    member_mag: float | None = None
    drowns: float = 0.0


TRAITS = {
    Kind.OPEN_CLUSTER: KindTraits(member_mag=4.0, drowns=0.1),
    Kind.GLOBULAR_CLUSTER: KindTraits(drowns=0.2),
    Kind.GALAXY: KindTraits(is_even_glow=True, drowns=0.7),
    Kind.GALAXY_GROUP: KindTraits(is_even_glow=True, drowns=0.7),
    Kind.PLANETARY_NEBULA: KindTraits(emits_lines=True, is_even_glow=True, drowns=0.1),
    Kind.EMISSION_NEBULA: KindTraits(emits_lines=True, is_even_glow=True, drowns=0.35),
    Kind.SUPERNOVA_REMNANT: KindTraits(emits_lines=True, is_even_glow=True, drowns=0.35),
    Kind.REFLECTION_NEBULA: KindTraits(is_even_glow=True, drowns=0.7),
    Kind.DARK_NEBULA: KindTraits(drowns=0.5),
    Kind.STAR_CLOUD: KindTraits(member_mag=4.0, drowns=0.5),
    Kind.ASTERISM: KindTraits(member_mag=2.5, drowns=0.1),
    Kind.COMET: KindTraits(is_even_glow=True, drowns=0.2),
    Kind.OTHER: KindTraits(is_even_glow=True),
}
# A rating, where there is one, goes before any magnitude: that belongs to the star which lights it.
RATED_BY_EYE = frozenset(RATED_KINDS)
EMITS_LINES = frozenset(kind for kind, traits in TRAITS.items() if traits.emits_lines)
EVEN_GLOWS = tuple(kind for kind, traits in TRAITS.items() if traits.is_even_glow)
MEMBER_MAG = {
    kind: traits.member_mag for kind, traits in TRAITS.items() if traits.member_mag is not None
}


def drowning_power(kind: Kind) -> float:
    """Return with what power of the sky's brightness the worth of a kind falls."""
    return TRAITS[kind].drowns if kind in TRAITS else 0.0
