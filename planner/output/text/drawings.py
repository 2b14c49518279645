"""The field of a candidate drawn beside that of the present best."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from planner.advice.results import Gain
from planner.ephemeris.kernel import Ephemeris
from planner.model.kit import Train, train_words
from planner.model.site import Site
from planner.output.drawing.field import Circumstance, draw_field
from planner.output.drawing.terminal import field_cells, scale_words
from planner.planning.survey import Circumstances
from planner.text import fit

COLUMNS, ROWS = 30, 15
GAP = "   "


def gain_drawings(
    gains: Sequence[Gain],
    circumstances: Circumstances,
    ephemeris: Ephemeris,
    site: Site,
    *,
    unicode: bool,
) -> list[str]:
    """Draw each target in the present best train and in the new one, to scale.

    Parameters
    ----------
    gains : sequence of Gain
        Those without a place in the sky, or without a present train, are drawn as far as they can.
    circumstances, ephemeris, site
        Under which they were found.
    unicode : bool
        Whether dots may be drawn, or ASCII alone.

    Returns
    -------
    list of str
        Lines of at most 80 cells.
    """
    lines: list[str] = []
    for gain in gains:
        if gain.target.ra_deg is None:
            continue
        circumstance = Circumstance(ephemeris, site, gain.instant, circumstances.conditions)
        trains = [train for train in (gain.present, gain.train) if train is not None]
        blocks = [_block(gain, train, circumstance, unicode=unicode) for train in trains]
        lines += ["", gain.target.name]
        lines += [
            GAP.join(fit(line, COLUMNS) for line in row).rstrip()
            for row in zip_longest(*blocks, fillvalue="")
        ]
    return lines


def _block(gain: Gain, train: Train, circumstance: Circumstance, *, unicode: bool) -> list[str]:
    drawing = draw_field(gain.target, train, circumstance)
    cells = field_cells(drawing, columns=COLUMNS, rows=ROWS, unicode=unicode)
    title = f"{train_words(train)}, {train.magnification:.0f}x"
    return [title, *cells, scale_words(drawing, columns=COLUMNS)]
