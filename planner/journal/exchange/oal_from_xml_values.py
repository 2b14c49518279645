"""Reads numbers, angles and times out of the nodes of OpenAstronomyLog."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta
from typing import Any

from planner.journal.exchange.fields import SESSION_FIELDS, Logged, RecordField, read_fields
from planner.journal.exchange.oal_terms import DEGREES, SKY_OFFSET_MAG, VISIBILITY_RATINGS
from planner.journal.exchange.oal_xml import Node
from planner.journal.records import JournalSession, Outcome
from planner.text import listed, show

NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,4})?")


def needed(node: Node, tag: str) -> str:
    """Return the text of a child that must be there.

    Raises ValueError when it is missing or empty.
    """
    text = node.text_of(tag)
    if not text:
        raise ValueError(f"<{tag}> is missing or empty")
    return text


def number(node: Node, tag: str) -> float | None:
    """Return the number in a child; None when there is none.

    Raises ValueError when there is something else.
    """
    text = node.text_of(tag)
    if not text:
        return None
    if not NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        raise ValueError(f"<{tag}> is {show(text)}; allowed is a number")
    return float(text)


def angle(node: Node, tag: str, unit: str) -> float | None:
    """Return the angle in a child in a unit of the schema; None when there is none.

    Raises ValueError when it is not a number or its unit is none of the schema.
    """
    value, found = number(node, tag), _unit(node, tag, tuple(DEGREES))
    if value is None or found == unit:
        return value
    return value * DEGREES[found] / DEGREES[unit]


def sky_mag_arcsec2(node: Node) -> float | None:
    """Return the brightness of the sky [mag/arcsec2]; None when there is none."""
    tag = "sky-quality"
    value, found = number(node, tag), _unit(node, tag, tuple(SKY_OFFSET_MAG))
    return None if value is None else value + SKY_OFFSET_MAG[found]


def _unit(node: Node, tag: str, allowed: tuple[str, ...]) -> str:
    child = node.find(tag)
    if child is None:
        return allowed[0]
    found = child.attributes.get("unit", "")
    if found not in allowed:
        raise ValueError(f"the unit of <{tag}> is {show(found)}; allowed is {listed(allowed)}")
    return found


def instant(node: Node, tag: str, minutes_east: float) -> datetime | None:
    """Return the time in a child (UTC); None when there is none.

    Parameters
    ----------
    minutes_east : float
        The site's offset [min], for a time without one.

    Raises
    ------
    ValueError
        When it is not a time.
    """
    text = node.text_of(tag)
    if text and not has_offset(text):
        try:
            local = datetime.fromisoformat(text)
            return (local - timedelta(minutes=minutes_east)).replace(tzinfo=UTC)
        except (ValueError, OverflowError):
            pass  # the sentence comes from the field
    found: datetime | None = RecordField(f"<{tag}>", Logged()).value(text)
    return found


def has_offset(text: str) -> bool:
    """Tell whether a time of day has an offset behind it."""
    return text.endswith(("Z", "z")) or bool(re.search(r"[+-][0-9]{2}:?[0-9]{2}$", text[10:]))


def whole_in(node: Node, tag: str, allowed: range | set[int]) -> int | None:
    """Return the whole number in a child; None when there is none.

    Raises ValueError when it is none of those that are allowed.
    """
    text = node.text_of(tag)
    if not text:
        return None
    if not re.fullmatch(r"[+]?[0-9]{1,6}", text) or int(text) not in allowed:
        numbers = listed(map(str, sorted(allowed)))
        raise ValueError(f"<{tag}> is {show(text)}; allowed is {numbers}")
    return int(text)


# How a description begins that is no "seen": the schema has no place for it.
OUTCOME_WORDS = {"Not seen": Outcome.NOT_SEEN, "Suspected": Outcome.SUSPECTED}
OUTCOME = re.compile(r"(Not seen|Suspected|Skipped(?:: ([^.\n]+))?)\.(?:\s+|\Z)")
ESTIMATES = {"smallDiameter": "small diameter", "largeDiameter": "large diameter"}
FLAGS = (
    "stellar", "extended", "resolved", "mottled", "unusualShape", "partlyUnresolved",
    "colorContrasts", "equalBrightness", "niceSurrounding", "brightSky", "clouds", "poorSeeing",
    "nearHorizion", "unusualActivity", "outburst", "comparismSequenceProblem",
    "starIdentificationUncertain", "faintStar",
)  # fmt: skip
TRUE = {"true", "1"}


def sky_values(node: Node) -> dict[str, Any]:
    """Read how dark the sky was at an observation: two fields of a `JournalSession`."""
    names = {"sky_mag_arcsec2", "faintest_star_mag"}
    return read_fields(
        tuple(field for field in SESSION_FIELDS if field.name in names),
        {
            "sky_mag_arcsec2": sky_mag_arcsec2(node),
            "faintest_star_mag": number(node, "faintestStar"),
        },
    )


def told(description: str) -> tuple[Outcome | None, str, str]:
    """Take the outcome with which a description begins away from it.

    Returns
    -------
    outcome : Outcome or None
        None when it begins with none.
    why : str
        Of what was skipped.
    note : str
        The rest.
    """
    found = OUTCOME.match(description)
    if not found:
        return None, "", description
    outcome = OUTCOME_WORDS.get(found[1], Outcome.SKIPPED)
    return outcome, found[2] or "", description[found.end() :]


def extras(node: Node, session: JournalSession) -> list[str]:
    """Say what an observation tells that the journal has no field for."""
    said = []
    sky = sky_values(node)
    if sky["faintest_star_mag"] not in {None, session.faintest_star_mag}:
        said.append(f"Faintest star {sky['faintest_star_mag']:g} mag.")
    if sky["sky_mag_arcsec2"] not in {None, session.sky_mag_arcsec2}:
        said.append(f"Sky {sky['sky_mag_arcsec2']:.4g} mag/arcsec2.")
    if end := node.text_of("end"):
        said.append(f"Until {end}.")
    if imager := node.text_of("imager"):
        said.append(f"With the camera {imager}.")
    pictures = [child.text.strip() for child in node.all("image")][1:]
    said += [f"Image: {picture}." for picture in pictures]
    for number_of, result in enumerate(node.all("result")):
        said += _finding(result, with_text=number_of > 0)
    return said


def _finding(result: Node, *, with_text: bool) -> list[str]:
    said = [result.text_of("description")] if with_text else []
    rating = whole_in(result, "rating", VISIBILITY_RATINGS)
    if rating in range(1, 6):
        said.append(f"Visibility {rating} of 1 (plain) to 7 (not seen).")
    for tag, words in ESTIMATES.items():
        size = angle(result, tag, "arcmin")
        said += [f"Estimated {words} {size:.4g}'."] if size is not None else []
    if (estimate := number(result, "visMag")) is not None:
        magnitude = result.find("visMag")
        fainter = "fainter than " if _is_set(magnitude, "fainterThan") else ""
        doubt = ", uncertain" if _is_set(magnitude, "uncertain") else ""
        said.append(f"Estimated magnitude {fainter}{estimate:g}{doubt}.")
    stars = [star.text.strip() for star in result.all("comparisonStar")]
    said += [f"Comparison stars {', '.join(stars)}."] if stars else []
    for tag, words in (("chartID", "Chart"), ("character", "Character"),
                       ("colorMain", "Main star"), ("colorCompanion", "Companion")):  # fmt: skip
        said += [f"{words} {text}."] if (text := result.text_of(tag)) else []
    flags = [flag for flag in FLAGS if _is_set(result, flag)]
    return said + ([f"Marked {', '.join(flags)}."] if flags else [])


def _is_set(node: Node | None, flag: str) -> bool:
    return node is not None and node.attributes.get(flag, "").strip() in TRUE
