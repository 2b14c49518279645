"""Reads numbers, angles and times out of the nodes of OpenAstronomyLog."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta

from planner.config.checks import listed, show
from planner.journal.exchange.fields import Field
from planner.journal.exchange.oal_terms import DEGREES, SKY_OFFSET_MAG
from planner.journal.exchange.oal_xml import Node

NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,4})?")


def needed(node: Node, tag: str) -> str:
    """Give the text of a child that must be there.

    Raises
    ------
    ValueError
        When it is missing or empty.
    """
    text = node.text_of(tag)
    if not text:
        raise ValueError(f"<{tag}> is missing or empty")
    return text


def number(node: Node, tag: str) -> float | None:
    """Give the number in a child; None when there is none.

    Raises
    ------
    ValueError
        When there is something else.
    """
    text = node.text_of(tag)
    if not text:
        return None
    if not NUMBER.fullmatch(text) or not math.isfinite(float(text)):
        raise ValueError(f"<{tag}> is {show(text)}; allowed is a number")
    return float(text)


def angle(node: Node, tag: str, unit: str) -> float | None:
    """Give the angle in a child in a unit of the schema; None when there is none.

    Raises
    ------
    ValueError
        When it is no number or its unit is none of the schema.
    """
    value, found = number(node, tag), _unit(node, tag, tuple(DEGREES))
    if value is None or found == unit:
        return value
    return value * DEGREES[found] / DEGREES[unit]


def sky_mag_arcsec2(node: Node) -> float | None:
    """Give the brightness of the sky [mag/arcsec2]; None when there is none."""
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
    """Give the time in a child (UTC); None when there is none.

    Parameters
    ----------
    node : Node
    tag : str
    minutes_east : float
        The site's offset [min], for a time without one.

    Raises
    ------
    ValueError
        When it is no time.
    """
    text = node.text_of(tag)
    if text and not has_offset(text):
        try:
            local = datetime.fromisoformat(text)
            return (local - timedelta(minutes=minutes_east)).replace(tzinfo=UTC)
        except (ValueError, OverflowError):
            pass  # the sentence comes from the field
    found: datetime | None = Field(f"<{tag}>", "instant").value(text)
    return found


def has_offset(text: str) -> bool:
    """Tell whether a time of day has an offset behind it."""
    return text.endswith(("Z", "z")) or bool(re.search(r"[+-][0-9]{2}:?[0-9]{2}$", text[10:]))


def whole_in(node: Node, tag: str, allowed: range | set[int]) -> int | None:
    """Give the whole number in a child; None when there is none.

    Raises
    ------
    ValueError
        When it is none of those that are allowed.
    """
    text = node.text_of(tag)
    if not text:
        return None
    if not re.fullmatch(r"[+]?[0-9]{1,6}", text) or int(text) not in allowed:
        numbers = listed(map(str, sorted(allowed)))
        raise ValueError(f"<{tag}> is {show(text)}; allowed is {numbers}")
    return int(text)
