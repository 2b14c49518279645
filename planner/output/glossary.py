"""Words of the trade that a beginner does not know, each in one plain phrase: one list for all."""

from __future__ import annotations

from planner.text import wrap

GLOSSARY = (
    ("exit pupil", "width of the beam that leaves the eyepiece: aperture over power"),
    ("true field", "how much of the sky the eyepiece shows, across"),
    ("apparent field", "how wide its picture looks to the eye"),
    ("field stop", "the ring in the eyepiece that bounds the field; it has to fit the barrel"),
    ("fill", "size of the target, as it is seen, over the true field"),
    ("seen", "easy, fair, hard, very hard, unlikely: contrast above what the eye just notices"),
    ("mag/arcsec2", "darkness of the sky: 18 in a town, 21.5 far from lamps"),
    ("extinction", "light that the air takes, more the lower one looks"),
    ("seeing", "steadiness of the air, I the best to V; it limits power"),
    ("transparency", "clearness of the air, 5 the best to 1; it limits faint things"),
    ("culmination", "where a target is highest, due south or north"),
    ("dusk, dawn", "when the Sun is low enough to begin and to end; dark: 18 deg down"),
    ("Barlow", "a lens that multiplies the power of an eyepiece"),
    ("O III, H beta", "filters that pass one colour of glowing gas, and little of the sky"),
    ("hop", "from a star that one sees, by short moves, to a target that one does not"),
    ("can wait", "the latest time to begin a look without losing it"),
)
WIDTH = 72


def glossary_lines() -> list[str]:
    """Return the glossary in lines of at most 72 cells."""
    widest = max(len(term) for term, _ in GLOSSARY)
    return [
        line
        for term, phrase in GLOSSARY
        for line in wrap(phrase, width=WIDTH, first=term.ljust(widest + 2), rest=" " * (widest + 2))
    ]
