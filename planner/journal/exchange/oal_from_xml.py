"""Makes records of the nodes of OpenAstronomyLog; references between nodes are resolved before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from planner.config.fields import Bounds
from planner.config.time_zones import zone_at
from planner.journal.exchange.fields import (
    ENTRY_FIELDS,
    SESSION_FIELDS,
    TARGET_FIELDS,
    TRAIN_FIELDS,
    RecordField,
    read_fields,
)
from planner.journal.exchange.json_format import UNKNOWN_SITE
from planner.journal.exchange.lines import (
    content_id,
    evening_within,
    is_own_id,
    session_id_of,
    shared,
    zone_of_offset,
)
from planner.journal.exchange.oal_extension import read_block, split_block
from planner.journal.exchange.oal_from_xml_values import (
    angle,
    extras,
    instant,
    needed,
    number,
    sky_values,
    told,
    whole_in,
)
from planner.journal.exchange.oal_terms import (
    FILTER_TYPE_NAMES,
    OUR_FILTER_KINDS,
    OUTCOME_OF_VISIBILITY,
    VISIBILITY_RATINGS,
    kind_of,
)
from planner.journal.exchange.oal_xml import Node
from planner.journal.records import (
    JournalEntry,
    JournalSession,
    LoggedTarget,
    LoggedTrain,
    Outcome,
)
from planner.model.antoniadi import ANTONIADI
from planner.text import listed, show
from targets.frozen import frozen


@frozen
class Optics:
    """The nodes of what was looked through; None where the observation names none."""

    scope: Node | None = None
    eyepiece: Node | None = None
    lens: Node | None = None
    filter: Node | None = None


def local_type(node: Node) -> str:
    """Return the type that a node says it has, without its prefix."""
    return node.attributes.get("xsi:type", "").rpartition(":")[2]


def own_id(node: Node) -> str:
    """Return the id of ours that a node carries behind a prefix; empty when it is none."""
    tail = node.attributes.get("id", "").rpartition("_")[2]
    return tail if is_own_id(tail) else ""


def person(node: Node) -> str:
    """Return the name of an observer."""
    return f"{node.text_of('name')} {node.text_of('surname')}".strip()


def target_of(node: Node) -> LoggedTarget:
    """Make the target of a node.

    Raises ValueError with a sentence, when something cannot be used.
    """
    position = node.find("position") or Node("position")
    usable = is_j2000(node)
    _, block = split_block(node.text_of("notes"))
    found: dict[str, Any] = {
        "name": node.text_of("name"),
        "kind": kind_of(local_type(node), node.text_of("nebulaType")),
        "constellation": node.text_of("constellation"),
        "ra_deg": angle(position, "ra", "deg") if usable else None,
        "dec_deg": angle(position, "dec", "deg") if usable else None,
        "major_arcmin": _first(
            angle(node, "largeDiameter", "arcmin"), _over_60(angle(node, "separation", "arcsec"))
        ),
        "minor_arcmin": angle(node, "smallDiameter", "arcmin"),
        "magnitude": _first(number(node, "visMag"), number(node, "apparentMag")),
    }
    values = read_fields(TARGET_FIELDS, found) | read_block(TARGET_FIELDS, block)
    if not (values["name"] or values["id"]):
        raise ValueError("the target has no name")
    return LoggedTarget(**values)


def is_j2000(target: Node) -> bool:
    """Tell whether the position of a target is one that the journal keeps."""
    position = target.find("position")
    frame = position.find("frame") if position is not None else None
    return frame is None or frame.text_of("equinox") in {"", "J2000"}


def _first(*values: float | None) -> float | None:
    return next((value for value in values if value is not None), None)


def _over_60(arcsec: float | None) -> float | None:
    return None if arcsec is None else arcsec / 60.0


def train_values(optics: Optics, node: Node) -> dict[str, Any]:
    """Read what an observation looked through: the fields of a `LoggedTrain`.

    A magnification that is not given follows from the focal lengths, an exit pupil from the
    aperture. Of a zoom eyepiece the magnification tells the focal length.

    Raises ValueError with a sentence, when something cannot be used.
    """
    scope, eyepiece, lens, filt = (
        part or Node("") for part in (optics.scope, optics.eyepiece, optics.lens, optics.filter)
    )
    found: dict[str, Any] = {
        "telescope": _named(scope),
        "aperture_mm": number(scope, "aperture"),
        "telescope_focal_length_mm": number(scope, "focalLength"),
        "eyepiece": _named(eyepiece),
        "eyepiece_focal_length_mm": number(eyepiece, "focalLength"),
        "apparent_field_deg": angle(eyepiece, "apparentFOV", "deg"),
        "amplifier": _named(lens),
        "amplifier_factor": number(lens, "factor"),
        "filter": _named(filt),
        "filter_kind": _filter_kind(filt),
        "magnification": _first(number(node, "magnification"), number(scope, "magnification")),
        "true_field_deg": angle(scope, "trueField", "deg"),
    }
    if number(eyepiece, "maxFocalLength") is not None:
        found["eyepiece_focal_length_mm"] = None
    values = read_fields(TRAIN_FIELDS, found)
    return values | _derived(values)


def _derived(values: Mapping[str, Any]) -> dict[str, float | None]:
    factor = values["amplifier_factor"] or 1.0
    focal, ocular = values["telescope_focal_length_mm"], values["eyepiece_focal_length_mm"]
    power = values["magnification"]
    if power is None and focal and ocular:
        power = focal * factor / ocular
    elif power and focal and not ocular and values["eyepiece"]:
        ocular = focal * factor / power
    pupil = values["aperture_mm"] / power if power and values["aperture_mm"] else None
    derived = {
        "magnification": power,
        "eyepiece_focal_length_mm": ocular,
        "exit_pupil_mm": pupil,
    }
    bounds = {field.name: field for field in TRAIN_FIELDS}
    return {name: _if_held(bounds[name], value) for name, value in derived.items()}


def _if_held(field: RecordField, value: float | None) -> float | None:
    """Return a value that was worked out, unless it is out of bounds."""
    return value if isinstance(field.check, Bounds) and field.check.hold(value) else None


def _named(node: Node) -> str:
    return f"{node.text_of('vendor')} {node.text_of('model')}".strip()


def _filter_kind(node: Node) -> str:
    found = node.text_of("type")
    if found and found not in FILTER_TYPE_NAMES:
        raise ValueError(f"<type> is {show(found)}; allowed is {listed(sorted(FILTER_TYPE_NAMES))}")
    return OUR_FILTER_KINDS.get(found, "")


@lru_cache(maxsize=256)
def _zone(latitude_deg: float, longitude_deg: float) -> str:
    return zone_at(latitude_deg, longitude_deg)


def site_values(site: Node | None) -> dict[str, Any]:
    """Read a site: the fields of a `JournalSession` that are of it.

    Raises ValueError with a sentence, when something cannot be used.
    """
    if site is None:
        return {"site": UNKNOWN_SITE, "timezone": "UTC"}
    east = angle(site, "longitude", "deg")
    names = {"site", "latitude_deg", "longitude_deg", "elevation_m"}
    values = read_fields(
        tuple(field for field in SESSION_FIELDS if field.name in names),
        {
            "site": site.text_of("name") or UNKNOWN_SITE,
            "latitude_deg": angle(site, "latitude", "deg"),
            "longitude_deg": east - 360.0 if east is not None and east > 180.0 else east,
            "elevation_m": number(site, "elevation"),
        },
    )
    placed = None not in (values["latitude_deg"], values["longitude_deg"])
    zone = (
        _zone(values["latitude_deg"], values["longitude_deg"])
        if placed
        else zone_of_offset(site_offset(site))
    )
    return values | {"timezone": zone}


def site_offset(site: Node | None) -> float:
    """Return a site's offset from UT [min], east positive, without summer time."""
    offset = (number(site, "timezone") if site is not None else None) or 0.0
    if abs(offset) > 840.0:
        raise ValueError(f"<timezone> is {offset:g}; allowed is -840 to 840 minutes")
    return offset


def session_of(
    node: Node, site: Node | None, *, observer: str, companions: tuple[str, ...], first: Node
) -> JournalSession:
    """Make the session of a node.

    Parameters
    ----------
    first : Node
        The first observation, whose sky stands for all unless the session tells its own.

    Raises
    ------
    ValueError
        With a sentence, when something cannot be used.
    """
    place = site_values(site)
    comments, block = split_block(node.text_of("comments"))
    start = instant(node, "begin", site_offset(site))
    if start is None:
        raise ValueError("<begin> is missing or empty")
    equipment = node.text_of("equipment")
    values = {
        "start": start,
        "end": instant(node, "end", site_offset(site)),
        "weather": node.text_of("weather"),
        "comments": "\n".join(filter(None, [comments, equipment and f"Equipment: {equipment}"])),
        "evening": evening_within(start, place["timezone"]),
        "observer": observer,
        "companions": companions,
        **place,
    }
    if block is None:
        values |= sky_values(first)
    session = JournalSession(id="", **values | read_block(SESSION_FIELDS, block))
    if session.end is not None and session.end < session.start:
        raise ValueError("<end> is before <begin>")
    return replace(session, id=own_id(node) or session_id_of(session))


def made_up_session(at: datetime, site: Node | None, *, observer: str) -> JournalSession:
    """Return the session of a look of which the file tells none: that evening at its site."""
    values = site_values(site)
    evening = evening_within(at, values["timezone"])
    marker = content_id(values["site"], evening, observer)
    return JournalSession(marker, evening, start=at, observer=observer, **values)


def entry_of(
    node: Node, *, session: JournalSession, target: LoggedTarget, optics: Optics, at: datetime
) -> JournalEntry:
    """Make the entry of an observation.

    What has no field of its own in the journal is added to the note.

    Raises ValueError with a sentence, when something cannot be used.
    """
    accessories, block = split_block(node.text_of("accessories"))
    result = node.find("result")
    if result is None:
        raise ValueError("<result> is missing")
    visibility = whole_in(result, "rating", VISIBILITY_RATINGS)
    outcome, why, note = told(result.text_of("description"))
    outcome = outcome or OUTCOME_OF_VISIBILITY.get(visibility or 0, Outcome.SEEN)
    further = [*extras(node, session), *(accessories and [f"Accessories: {accessories}."])]
    seeing = whole_in(node, "seeing", range(1, 6))
    train = train_values(optics, node)
    values: dict[str, Any] = {
        "at": at,
        "outcome": outcome,
        "why_skipped": why,
        "seeing": ANTONIADI[seeing - 1] if seeing else None,
        "note": "\n".join(filter(None, [note, *further])),
        "sketch": node.text_of("image"),
    }
    if values["seeing"] == session.seeing:
        values["seeing"] = None
    values |= read_block((*ENTRY_FIELDS, *TRAIN_FIELDS), block)
    RecordField("note").value(values["note"])
    values["outcome"] = Outcome(values["outcome"])
    names = {field.name for field in TRAIN_FIELDS} & values.keys()
    train |= {name: values.pop(name) for name in names}
    return JournalEntry(
        own_id(node), session.id, target=target, train=shared(LoggedTrain(**train)), **values
    )


def observed_at(node: Node, site: Node | None) -> datetime:
    """Return when an observation began (UTC)."""
    needed(node, "begin")
    at = instant(node, "begin", site_offset(site))
    assert at is not None  # noqa: S101  # the text is there
    return at
